package service

import (
	"slices"
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// horizon is how far a plan reaches.
const horizon = 6 * 7 * 24 * time.Hour

// problem is everything a plan is made from, as known now.
func (f *facts) problem(now time.Time) planner.Problem {
	p := planner.Problem{
		At: now, Horizon: horizon, Yard: f.yard,
		Outdoors: f.outdoors(now), Around: f.around(now), Experience: f.learned.Experience,
		Told: toldBy(f.told.Plan), Turns: f.told.Plan.Turns,
	}
	// Whom to tell plans nothing, and people's addresses are kept in one place only.
	p.Yard.People, p.Yard.Mail = nil, config.Mail{}
	// A boat that was launched is nothing to plan: its years of history stay out.
	here := map[string]bool{}
	for _, b := range f.here() {
		here[b.Name] = true
		p.Boats = append(p.Boats, b)
	}
	for _, press := range f.presses {
		if here[press.Key.Boat] {
			p.Presses = append(p.Presses, press)
		}
	}
	for _, t := range f.first {
		if here[t.Key.Boat] {
			p.First = append(p.First, t)
		}
	}
	if fore, ok := f.forecast(now); ok {
		p.Issued = fore.Issued
	}
	for _, place := range f.yard.Places {
		if m := f.measured(place.Name, now); m.Sure == conditions.Measured {
			p.Measured = append(p.Measured, planner.PlaceNow{Place: place.Name, Moment: m})
		}
	}
	for _, b := range p.Boats {
		p.Hulls = append(p.Hulls, f.hulls(b, now)...)
	}
	for _, c := range f.clocks {
		if here[c.Key.Boat] {
			p.Coats = append(p.Coats, c)
		}
	}
	sort.Slice(p.Coats, func(i, j int) bool { return p.Coats[i].Key.Less(p.Coats[j].Key) })
	return p
}

// here are the boats that were not launched: in the yard, or still to come.
func (f *facts) here() []config.Boat {
	return slices.DeleteFunc(slices.Clone(f.boats), func(b config.Boat) bool {
		return !f.work.Place(b.Name).Launched.IsZero()
	})
}

// outdoors is the site's weather hour by hour: the last hours as measured, then
// the newest forecast that is not too old, corrected by what was measured,
// then the season.
func (f *facts) outdoors(now time.Time) []conditions.Weather {
	start := now.UTC().Truncate(time.Hour).Add(-2 * time.Hour)
	end := now.Add(horizon + time.Hour)
	points := f.foretold(now)
	var out []conditions.Weather
	for at := start; !at.After(end); at = at.Add(time.Hour) {
		w := conditions.At(points, at)
		if w.Sure == conditions.Unknown {
			w = f.season(at)
		}
		out = append(out, w)
	}
	return out
}

// foretold is the newest forecast without the bias that was learned, with errors by
// its lead, then corrected by what the weather station measures, which narrows the
// errors of the next hours.
func (f *facts) foretold(now time.Time) []conditions.Weather {
	fore, _ := f.forecast(now)
	points := slices.Clone(fore.Points)
	for i, w := range points {
		points[i] = f.learned.Experience.Correct(w, config.Outdoors, fore.Issued)
	}
	station := f.measured(config.Outdoors, now)
	if station.Sure != conditions.Measured {
		return points
	}
	return conditions.Correct(points, conditions.Weather{
		At: now, Air: station.Air, DewPoint: station.DewPoint, Wind: station.Wind, Gust: station.Gust, Sure: conditions.Measured,
	})
}

// aroundFrom is how long before now the forecast about a place begins: no two of its
// points lie further apart and are still bridged.
const aroundFrom = 6 * time.Hour

// around is the newest forecast in each place without air of its own whose own errors
// were learned. What is measured there now the planner counts itself.
func (f *facts) around(now time.Time) map[string][]conditions.Weather {
	fore, _ := f.forecast(now)
	all := map[string][]conditions.Weather{}
	for _, place := range f.yard.Places {
		if !f.learned.habit(place.Name) || f.yard.Enclosure(place).OwnAir {
			continue
		}
		for _, w := range fore.Points {
			if w.At.After(now.Add(-aroundFrom)) {
				all[place.Name] = append(all[place.Name], f.learned.Experience.Correct(w, place.Name, fore.Issued))
			}
		}
	}
	return all
}

// forecast is the newest issue that is not older than its source allows, and
// whether there is one. A forecast all of whose near points are doubtful is
// still the newest: its unknown hours are the season's.
func (f *facts) forecast(now time.Time) (sensors.Forecast, bool) {
	var best sensors.Forecast
	for _, c := range f.forecasts {
		if f.fresh(c, now) && c.Issued.After(best.Issued) {
			best = c
		}
	}
	return best, len(best.Points) > 0
}

// fresh reports whether a forecast is not older than its source allows.
func (f *facts) fresh(c sensors.Forecast, now time.Time) bool {
	return now.Sub(c.Issued) <= staleAfter(f.yard, c.Source) && !c.Issued.After(now.Add(time.Hour))
}

func staleAfter(y config.Yard, source string) time.Duration {
	for _, s := range y.Forecasts {
		if s.Name == source && s.Stale > 0 {
			return s.Stale.Std()
		}
	}
	return 18 * time.Hour
}

// season is the usual weather of the day and hour: by the site's records, else by the
// yard file's months, which also say what the records leave out; Unknown without either.
func (f *facts) season(at time.Time) conditions.Weather {
	local := at.In(f.zone)
	w := f.records.Weather(at)
	usual, ok := f.yard.Usual(int(local.Month()))
	switch {
	case !ok:
		return w
	case w.Sure == conditions.Unknown:
		return usual.Weather(at, float64(local.Hour())+float64(local.Minute())/60)
	}
	if !unit.Known(w.Wind) {
		w.Wind = usual.Wind
	}
	if !unit.Known(w.RainChance) {
		w.RainChance = usual.RainHours
	}
	return w
}

func toldBy(p planner.Plan) []planner.Told {
	var told []planner.Told
	for _, s := range p.Stages {
		if !s.Start.IsZero() {
			told = append(told, planner.Told{Key: s.Key, Start: s.Start, Place: s.Place, Brought: s.Brought})
		}
	}
	return told
}
