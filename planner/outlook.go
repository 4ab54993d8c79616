package planner

import (
	"math"
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

// outlook is what the air of every place will be, and the hull in it.
type outlook struct {
	grid engine.Grid
	airs []*air // per place; the last is the open air by the water
}

// air is one place's three tracks. In a place without a plant they are one.
type air struct {
	lag    time.Duration
	decay  []float64 // what is left of a difference, per slot since
	tracks [len(modes)]*track
}

// track is the air of one place in one mode, hour by hour, and the surface of a
// hull that has long stood in it, slot by slot.
type track struct {
	hours  []conditions.Moment
	steady []unit.Temperature
}

// newOutlook builds the tracks of every place from the weather outdoors and from
// what its instruments say now.
func newOutlook(p Problem, grid engine.Grid) *outlook {
	o := &outlook{grid: grid}
	outdoors := hourly(p, grid)
	type likeness struct {
		enclosure conditions.Enclosure
		lag       time.Duration
	}
	known := map[likeness]*air{}
	build := func(e conditions.Enclosure, lag time.Duration, now *conditions.Moment) *air {
		like := likeness{e, lag}
		if a := known[like]; a != nil && now == nil {
			return a
		}
		a := newAir(grid, outdoors, e, lag, now)
		if now == nil {
			known[like] = a
		}
		return a
	}
	for _, place := range p.Yard.Places {
		o.airs = append(o.airs, build(p.Yard.Enclosure(place), place.HullLag(), measured(p, place.Name)))
	}
	open := config.Place{Kind: config.Slip}
	o.airs = append(o.airs, build(p.Yard.Enclosure(open), open.HullLag(), nil))
	return o
}

func measured(p Problem, place string) *conditions.Moment {
	for i := range p.Measured {
		if p.Measured[i].Place == place && p.Measured[i].Moment.Sure == conditions.Measured {
			return &p.Measured[i].Moment
		}
	}
	return nil
}

// hourly is the weather at each whole hour of the grid, with the spread of a
// forecast of its lead where its source gave none.
func hourly(p Problem, grid engine.Grid) []conditions.Weather {
	n := int(grid.Slots/perHour) + 2
	hours := make([]conditions.Weather, n)
	for i := range hours {
		at := grid.Time(engine.Slot(i) * perHour)
		w := conditions.At(p.Outdoors, at)
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

func newAir(grid engine.Grid, outdoors []conditions.Weather, e conditions.Enclosure, lag time.Duration, now *conditions.Moment) *air {
	a := &air{lag: lag}
	for s := engine.Slot(0); s < grid.Slots; s++ {
		left := conditions.Decay(lag, time.Duration(s)*step)
		if left < 1e-4 {
			break
		}
		a.decay = append(a.decay, left)
	}
	for i, mode := range modes {
		if i > 0 && !e.OwnAir {
			a.tracks[i] = a.tracks[0]
			continue
		}
		t := &track{hours: make([]conditions.Moment, len(outdoors))}
		for h, w := range outdoors {
			t.hours[h] = e.Moment(w, mode)
		}
		a.tracks[i] = t
	}
	if now != nil {
		a.correct(*now)
	}
	for i, t := range a.tracks {
		if i == 0 || t != a.tracks[0] {
			t.settle(grid, lag)
		}
	}
	return a
}

// correct moves the track that the instruments say the place is in, the one
// nearest to their air, towards their values; it fades as conditions.Correct does.
func (a *air) correct(now conditions.Moment) {
	nearest, off := a.tracks[0], math.Inf(1)
	for _, t := range a.tracks {
		if d := math.Abs(float64(t.hours[0].Air - now.Air)); d < off {
			nearest, off = t, d
		}
	}
	model := make([]conditions.Weather, len(nearest.hours))
	for i, m := range nearest.hours {
		model[i] = conditions.Weather{At: m.At, Air: m.Air, DewPoint: m.DewPoint, Sure: m.Sure, AirError: m.AirError, DewError: m.MarginError}
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

// settle works out the steady hull.
func (t *track) settle(grid engine.Grid, lag time.Duration) {
	series := make([]unit.Temperature, grid.Slots+1)
	for s := range series {
		h := s / int(perHour)
		part := unit.Temperature(s%int(perHour)) / unit.Temperature(perHour)
		a, b := t.hours[h].Air, t.hours[h+1].Air
		series[s] = a + (b-a)*part
	}
	t.steady = conditions.Steady(series, step, lag)
}

// moment is the air at the start of a slot; its surface is left to the caller.
func (t *track) moment(s engine.Slot) conditions.Moment {
	h := int(s / perHour)
	m, next := t.hours[h], &t.hours[h+1]
	part := float64(s%perHour) / float64(perHour)
	if part == 0 {
		return m
	}
	m.Air = mid(m.Air, next.Air, part)
	m.DewPoint = mid(m.DewPoint, next.DewPoint, part)
	m.Wind = mid(m.Wind, next.Wind, part)
	m.Gust = mid(m.Gust, next.Gust, part)
	m.Rain, m.RainChance = next.Rain, next.RainChance // of the hour the slot lies in
	m.AirError = mid(m.AirError, next.AirError, part)
	m.MarginError = mid(m.MarginError, next.MarginError, part)
	m.Sure = lessSure(m.Sure, next.Sure)
	m.At = m.At.Add(time.Duration(s%perHour) * step)
	return m
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

// leg is a stretch of a boat's way: from a slot on, one place's air in one mode,
// until the next leg. Off is how far the surface then is from that of a hull
// that has long stood there, on the coldest and on the warmest spot.
type leg struct {
	from     engine.Slot
	air      int
	mode     int
	off, top unit.Temperature
}

// way is where a boat stands and in which air, in the order of time.
type way []leg

// surface is the hull at the start of a slot. A first-order lag is linear, so
// the difference at the leg's start only fades: the time of the question costs nothing.
func (o *outlook) surface(w way, s engine.Slot) (coldest, warmest unit.Temperature) {
	for i := len(w) - 1; i >= 0; i-- {
		if w[i].from <= s || i == 0 {
			return o.on(&w[i], s)
		}
	}
	return unit.NaN[unit.Temperature](), unit.NaN[unit.Temperature]()
}

func (o *outlook) on(l *leg, s engine.Slot) (coldest, warmest unit.Temperature) {
	a := o.airs[l.air]
	steady := a.tracks[l.mode].steady[s]
	if age := s - l.from; age >= 0 && age < engine.Slot(len(a.decay)) {
		left := unit.Temperature(a.decay[age])
		return steady + l.off*left, steady + l.top*left
	}
	return steady, steady
}

// then is the way with another leg from s on, and nothing after it.
func (o *outlook) then(w way, s engine.Slot, airIndex, mode int) way {
	for len(w) > 1 && w[len(w)-1].from >= s {
		w = w[:len(w)-1]
	}
	next := o.enter(w, s, airIndex, mode)
	if len(w) == 1 && w[0].from >= s {
		return way{next}
	}
	return append(w[:len(w):len(w)], next)
}

// enter is the leg that begins at s with the hull as the way brings it there.
func (o *outlook) enter(w way, s engine.Slot, airIndex, mode int) leg {
	l := leg{from: s, air: airIndex, mode: mode}
	if len(w) == 0 {
		return l
	}
	cold, warm := o.surface(w, s)
	steady := o.airs[airIndex].tracks[mode].steady[s]
	l.off, l.top = cold-steady, warm-steady
	return l
}

// begin is the way of a boat from the grid's start, with its hull as last measured.
func (o *outlook) begin(airIndex, mode int, hull *conditions.Moment) way {
	l := leg{air: airIndex, mode: mode}
	if hull != nil && hull.Sure != conditions.Unknown && unit.Known(hull.Coldest) && unit.Known(hull.Warmest) {
		steady := o.airs[airIndex].tracks[mode].steady[0]
		left := unit.Temperature(conditions.Decay(o.airs[airIndex].lag, o.grid.Origin.Sub(hull.At)))
		l.off, l.top = (hull.Coldest-steady)*left, (hull.Warmest-steady)*left
	}
	return way{l}
}
