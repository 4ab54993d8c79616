package planner

import (
	"math"
	"slices"

	"fairwindow/planner/engine"
)

// yield tells, of the slots of a stage's waits in which what it asks for is still
// free, which were left to another boat: a start there would run into a stage that
// comes later, and to push that one would cost more than this one wins. In the
// slots in which it is taken the cause stays what it is.
func (s *schedule) yield(p *placed) {
	s.take(p, -1)
	defer s.take(p, 1)
	var waits []slotWait
	for _, w := range p.waits {
		until := s.freeUntil(p, w)
		if until > w.From {
			if g := s.gaveWay(p, w); g.refused() {
				waits = append(waits, slotWait{engine.Span{From: w.From, To: until}, g})
				w.From = until
			}
		}
		if w.From < w.To {
			waits = append(waits, w)
		}
	}
	p.waits = waits
}

// freeUntil is the first slot of a wait in which the crew or the place that
// refused is taken.
func (s *schedule) freeUntil(p *placed, w slotWait) engine.Slot {
	var table *engine.Timetable
	need, earlier := 1, engine.Slot(0) // the place is asked for from the move on
	switch {
	case w.why.cause == CrewBusy:
		table, need = s.hours[w.why.crew], p.job.people
	case s.entering(p, w):
		table, earlier = s.rooms[p.place], s.places[p.place].moves
	default:
		return w.From
	}
	for t := w.From; t < w.To; t++ {
		if table.Free(t-earlier) < need {
			return t
		}
	}
	return w.To
}

// entering is a wait for a place that the boat would be brought into earlier.
func (s *schedule) entering(p *placed, w slotWait) bool {
	return w.why.cause == PlaceTaken && w.why.note == "" && p.entered && p.place >= 0
}

// gaveWay asks whether what refused the first slot of a wait is a stage of another
// boat that begins later, and whether pushing that costs more than is won. The
// push that counts is the least there is, and what is won the most there can be, so
// the amount is what starting here would cost at least.
func (s *schedule) gaveWay(p *placed, w slotWait) refusal {
	o, until := s.ahead(p, w)
	if o == nil || o.running || o.job.key.Boat == p.job.key.Boat || until <= o.start {
		return refusal{}
	}
	i, j := s.model.areas[p.job.area].boat, s.model.areas[o.job.area].boat
	pushed := until - o.start
	if w.why.cause == CrewBusy {
		pushed = s.pushed(o, w, p.job.people)
	}
	costs := s.launchCost(j, s.carried(o, pushed)) - s.launchCost(j, s.boats[j].launch)
	wins := s.launchCost(i, s.boats[i].launch) - s.launchCost(i, s.boats[i].launch-(p.start-w.From))
	if costs-wins < 1 {
		return refusal{}
	}
	return refusal{cause: GaveWay, next: w.To, other: o.job.key, amount: int64(math.Round(costs - wins))}
}

// ahead is the first later stage that a start in the first slot of a wait would
// run into, and the end of what would then be in its way.
func (s *schedule) ahead(p *placed, w slotWait) (o *placed, until engine.Slot) {
	span := w.why.span
	first := func(q *placed, from engine.Slot) {
		if q.job != p.job && from > w.From && (o == nil || from < o.start) {
			o = q
		}
	}
	for _, st := range s.boats {
		for _, q := range st.placed {
			switch {
			case w.why.cause == CrewBusy && q.crew == w.why.crew:
				if slices.ContainsFunc(q.parts, func(part engine.Span) bool { return part.From < span.To && part.To > span.From }) {
					first(q, q.start)
				}
			case w.why.cause == PlaceTaken && q.place == p.place && q.entered && q.start-s.places[p.place].moves < span.To && q.end > span.From:
				first(q, q.start)
			}
		}
	}
	until = span.To
	if n := s.stayAt(s.model.areas[p.job.area].boat, p); w.why.cause == PlaceTaken && n >= 0 {
		until = s.boats[s.model.areas[p.job.area].boat].stays[n].to - (p.start - w.From) + s.places[p.place].moves
	}
	return o, until
}

// pushed is by how much a stage would start later if its crew were taken over the
// span that was asked for.
func (s *schedule) pushed(o *placed, w slotWait, people int) engine.Slot {
	hours := s.hours[w.why.crew]
	j := s.model.areas[o.job.area].boat
	s.take(o, -1)
	hours.Take(w.why.span.From, w.why.span.To, people)
	at := &site{boat: j, area: o.job.area, place: o.place, way: s.boats[j].way, film: o.film}
	q, _ := s.earliest(at, o.job, o.start)
	hours.Take(w.why.span.From, w.why.span.To, -people)
	s.take(o, 1)
	if q == nil {
		return s.grid.Slots - o.start
	}
	return q.start - o.start
}

// carried is the launch of a stage's boat if that stage starts so much later, as
// far as can be told without planning anew: each stage after it of its area uses up the time
// that it waits, and the rest is carried on to the launch.
func (s *schedule) carried(p *placed, by engine.Slot) engine.Slot {
	ar, i := s.areas[p.job.area], s.model.areas[p.job.area].boat
	if !s.launches(i) {
		return s.boats[i].launch
	}
	for _, next := range ar.done[slices.Index(ar.done, p)+1:] {
		by = max(0, by-(next.start-next.ready))
	}
	if by == 0 {
		return s.boats[i].launch
	}
	return max(s.boats[i].launch, s.fitArea(p.job.area, s.stagesOf(i), s.boats[i].way)+by)
}

// workCost is what a stage's work counts for as a repair.
func (s *schedule) workCost(j *job) int64 {
	return int64(math.Round(s.yard.Weights.Repair * float64(j.slots) * step.Minutes() * float64(j.people)))
}

// lapse is what it costs at least that a coat comes after the window of the one
// under it: to wipe, where that still revives it, else to abrade.
func (s *schedule) lapse(p *placed) int64 {
	area := &s.model.areas[p.job.area]
	least := int64(0)
	for _, what := range []string{reactivate, abrade} {
		if what == reactivate && (p.film == nil || s.out.revivable(p.film, s.boats[area.boat].way) <= p.start) {
			continue
		}
		name := repairName(what, p.job.key.Stage, func(string) bool { return false })
		key := Key{Boat: p.job.key.Boat, Area: p.job.key.Area, Stage: name}
		j, err := s.newJob(p.job.area, area.Area, Progress{Key: key, Stage: repairStage(name, p.job.stage, area.all), Repair: true})
		if err == nil && (least == 0 || s.workCost(j) < least) {
			least = s.workCost(j)
		}
	}
	return least
}
