package service

import (
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// facts is what is known now, as read from the store and kept beside it.
type facts struct {
	yard      config.Yard // in force: the file's with what was written on the pages
	written   written
	zone      *time.Location
	boats     []config.Boat
	revisions map[string]int64
	presses   []planner.Press
	signed    []record.Signature // of all boats
	work      planner.Work
	readings  map[string][]sensors.Reading // by place, or by boat where a sensor belongs to one; oldest first
	unthinned map[string]int               // by the same names: how many came since these were thinned
	histories map[from]*history
	held      []sensors.Reading // what the last reading was held against, for its room
	forecasts []sensors.Forecast
	leads     string               // the source whose forecast led when it was last looked at; empty: none did
	followers map[string]*follower // by boat
	clocks    map[planner.Key]planner.CoatNow
	draft     store.PlanRow
	told      store.PlanRow
	first     []planner.Told
	learned   learned
	exposed   map[string]exposed // by sensor
	records   conditions.Season  // of the site's records; the zero value without them
}

// factsOf are those of a yard file and nothing else yet.
func factsOf(file config.Yard) facts { return facts{yard: file, written: written{file: file}} }

// about names whose readings these are.
func about(r sensors.Reading) string {
	if r.Boat != "" {
		return "boat " + r.Boat
	}
	return r.Place
}

// measured is the air in a place, with the surface that its own sensors read.
func (f *facts) measured(place string, now time.Time) conditions.Moment {
	return f.merge(sensors.Spot{Place: place}, f.lately(place, now), now)
}

// hull is the air around a boat and its surface: by its own sensors and by
// those of the place it stands in, as to the surface since it came.
func (f *facts) hull(boat string, now time.Time) conditions.Moment {
	stands := f.work.Place(boat)
	place := stands.Place
	since := now
	if f.yard.BoundsRates() {
		since = now.Add(-rateOver)
	}
	all := inTurn(f.lately("boat "+boat, since), ofThisHull(f.lately(place, since), stands.Since))
	m := f.merge(sensors.Spot{Place: place, Boat: boat}, all, now)
	f.doubt(boat, &m)
	if f.yard.BoundsRates() {
		f.change(&m, sensors.Spot{Place: place, Boat: boat}, all)
	}
	return m
}

// surfaceDoubted words why what was last read of a boat's surface does not count; empty where
// nothing is doubted.
func (f *facts) surfaceDoubted(boat string, now time.Time) string {
	stands := f.work.Place(boat)
	all := inTurn(f.lately("boat "+boat, now), ofThisHull(f.lately(stands.Place, now), stands.Since))
	return sensors.SurfaceDoubted(words(all, now), sensors.Spot{Place: stands.Place, Boat: boat}, now, f.yard.Notice.Stale.Std())
}

// rateOver is the span over which a surface's change is taken.
const rateOver = time.Hour

// change is how fast the surface and its margin have changed over the last hour,
// unknown if an hour ago nobody read them.
func (f *facts) change(m *conditions.Moment, at sensors.Spot, readings []sensors.Reading) {
	ago := m.At.Add(-rateOver)
	n := sort.Search(len(readings), func(i int) bool { return readings[i].At.After(ago) })
	was := f.merge(at, readings[:n], ago)
	per := unit.Rate(rateOver.Hours())
	m.Rate = unit.Some(unit.Rate(m.Coldest-was.Coldest) / per)
	m.MarginRate = unit.Some(unit.Rate((m.Coldest-m.DewPoint)-(was.Coldest-was.DewPoint)) / per)
}

// onlyBoat is the boat that stands in a place, if it is the only one.
func (f *facts) onlyBoat(place string) string {
	only := ""
	for _, b := range f.boats {
		if is := f.work.Place(b.Name); is.Place == place && is.Launched.IsZero() {
			if only != "" {
				return ""
			}
			only = b.Name
		}
	}
	return only
}

// standing is the air in a place and the surface of the boat given, which stands there.
func (f *facts) standing(place, boat string, now time.Time) conditions.Moment {
	if boat == "" {
		return f.measured(place, now)
	}
	return f.hull(boat, now)
}

// lastHeard is the time of the newest reading of a place's air or of its boat's
// surface; zero if there is none at hand.
func (f *facts) lastHeard(place, boat string) time.Time {
	var newest time.Time
	for _, of := range []string{place, "boat " + boat} {
		for _, r := range f.readings[of] {
			_, air := r.Values[conditions.AirTemperature]
			_, surface := r.Values[conditions.Surface]
			if (air || surface) && r.At.After(newest) {
				newest = r.At
			}
		}
	}
	return newest
}

// merge is what a spot's readings say. Under a roof there is neither wind nor
// rain; outdoors the weather station speaks for a place that has no wind of its own.
func (f *facts) merge(at sensors.Spot, readings []sensors.Reading, now time.Time) conditions.Moment {
	at.Pressure = conditions.StandardPressure(f.yard.Elevation.SI)
	stale := f.yard.Notice.Stale.Std()
	m := sensors.Merge(words(readings, now), at, now, stale)
	if m.Sure != conditions.Measured {
		m.Why = sensors.Merge(f.allOf(at), at, now, stale).Why // it may lie further back
	}
	place, ok := f.yard.Place(at.Place)
	switch {
	case ok && place.Roofed():
		m.Wind, m.Gust, m.Rain, m.RainChance = 0, 0, 0, 0
	case ok && !unit.Known(m.Wind):
		station := sensors.Merge(words(f.lately(config.Outdoors, now), now), sensors.Spot{Place: config.Outdoors}, now, stale)
		m.Wind, m.Gust, m.Rain, m.RainChance = station.Wind, station.Gust, station.Rain, station.RainChance
	}
	m.Paint = f.yard.Paint()
	if place.Kind == config.Tent && m.Sure == conditions.Measured {
		fore, _ := f.forecast(now)
		w := f.weatherAt(fore.Points, now)
		if !known(w.Air) {
			w.Air, w.DewPoint = m.Air, m.DewPoint
		}
		w.Sure = m.Sure
		m.Film = f.yard.Stand(place).Moment(w, conditions.Idle).Film
	}
	return m
}

// weatherAt is the weather outdoors at a time: as foretold, but what the station
// measures counts for it.
func (f *facts) weatherAt(points []conditions.Weather, at time.Time) conditions.Weather {
	w := conditions.At(points, at)
	station := sensors.Merge(words(f.lately(config.Outdoors, at), at), sensors.Spot{Place: config.Outdoors}, at, f.yard.Notice.Stale.Std())
	if station.Sure == conditions.Measured {
		w.Air, w.DewPoint, w.Rain = station.Air, station.DewPoint, station.Rain
		if unit.Known(station.Wind) {
			w.Wind = station.Wind
		}
	}
	return w
}

// card is the card of the coat a stage puts on.
func (f *facts) card(k planner.Key) (config.Card, bool) {
	stage, ok := f.stage(k)
	if !ok || stage.Card == "" {
		return config.Card{}, false
	}
	return f.yard.Card(stage.Card)
}

// stage is a stage as its system has it.
func (f *facts) stage(k planner.Key) (config.Stage, bool) {
	for _, b := range f.boats {
		if b.Name != k.Boat {
			continue
		}
		for _, a := range b.Areas {
			if a.Name != k.Area {
				continue
			}
			system, ok := f.yard.System(a.System)
			if !ok {
				return config.Stage{}, false
			}
			stage, _, ok := system.Stage(k.Stage)
			return stage, ok
		}
	}
	return config.Stage{}, false
}

// area is the size that a stage works.
func (f *facts) area(k planner.Key) config.Area {
	for _, b := range f.boats {
		for _, a := range b.Areas {
			if b.Name == k.Boat && a.Name == k.Area {
				return a
			}
		}
	}
	return config.Area{}
}

// sensor finds a sensor of the yard file by its name.
func (f *facts) sensor(name string) (config.Sensor, bool) {
	for _, s := range f.yard.Sensors {
		if s.Name == name {
			return s, true
		}
	}
	return config.Sensor{}, false
}
