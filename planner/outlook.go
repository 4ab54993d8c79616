package planner

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// step is the grid of plans.
const step = 5 * time.Minute

// perHour is the number of slots in an hour.
const perHour = engine.Slot(time.Hour / step)

// modes in the order in which an air keeps its tracks.
var modes = [...]conditions.Mode{conditions.Idle, conditions.Spraying, conditions.Curing}

const (
	idle = iota
	spraying
	curing
)

// outlook is what the air of every place will be, and the hulls in it.
type outlook struct {
	grid     engine.Grid
	outdoors []conditions.Weather // at each whole hour
	past     engine.Slot          // of the first of these hours before the grid begins
	airs     []*air               // per place; the last is the open air by the water
	kinds    map[string]int       // of hulls, by their skins
	rates    bool                 // somebody asks how fast a surface changes
	paint    unit.Maybe[unit.Temperature]
}

// air is one place's three tracks. In a place without a plant they are one.
type air struct {
	stand  conditions.Stand
	lag    time.Duration // of hulls, as the yard measured it; 0 leaves it to their skins
	tracks [len(modes)]*track
}

// track is the air of one place in one mode, at each whole hour: of the clock, and not
// from the grid's start, or the same weather would be another in every plan.
type track struct {
	mode     conditions.Mode
	past     engine.Slot
	hours    []conditions.Moment
	setting  *conditions.Setting // for all hulls, once one is asked for
	surfaces [][parts]*surface   // of each kind of hull that has long stood in it, once asked for
}

// newOutlook builds the tracks of every place from the weather outdoors and from
// what its instruments say now.
func newOutlook(p Problem, grid engine.Grid, work Work) *outlook {
	o := &outlook{grid: grid, outdoors: hourly(p, grid), past: past(grid), kinds: map[string]int{}, rates: p.Yard.BoundsRates(), paint: p.Yard.Paint()}
	type likeness struct {
		stand  conditions.Stand
		lag    time.Duration
		around string // the place whose forecast it is; none: that outdoors
	}
	known := map[likeness]*air{}
	build := func(stand conditions.Stand, lag time.Duration, around string, now *conditions.Moment) *air {
		weather := o.outdoors
		if local := p.Around[around]; len(local) > 0 {
			weather = about(weather, local)
		} else {
			around = ""
		}
		like := likeness{stand, lag, around}
		if a := known[like]; a != nil && now == nil {
			return a
		}
		a := newAir(weather, o.past, stand, lag, now)
		if now == nil {
			known[like] = a
		}
		return a
	}
	for _, place := range p.Yard.Places {
		now := measured(p, place.Name)
		o.airs = append(o.airs, build(holds(p, place, now, work), place.Lag.Std(), place.Name, now))
	}
	o.airs = append(o.airs, build(p.Yard.Stand(config.Place{Kind: config.Slip}), 0, "", nil))
	return o
}

// holds is a place as its plant really does. A booth with a fresh coat in it that is
// measured far under its set point is not heated to it: until a reading says better
// it goes on at what it holds, or a coat would be said to cure in warmth that is
// not there. Far is more than an idle booth is let down; fresh is our judgement.
func holds(p Problem, place config.Place, now *conditions.Moment, work Work) conditions.Stand {
	const fresh = 48 * time.Hour
	stand := p.Yard.Stand(place)
	if !stand.OwnAir || now == nil || now.Air.Over(stand.SetPoint) >= -conditions.SetBack {
		return stand
	}
	for _, b := range p.Boats {
		if work.Place(b.Name).Place != place.Name {
			continue
		}
		for _, a := range b.Areas {
			if coat, ok := work.LastCoat(b.Name, a.Name); ok && coat.Place == place.Name && p.At.Sub(coat.Ended) < fresh {
				stand.SetPoint = now.Air
				return stand
			}
		}
	}
	return stand
}

// about is the weather outdoors with its foretold hours as they are foretold in one
// place, where they are.
func about(outdoors, local []conditions.Weather) []conditions.Weather {
	hours := slices.Clone(outdoors)
	for i, w := range hours {
		if w.Sure != conditions.Foretold {
			continue
		}
		if here := conditions.At(local, w.At); here.Sure == conditions.Foretold {
			hours[i] = here
		}
	}
	return hours
}

func measured(p Problem, place string) *conditions.Moment {
	for i := range p.Measured {
		if p.Measured[i].Place == place && p.Measured[i].Moment.Sure == conditions.Measured {
			return &p.Measured[i].Moment
		}
	}
	return nil
}

// past is the slots from the last whole hour to the grid's start.
func past(grid engine.Grid) engine.Slot {
	return grid.Steps(grid.Origin.Sub(grid.Origin.Truncate(time.Hour)))
}

// hourly is the weather at each whole hour, from the one in which the grid begins, with
// the spread of a forecast of its lead where its source gave none.
func hourly(p Problem, grid engine.Grid) []conditions.Weather {
	n := int((grid.Slots+past(grid))/perHour) + 2
	hours := make([]conditions.Weather, n)
	for i := range hours {
		at := grid.Origin.Truncate(time.Hour).Add(time.Duration(i) * time.Hour)
		w := conditions.At(p.Outdoors, at)
		if i == 0 && w.Sure == conditions.Unknown { // what is known may begin since
			w = conditions.At(p.Outdoors, grid.Origin)
			w.At = at
		}
		if w.Sure == conditions.Foretold || w.Sure == conditions.Pencilled {
			airError, dewError, _ := conditions.Spread(at.Sub(p.At))
			if !(w.AirError > 0) {
				w.AirError = airError
			}
			if !(w.DewError > 0) {
				w.DewError = dewError
			}
		}
		hours[i] = w
	}
	return hours
}

func newAir(outdoors []conditions.Weather, past engine.Slot, stand conditions.Stand, lag time.Duration, now *conditions.Moment) *air {
	a := &air{stand: stand, lag: lag}
	for i, mode := range modes {
		if i > 0 && !stand.OwnAir {
			a.tracks[i] = a.tracks[0]
			continue
		}
		t := &track{mode: mode, past: past, hours: make([]conditions.Moment, len(outdoors))}
		for h, w := range outdoors {
			t.hours[h] = stand.Moment(w, mode)
		}
		a.tracks[i] = t
	}
	if now != nil {
		a.correct(outdoors, *now)
	}
	return a
}

// correct moves the track that the instruments say the place is in, the one
// nearest to their air, towards their values; it fades as conditions.Correct does. An
// air that follows the weather has the weather's bias, which may be out already; a
// plant's is its own.
func (a *air) correct(outdoors []conditions.Weather, now conditions.Moment) {
	nearest, off := a.tracks[0], math.Inf(1)
	for _, t := range a.tracks {
		if d := math.Abs(float64(t.hours[0].Air - now.Air)); d < off {
			nearest, off = t, d
		}
	}
	model := make([]conditions.Weather, len(nearest.hours))
	for i, m := range nearest.hours {
		model[i] = conditions.Weather{At: m.At, Air: m.Air, DewPoint: m.DewPoint, Sure: m.Sure, AirError: m.AirError, DewError: m.MarginError}
		if !a.stand.OwnAir {
			model[i].Learned = outdoors[i].Learned
		}
	}
	// A reading from before the grid is taken as of its first hour.
	at := now.At
	if at.Before(model[0].At) {
		at = model[0].At
	}
	reading := conditions.Weather{At: at, Air: now.Air, DewPoint: now.DewPoint, Sure: now.Sure}
	for i, w := range conditions.Correct(model, reading) {
		m := &nearest.hours[i]
		m.Air, m.DewPoint, m.AirError = w.Air, w.DewPoint, w.AirError
		m.MarginError = min(m.MarginError, max(w.DewError, w.AirError))
	}
}

// moment is the air at the start of a slot; its surface is left to the caller.
func (t *track) moment(s engine.Slot) conditions.Moment {
	var m conditions.Moment
	t.see(&m, s)
	return m
}

// hour is the whole hour that a slot lies in, and how far in it.
func (t *track) hour(s engine.Slot) (h int, within engine.Slot) {
	return int((s + t.past) / perHour), (s + t.past) % perHour
}

// see is moment without a copy: a moment is large, and a search sees millions.
func (t *track) see(m *conditions.Moment, s engine.Slot) {
	h, within := t.hour(s)
	*m = t.hours[h]
	next := &t.hours[h+1]
	m.Rain, m.RainChance = next.Rain, next.RainChance // of the hour the slot lies in
	part := float64(within) / float64(perHour)
	if part == 0 {
		return
	}
	m.Air = mid(m.Air, next.Air, part)
	m.DewPoint = mid(m.DewPoint, next.DewPoint, part)
	m.Wind = mid(m.Wind, next.Wind, part)
	m.Gust = mid(m.Gust, next.Gust, part)
	m.AirError = mid(m.AirError, next.AirError, part)
	m.MarginError = mid(m.MarginError, next.MarginError, part)
	if !m.Film.IsZero() {
		m.Film = unit.Some(mid(m.Film.OrNaN(), next.Film.OrNaN(), part))
	}
	m.Sure = lessSure(m.Sure, next.Sure)
	m.At = m.At.Add(time.Duration(within) * step)
}

func mid[T ~float64](a, b T, part float64) T { return a + T(part)*(b-a) }

func lessSure(a, b conditions.Sureness) conditions.Sureness {
	if rank(a) > rank(b) {
		return a
	}
	return b
}

func rank(s conditions.Sureness) int {
	switch s {
	case conditions.Measured:
		return 0
	case conditions.Foretold:
		return 1
	case conditions.Pencilled:
		return 2
	}
	return 3
}
