package service

import (
	"context"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/planner"
)

// Worked is a boat's surface as worked out now, beside what was last read of it.
func (s *Service) Worked(_ context.Context, boat string) (conditions.Worked, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.facts.workedOut(boat, s.clock.Now()), nil
}

func (f *facts) workedOut(boat string, now time.Time) conditions.Worked {
	then := f.upTo(now, "boat "+boat, f.work.Place(boat).Place)
	nan := unit.NaN[unit.Temperature]()
	is := conditions.Worked{Coldest: nan, Warmest: nan, Model: nan}
	read, surface := then.lastSurface(boat)
	if !read.IsZero() {
		is.Read, is.Coldest, is.Warmest = read, surface.cold, surface.warm
	}
	coated := f.partsOf(boat)
	for _, part := range []conditions.Part{conditions.Sides, conditions.House, conditions.Deck} {
		e, ok := then.worked(boat, part, now)
		if !coated[part] || !ok {
			continue
		}
		if was, _, ok := f.followers[boat].at(read, part); ok && len(is.Parts) == 0 {
			is.Model = was.cold
		}
		is.Parts = append(is.Parts, conditions.WorkedPart{Part: part, Coldest: e.cold, Warmest: e.warm})
	}
	return is
}

// partsOf are the parts of a boat on which its areas lie.
func (f *facts) partsOf(boat string) map[conditions.Part]bool {
	parts := map[conditions.Part]bool{}
	for _, b := range f.boats {
		if b.Name != boat {
			continue
		}
		for _, a := range b.Areas {
			parts[a.Part()] = true
		}
	}
	return parts
}

// Coat is the clock of an area's last coat, the surface that it stands in now, and
// when by the last plan's outlook it may no longer be overcoated as it is: zero
// where that is not foreseen. A clock without a key does not run.
func (s *Service) Coat(_ context.Context, boat, area string) (is planner.CoatNow, surface conditions.Exposure, closes time.Time, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f := &s.facts
	coat, ok := f.work.LastCoat(boat, area)
	clock, running := f.clocks[coat.Key]
	if !ok || !running || !clock.Clock.Coated.Equal(coat.Ended) {
		return planner.CoatNow{}, conditions.Exposure{}, time.Time{}, nil
	}
	return clock, f.surface(coat.Key, s.clock.Now()), s.cycle.view.Closes[coat.Key], nil
}
