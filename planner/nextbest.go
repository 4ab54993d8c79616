package planner

import (
	"math"
	"slices"

	"fairwindow/planner/engine"
)

// nextBest is the other start of a stage that would cost least more: one of the
// earlier ones that were refused for their cost, or the first later one that
// nothing refuses; of two that cost the same the earlier. It is told, not searched:
// all else stays as planned, but for what is pushed.
func (s *schedule) nextBest(p *placed) *Other {
	if p.running {
		return nil
	}
	var best *Other
	for _, w := range p.waits {
		if w.why.amount <= 0 || best != nil && best.Extra <= w.why.amount {
			continue
		}
		best = &Other{Start: s.grid.Time(w.From), Extra: w.why.amount, Place: s.placeName(p.place), Estimate: w.why.cause == GaveWay || w.why.cause == KeptClose}
		if p.crew >= 0 {
			best.Crew = s.crews[p.crew].Name
		}
	}
	if q, extra := s.nextLater(p); q != nil && (best == nil || extra < best.Extra) {
		best = &Other{Start: s.grid.Time(q.start), Extra: extra, Place: s.placeName(q.place), Estimate: true}
		if q.crew >= 0 {
			best.Crew = s.crews[q.crew].Name
		}
	}
	return best
}

// nextLater is the first later start in the stage's place that nothing refuses,
// and what it would cost: the launch as far as the delay is carried on to it, its
// risk, what people were told, and a repair where it would come too late.
func (s *schedule) nextLater(p *placed) (*placed, int64) {
	i := s.model.areas[p.job.area].boat
	s.take(p, -1)
	at := &site{boat: i, area: p.job.area, place: p.place, way: s.boats[i].way, film: p.film}
	q, _ := s.earliest(at, p.job, p.start+1)
	if q != nil && p.job.coats() { // the search leaps over starts that it takes to fail as the one before did
		for t := max(p.start+1, q.start-2*perHour); t < q.start; t++ {
			if sooner, why := s.probe(at, p.job, t); !why.refused() {
				q = &sooner
				break
			}
		}
	}
	s.take(p, 1)
	if q == nil {
		return nil, 0
	}
	place := s.placeName(p.place)
	extra := s.launchCost(i, s.carried(p, max(q.end-p.end, 0))) - s.launchCost(i, s.boats[i].launch)
	extra += s.spoils(q) - s.spoils(p)
	extra += s.changes(p.job.key, s.grid.Time(q.start), place) - s.changes(p.job.key, s.grid.Time(p.start), place)
	if q.coating {
		extra += s.tooLate(p, q.start)
	}
	return q, int64(math.Round(extra))
}

// tooLate is what must be done again if a coat starts at t: what lies under it, or
// the wipe, sanding or masking before it.
func (s *schedule) tooLate(p *placed, t engine.Slot) float64 {
	again := 0.0
	if t >= s.out.closes(p.film, s.boats[s.model.areas[p.job.area].boat].way) {
		again += float64(s.lapse(p))
	}
	done := s.areas[p.job.area].done
	for n := slices.Index(done, p) - 1; n >= 0 && !done[n].coating; n-- {
		life := s.grid.Steps(done[n].job.stage.Life.Std())
		if life > 0 && perishes(done[n].job.stage.Kind) && t > done[n].end+life {
			again += float64(s.workCost(done[n].job))
		}
	}
	return again
}

// readied is what a stage waited for last before it was ready: the stage or the coat
// before it, or its boat; nothing if it was ready when the plan was made.
func (s *schedule) readied(p *placed) Evidence {
	if p.running || p.ready <= s.now {
		return Evidence{}
	}
	i, area := s.model.areas[p.job.area].boat, &s.model.areas[p.job.area]
	if !p.job.unlimited() && p.film != nil && s.out.opens(p.film, p.job.stage.Needs(), s.boats[i].way) >= p.ready {
		return Evidence{Other: p.film.key, Note: string(p.job.stage.Needs())}
	}
	done := s.areas[p.job.area].done
	switch n := slices.Index(done, p); {
	case n > 0 && done[n-1].end >= p.ready:
		return Evidence{Other: done[n-1].job.key}
	case area.after >= 0 && s.areas[area.after].ended >= p.ready:
		return Evidence{Other: Key{Boat: p.job.key.Boat, Area: s.model.areas[area.after].Name}}
	case s.model.boats[i].arrives >= p.ready:
		return Evidence{Other: Key{Boat: p.job.key.Boat}, Note: "arrives"}
	}
	return Evidence{}
}
