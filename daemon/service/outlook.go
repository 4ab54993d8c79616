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
		Outdoors: f.outdoors(now), Around: f.around(now),
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
	for _, press := range planner.Standing(f.presses) {
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
		p.Issued, p.Experience = fore.Issued, f.learned.of(fore.Source).Experience
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

// outdoors is the site's weather hour by hour: the last hours as measured, then the
// forecast that leads, where it foretells nothing the next one, corrected by what was
// measured, then the season.
func (f *facts) outdoors(now time.Time) []conditions.Weather {
	start := now.UTC().Truncate(time.Hour).Add(-2 * time.Hour)
	end := now.Add(horizon + time.Hour)
	var series [][]conditions.Weather
	for _, fore := range f.inForce(now) {
		series = append(series, f.foretold(fore, now))
	}
	var out []conditions.Weather
	for at := start; !at.After(end); at = at.Add(time.Hour) {
		w := conditions.At(nil, at)
		for i := 0; i < len(series) && w.Sure == conditions.Unknown; i++ {
			w = conditions.At(series[i], at)
		}
		if w.Sure == conditions.Unknown {
			w = f.season(at)
		}
		out = append(out, w)
	}
	return out
}

// foretold is a forecast without the bias that was learned of its source, with errors by
// its lead, then corrected by what the weather station measures, which narrows the
// errors of the next hours.
func (f *facts) foretold(fore sensors.Forecast, now time.Time) []conditions.Weather {
	points := slices.Clone(fore.Points)
	experience := f.learned.of(fore.Source).Experience
	for i, w := range points {
		points[i] = experience.Correct(w, config.Outdoors, fore.Issued)
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

// around is the leading forecast in each place without air of its own whose own errors
// were learned. What is measured there now the planner counts itself.
func (f *facts) around(now time.Time) map[string][]conditions.Weather {
	fore, _ := f.forecast(now)
	own := f.learned.of(fore.Source)
	all := map[string][]conditions.Weather{}
	for _, place := range f.yard.Places {
		if !own.habit(place.Name) || f.yard.Enclosure(place).OwnAir {
			continue
		}
		for _, w := range fore.Points {
			if w.At.After(now.Add(-aroundFrom)) {
				all[place.Name] = append(all[place.Name], own.Experience.Correct(w, place.Name, fore.Issued))
			}
		}
	}
	return all
}

// forecast is the one that leads, and whether there is any: of the sources whose newest
// issue is not too old, the first in their order. One that foretells nothing of the
// next hours leads only if no other does; its unknown hours are the season's then.
func (f *facts) forecast(now time.Time) (sensors.Forecast, bool) {
	fresh := f.inForce(now)
	if len(fresh) == 0 {
		return sensors.Forecast{}, false
	}
	return fresh[0], true
}

// inForce are the newest issues that are not too old, the leading one first.
func (f *facts) inForce(now time.Time) []sensors.Forecast {
	newest := map[string]sensors.Forecast{}
	for _, c := range f.forecasts {
		if f.fresh(c, now) && len(c.Points) > 0 && c.Issued.After(newest[c.Source].Issued) {
			newest[c.Source] = c
		}
	}
	var telling, doubtful []sensors.Forecast
	for _, source := range f.order() {
		switch c, ok := newest[source]; {
		case !ok:
		case tells(c, now):
			telling = append(telling, c)
		default:
			doubtful = append(doubtful, c)
		}
	}
	return append(telling, doubtful...)
}

// order is that of the sources: as they were last ranked, then as the yard file names
// them, then those of forecasts whose source is in the file no more.
func (f *facts) order() []string {
	var order []string
	listed := sourceNames(f.yard)
	add := func(source string) {
		if !slices.Contains(order, source) {
			order = append(order, source)
		}
	}
	for _, skill := range f.learned.Ranking.Skills {
		if slices.Contains(listed, skill.Source) {
			add(skill.Source)
		}
	}
	for _, source := range listed {
		add(source)
	}
	for _, c := range f.forecasts {
		add(c.Source)
	}
	return order
}

// tells reports whether a forecast foretells anything of the next hours.
func tells(c sensors.Forecast, now time.Time) bool {
	const soon = 6 * time.Hour
	return slices.ContainsFunc(c.Points, func(w conditions.Weather) bool {
		ahead := w.At.Sub(now)
		return w.Sure == conditions.Foretold && ahead > 0 && ahead <= soon
	})
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
