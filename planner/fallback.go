package planner

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/planner/engine"
)

// Fallback is when a coat that may fail could go on instead, where its boat stands, all
// else as planned.
type Fallback struct {
	Start  time.Time `json:"start"`
	Chance float64   `json:"chance"`
	// Lapsed says that by then the coat under it may no longer be overcoated as it is.
	Lapsed bool `json:"lapsed,omitempty"`
}

// fallback names the next window after the one a coat is planned in, for a coat whose
// chance is less than is asked of a start; nil for the others, or where there is none
// within a fortnight.
func (s *schedule) fallback(p *placed, until engine.Slot) *Fallback {
	if !p.coating || p.running || p.place < 0 || p.z >= conditions.Deviations(float64(s.yard.Confidence.Start.SI)) {
		return nil
	}
	boat := s.model.areas[p.job.area].boat
	s.take(p, -1)
	defer s.take(p, 1)
	at := &site{boat: boat, area: p.job.area, place: p.place, way: s.boats[boat].way, film: p.film}
	last := min(until+s.grid.Steps(fortnight), s.grid.Slots)
	for t := until + 1; t < last; {
		q, why := s.probe(at, p.job, t)
		if !why.refused() {
			return &Fallback{Start: s.grid.Time(t), Chance: conditions.Chance(q.z), Lapsed: t >= s.out.closes(p.film, at.way)}
		}
		t = max(why.next, t+1)
	}
	return nil
}
