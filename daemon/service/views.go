package service

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// Now is the daemon's time.
func (s *Service) Now() time.Time { return s.clock.Now() }

// Yard is the yard file in force.
func (s *Service) Yard() config.Yard {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.facts.yard
}

// Boats are the boats that are here or expected.
func (s *Service) Boats(context.Context) ([]config.Boat, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.facts.boats, nil
}

// Draft is the newest plan.
func (s *Service) Draft(context.Context) (planner.Plan, int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.facts.draft.Plan, s.facts.draft.ID, nil
}

// Told is the plan people were last given.
func (s *Service) Told(context.Context) (planner.Plan, int64, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.facts.told.Plan, s.facts.told.ID, nil
}

// Work is what has been done so far.
func (s *Service) Work(context.Context) (planner.Work, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.facts.work, nil
}

// Presses is what was reported of one boat, in the order it happened.
func (s *Service) Presses(_ context.Context, boat string) ([]planner.Press, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var out []planner.Press
	for _, p := range s.facts.presses {
		if p.Key.Boat == boat {
			out = append(out, p)
		}
	}
	return out, nil
}

// OpenWindows are the stages whose window people have been told is open.
func (s *Service) OpenWindows(context.Context) ([]planner.Key, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	var open []planner.Key
	for _, c := range s.cycle.candidates {
		if one, ok := s.watch.by[string(ofWindow)+" "+c.Key.String()]; ok && one.Gate.Open {
			open = append(open, c.Key)
		}
	}
	return open, nil
}

// Readings are a place's readings, oldest first, and those of the boats that stand
// there by sensors that go with the boat, since it came.
func (s *Service) Readings(ctx context.Context, place string, from, to time.Time) ([]sensors.Reading, error) {
	all, err := s.store.Readings(ctx, store.Query{Place: place, From: from, To: to})
	if err != nil {
		return nil, err
	}
	for boat, since := range s.standIn(place) {
		if since.Before(from) {
			since = from
		}
		own, err := s.store.Readings(ctx, store.Query{Boat: boat, From: since, To: to})
		if err != nil {
			return nil, err
		}
		for _, r := range own {
			if r.Place == "" {
				all = append(all, r)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b sensors.Reading) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID))
	})
	return all, nil
}

// standIn is since when each boat stands in a place.
func (s *Service) standIn(place string) map[string]time.Time {
	s.mu.Lock()
	defer s.mu.Unlock()
	since := map[string]time.Time{}
	for _, b := range s.facts.here() {
		if is := s.facts.work.Place(b.Name); is.Place == place {
			since[b.Name] = is.Since
		}
	}
	return since
}

// pastStep is how often Past looks back, but for spans longer than hourlyBeyond.
const (
	pastStep     = 15 * time.Minute
	hourlyBeyond = 14 * 24 * time.Hour
)

// nowLasts is how long a time that was now when a page was asked for still is:
// a running clock has gone on before Past reads it.
const nowLasts = time.Minute

// Past is what was measured in a place, with the surface of the hull if one boat
// stands there. A time at which nothing good had been measured within the hour
// is left out: it is a gap, not a guess. Where readings are kept no longer, it is the
// means of their hours. Up to now, the last word is the guard's,
// dated by the newest reading: what was just measured counts at once, and what
// has become doubtful since is unknown.
func (s *Service) Past(ctx context.Context, place string, from, to time.Time) ([]conditions.Moment, error) {
	every := pastStep
	if to.Sub(from) > hourlyBeyond {
		every = time.Hour
	}
	s.mu.Lock()
	boat, now := s.facts.onlyBoat(place), s.clock.Now()
	newest := s.facts.lastHeard(place, boat)
	last := s.facts.standing(place, boat, now)
	stale := s.facts.yard.Notice.Stale.Std()
	s.mu.Unlock() // what is long past needs no turn, and takes its time
	heard, earlier := !newest.IsZero(), now.Sub(to) > nowLasts
	switch {
	case !heard || earlier:
		newest = to
	case newest.After(now):
		newest = now // a device's clock runs ahead
	}
	var times []time.Time
	for at := from.Truncate(every); !at.After(to) && !at.After(newest); at = at.Add(every) {
		times = append(times, at)
	}
	out, err := s.wereThen(ctx, sensors.Spot{Place: place, Boat: boat}, times)
	if err != nil {
		return nil, err
	}
	if !heard || earlier || newest.Before(from) || newest.After(now) || now.Sub(newest) > stale {
		return out, nil
	}
	last.At = newest
	if n := len(out); n > 0 && out[n-1].At.Equal(newest) {
		out = out[:n-1]
	}
	return append(out, last), nil
}

// Ahead is a place's outlook, hour by hour, as the last plan had it.
func (s *Service) Ahead(_ context.Context, place string, to time.Time) ([]conditions.Moment, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	ahead := s.cycle.view.Ahead[place]
	n := sort.Search(len(ahead), func(i int) bool { return ahead[i].At.After(to) })
	return ahead[:n], nil
}

// Taught is the leading forecast at a time, as it came and as it is taken in a place,
// without its bias there, and from how many pairs of forecast and reading that was
// learned: 0 of a place of which nothing was. The latest reading is not counted yet.
func (s *Service) Taught(_ context.Context, place string, at time.Time) (came, taken conditions.Weather, pairs int, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f := &s.facts
	fore, _ := f.forecast(s.clock.Now())
	came = conditions.At(fore.Points, at)
	own := f.learned.of(fore.Source)
	return came, own.Experience.Correct(came, place, fore.Issued), own.Pairs[place], nil
}

// Rules are the limits that a place is judged by, with whose they are: those of
// the next coat planned there, else the yard's profile.
func (s *Service) Rules(_ context.Context, name string) (conditions.Rules, string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f := &s.facts
	place, ok := f.yard.Place(name)
	if !ok {
		return nil, "", fmt.Errorf("%q is no place of this yard", name)
	}
	for _, p := range f.draft.Plan.Stages {
		if p.Place != name || p.Kind != config.Coat {
			continue
		}
		if stage, ok := f.stage(p.Key); ok {
			card, _ := f.yard.Card(stage.Card)
			return f.yard.Rules(stage, place), card.Title(), nil
		}
	}
	return f.yard.Rules(config.Stage{Kind: config.Coat}, place), "profile " + f.yard.Profile, nil
}

// Judged is a place's verdicts, hour by hour: measured up to now, then by the outlook.
func (s *Service) Judged(ctx context.Context, place string, from, to time.Time) ([]conditions.Verdict, error) {
	rules, _, err := s.Rules(ctx, place)
	if err != nil {
		return nil, err
	}
	now := s.clock.Now()
	var out []conditions.Verdict
	if from.Before(now) {
		past, err := s.Past(ctx, place, from, now)
		if err != nil {
			return nil, err
		}
		station, err := s.Past(ctx, config.Outdoors, from, now)
		if err != nil {
			return nil, err
		}
		for _, m := range past {
			if m.At.Truncate(time.Hour).Equal(m.At) {
				out = append(out, conditions.Judge(s.exposed(place, m, station), rules))
			}
		}
	}
	ahead, err := s.Ahead(ctx, place, to)
	if err != nil {
		return nil, err
	}
	out = slices.Grow(out, len(ahead))
	for _, m := range ahead {
		if !m.At.Before(from) && m.At.After(now) {
			out = append(out, conditions.Judge(m, rules))
		}
	}
	return out, nil
}

// exposed adds the weather: under a roof there is neither wind nor rain, outdoors
// the station speaks for a place that has no wind of its own.
func (s *Service) exposed(name string, m conditions.Moment, station []conditions.Moment) conditions.Moment {
	place, ok := s.Yard().Place(name)
	switch {
	case ok && place.Roofed():
		m.Wind, m.Gust, m.Rain, m.RainChance = 0, 0, 0, 0
	case ok && !unit.Known(m.Wind):
		w := nearest(station, m.At)
		m.Wind, m.Gust, m.Rain, m.RainChance = w.Wind, w.Gust, w.Rain, w.RainChance
	}
	return m
}
