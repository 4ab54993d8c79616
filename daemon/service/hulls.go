package service

import (
	"fmt"
	"slices"
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

const (
	// hullStep is how often a hull is worked out; what lies further back than hullGap
	// is not carried on.
	hullStep = 5 * time.Minute
	hullGap  = time.Hour
	// inTheSun is how far over the model a surface may be read: more is no hull but a
	// probe in the sun. Our judgement.
	inTheSun unit.TempDiff = 15
)

// follower works one boat's skin out in the air where it stands, between readings
// and where nobody reads it.
type follower struct {
	boat    string // its skin, in words: a boat that is edited begins anew
	hull    conditions.Hull
	last    time.Time // worked out up to here
	skins   conditions.Skins
	weather conditions.Weather
	inside  conditions.Moment
	course  []worked // of the last day, oldest first
}

// worked is a hull's surface as worked out at one time.
type worked struct {
	at    time.Time
	parts map[conditions.Part]ends
	lag   time.Duration
}

// ends are the coldest and the warmest facet.
type ends struct{ cold, warm unit.Temperature }

// followHulls works all hulls out up to now. After a start it begins as far back as
// readings are at hand.
func (f *facts) followHulls(now time.Time) {
	if f.followers == nil {
		f.followers = map[string]*follower{}
	}
	leading, _ := f.forecast(now)
	points := f.foretold(leading, now)
	for _, b := range f.here() {
		is := f.followers[b.Name]
		like := fmt.Sprint(b.Build, b.Colour, b.Skin, b.Behind)
		if is == nil || is.boat != like || is.last.After(now) { // the clock was set back: it begins anew
			hull, err := b.Hull()
			if err != nil {
				continue // the yard's own check names it
			}
			is = &follower{boat: like, hull: hull}
			f.followers[b.Name] = is
		}
		if is.last.Before(now.Add(-memoryOfReadings)) {
			is.last = now.Add(-memoryOfReadings)
		}
		for at := is.last.Add(hullStep); !at.After(now); at = at.Add(hullStep) {
			f.follow(is, b.Name, points, at)
		}
	}
}

// follow carries one hull on to a time, by what had been measured up to then; what
// rests on a forecast alone is not kept, though the hull goes on from it.
func (f *facts) follow(is *follower, boat string, points []conditions.Weather, at time.Time) {
	name := f.work.Place(boat).Place
	place, ok := f.yard.Place(name)
	if !ok {
		place = config.Place{Kind: config.Slip} // it comes by water
	}
	stand, mode := f.yard.Stand(place), f.mode(place, boat, at)
	then := f.upTo(at, name, config.Outdoors)
	weather := then.weatherAt(points, at)
	inside := then.measured(name, at)
	isMeasured := inside.Sure == conditions.Measured
	if !isMeasured {
		inside = stand.Moment(weather, mode)
	}
	last := is.last
	is.last = at
	look := conditions.Outlook{
		Outdoors: []conditions.Weather{is.weather, weather},
		Inside:   []conditions.Moment{is.inside, inside},
	}
	look.Outdoors[0].At = last
	if len(is.skins.Cold) == 0 || at.Sub(last) > hullGap || !known(is.inside.Air) {
		// Nothing is known of where it was: a hull that has long stood in this air.
		look.Outdoors[0], look.Inside[0], last = weather, inside, at.Add(-hullStep)
		look.Outdoors[0].At = last
		if known(inside.Air) {
			is.skins = stand.Settled(is.hull, look, mode, hullStep)
		}
	}
	is.weather, is.inside = weather, inside
	if len(is.skins.Cold) == 0 {
		return
	}
	stand.Walk(is.hull, is.skins, look, mode, at.Sub(last), func(int, time.Time, conditions.Skins) {})
	if isMeasured { // else it is a guess, which starts no cure
		is.keep(stand, mode, at)
	}
}

// keep notes the surface at a time and lets go of what is older than a day.
func (is *follower) keep(stand conditions.Stand, mode conditions.Mode, at time.Time) {
	w := worked{at: at, parts: map[conditions.Part]ends{}, lag: stand.Lag(is.hull, mode)}
	for i, facet := range is.hull {
		cold, warm := is.skins.Cold[i].Surface(), is.skins.Warm[i].Surface()
		if e, ok := w.parts[facet.Part]; ok {
			cold, warm = min(cold, e.cold), max(warm, e.warm)
		}
		w.parts[facet.Part] = ends{cold, warm}
	}
	is.course = append(is.course, w)
	old := sort.Search(len(is.course), func(i int) bool { return is.course[i].at.After(at.Add(-memoryOfReadings)) })
	is.course = is.course[old:]
}

// at is what was worked out for a time; false where nothing near it was.
func (is *follower) at(t time.Time, part conditions.Part) (ends, worked, bool) {
	if is == nil {
		return ends{}, worked{}, false
	}
	n := sort.Search(len(is.course), func(i int) bool { return is.course[i].at.After(t) })
	if n == 0 || t.Sub(is.course[n-1].at) > clockStep {
		return ends{}, worked{}, false
	}
	w := is.course[n-1]
	e, ok := w.parts[part]
	return e, w, ok && known(e.cold) && known(e.warm)
}

// mode is what a booth's plant does with a boat in it: it sprays while a coat goes
// on, cures after it, and idles before.
func (f *facts) mode(place config.Place, boat string, at time.Time) conditions.Mode {
	if place.Kind != config.Booth {
		return conditions.Idle
	}
	mode := conditions.Idle
	for _, b := range f.boats {
		if b.Name != boat {
			continue
		}
		for _, a := range b.Areas {
			for _, s := range f.work.Stages(b.Name, a.Name) {
				if s.Stage.Kind != config.Coat || s.Started.IsZero() || s.Started.After(at) {
					continue
				}
				if s.Running && !s.Done {
					return conditions.Spraying
				}
				mode = conditions.Curing
			}
		}
	}
	return mode
}

// upTo is the facts with no later readings of the places and boats named than a
// time: a clock that is run late, as after a late press or a restart, must not take
// later ones, nor those of a device's clock that runs ahead.
func (f *facts) upTo(at time.Time, of ...string) *facts {
	then := *f
	then.readings = map[string][]sensors.Reading{}
	for _, name := range of {
		held := f.readings[name]
		n := sort.Search(len(held), func(i int) bool { return held[i].At.After(at) })
		then.readings[name] = held[:n:n]
	}
	return &then
}

// surface is what an area stands in at a time: its coldest and its warmest facet,
// and the air's humidity. A reading that is not
// stale and the model, moved by how far it was off at the last reading, both count,
// each where it is the more cautious: a cure opens by the colder and a recoat
// window closes by the warmer. A reading that only the sun explains counts
// towards the closing alone. Without either it is the air that the boat stands in.
func (f *facts) surface(k planner.Key, at time.Time) conditions.Exposure {
	then := f.upTo(at, "boat "+k.Boat, f.work.Place(k.Boat).Place)
	m := then.hull(k.Boat, at)
	is := m.Exposure()
	model, ok := then.worked(k.Boat, f.area(k).Part(), at)
	switch {
	case !ok && known(m.Coldest):
		return is
	case !ok:
		is.Coldest, is.Warmest = m.Air, m.Air
		return is
	}
	if known(m.Warmest) {
		model.warm = max(model.warm, m.Warmest)
	}
	if known(m.Coldest) {
		model.cold = min(model.cold, m.Coldest)
	}
	is.Coldest, is.Warmest = model.cold, model.warm
	return is
}

// hulls are the surfaces of a boat's parts now. What was read counts for the part
// of its first area, which is where people hold the instrument; of the others, and
// without a reading, it is what was worked out.
func (f *facts) hulls(b config.Boat, now time.Time) []planner.HullNow {
	var all []planner.HullNow
	for i, a := range b.Areas {
		part := a.Part()
		if slices.ContainsFunc(all, func(h planner.HullNow) bool { return h.Part == part }) {
			continue
		}
		m := f.hull(b.Name, now)
		if i > 0 || !known(m.Coldest) || m.Sure != conditions.Measured {
			model, _, ok := f.followers[b.Name].at(now, part)
			if i == 0 {
				model, ok = f.worked(b.Name, part, now)
			}
			if !ok {
				continue
			}
			m.Coldest, m.Warmest, m.Sure, m.Why = model.cold, model.warm, conditions.Foretold, ""
		}
		all = append(all, planner.HullNow{Boat: b.Name, Part: part, Moment: m})
	}
	return all
}

// worked is a part's surface as the model has it at a time, moved by how far it was
// off when it was last read, which fades; false where nothing was worked out.
func (f *facts) worked(boat string, part conditions.Part, at time.Time) (ends, bool) {
	model, w, ok := f.followers[boat].at(at, part)
	if !ok {
		return ends{}, false
	}
	read, at0 := f.lastSurface(boat)
	if read.IsZero() {
		return model, true
	}
	if was, _, ok := f.followers[boat].at(read, part); ok && at0.cold.Over(was.cold) <= inTheSun {
		left := unit.TempDiff(conditions.Decay(w.lag, at.Sub(read)))
		model.cold = model.cold.Plus(left * at0.cold.Over(was.cold))
		model.warm = model.warm.Plus(left * at0.warm.Over(was.warm))
	}
	return model, true
}

// lastSurface is when a boat's surface was last read, and what was read then.
func (f *facts) lastSurface(boat string) (time.Time, ends) {
	last := f.surfaceRead(boat)
	if last.IsZero() {
		return last, ends{}
	}
	m := f.upTo(last, "boat "+boat, f.work.Place(boat).Place).hull(boat, last)
	return last, ends{m.Coldest, m.Warmest}
}

// surfaceRead is when a boat's surface was last read; zero if that is not at hand. What its
// place's own sensors read before it came was another hull.
func (f *facts) surfaceRead(boat string) time.Time {
	var last time.Time
	stands := f.work.Place(boat)
	for _, of := range []string{"boat " + boat, stands.Place} {
		for _, r := range f.readings[of] {
			if _, ok := r.Good(conditions.Surface); ok && r.At.After(last) && (r.Boat == boat || !r.At.Before(stands.Since)) {
				last = r.At
			}
		}
	}
	return last
}

// probed reports whether a probe that speaks by itself will read a boat's surface before the last
// reading is too old: who is sent for what comes anyway learns not to go. One that has missed a
// word is not waited for.
func (f *facts) probed(boat string, read, now time.Time) bool {
	stands := f.work.Place(boat).Place
	return slices.ContainsFunc(f.yard.Sensors, func(s config.Sensor) bool {
		_, reads := s.Values[conditions.Surface]
		there := s.Boat == boat || s.Boat == "" && s.Place == stands
		return reads && there && s.Every > 0 && s.Every <= f.yard.Notice.Stale && now.Sub(read) < 2*s.Every.Std()
	})
}

// doubt makes a surface unknown that is read far over what any facet of the hull
// can have: the probe is in the sun itself, or it is none. A hull is no warmer for
// that, so its margin is not either.
func (f *facts) doubt(boat string, m *conditions.Moment) {
	if !known(m.Warmest) || m.Sure != conditions.Measured {
		return
	}
	warmest := unit.Temperature(0)
	for _, part := range []conditions.Part{conditions.Sides, conditions.House, conditions.Deck} {
		e, _, ok := f.followers[boat].at(m.At, part)
		if !ok {
			return
		}
		if part == conditions.Sides || e.warm > warmest {
			warmest = e.warm
		}
	}
	if over := m.Warmest.Over(warmest); over > inTheSun {
		m.Sure = conditions.Unknown
		m.Why = fmt.Sprintf("a surface of %.1f °C is read, %.0f K over the warmest that the hull can have here; is the probe in the sun? measure again", m.Warmest, over)
	}
}
