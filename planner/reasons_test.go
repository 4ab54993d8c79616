package planner

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/config"
)

// settled is the schedule of a problem, for looking behind its plan.
func settled(t testing.TB, p Problem) *schedule {
	d, err := Open(p)
	if err != nil {
		t.Fatal(err)
	}
	s := d.m.best()
	s.settle()
	return s
}

// Each cause that is a matter of cost or of what follows is proved by starting the
// stage in its slot: what was said to be possible is, by the check that shares
// nothing with the search, and costs as much more as was said, the term that was
// named most of all; what was said to break something does.
func TestReasonsAreProved(t *testing.T) {
	t.Parallel()
	proved := map[Cause]int{}
	for seed := range seeds(10) {
		p := rapid.Custom(anyProblem).Example(seed)
		s := settled(t, p)
		plan := s.plan()
		ledgersAddUp(t, p, plan)
		zone, err := p.Yard.Location()
		if err != nil {
			t.Fatal(err)
		}
		totalsAddUp(t, plan, zone)
		for _, placed := range s.inOrder() {
			another(t, s, placed)
			for n, w := range placed.waits {
				// The first and the last slot of each run of one cause: each is a whole check.
				inside := n > 0 && n+1 < len(placed.waits) && placed.waits[n-1].why.cause == w.why.cause && placed.waits[n+1].why.cause == w.why.cause
				if !inside {
					tried(t, s, placed, w, proved)
				}
			}
		}
	}
	if proved[KeptClose] == 0 && !testing.Short() {
		t.Errorf("nothing was proved of some causes: %v", proved)
	}
}

func tried(t *testing.T, s *schedule, p *placed, w slotWait, proved map[Cause]int) {
	var kept int // cost-minutes by the term that the cause names
	switch w.why.cause {
	case LaterCalmer:
		kept = spoiling
	case ShorterHold:
		kept = holding
	case AsTold:
		kept = change
	case KeptClose:
	case GaveWay:
		proved[GaveWay]++
		yields(t, s, p, w)
		return
	default:
		return
	}
	s.take(p, -1)
	q, stays, why := s.tryAt(p, w.From)
	s.take(p, 1)
	if why.cause != w.why.cause || why.amount != w.why.amount {
		t.Errorf("%v at %d: %s %d is now %s %d", p.job.key, w.From, w.why.cause, w.why.amount, why.cause, why.amount)
		return
	}
	if why.cause == KeptClose {
		n := s.stayAt(s.model.areas[p.job.area].boat, p)
		if why.note != "" || q.end > p.end || n >= 0 && w.From < s.boats[s.model.areas[p.job.area].boat].stays[n].from+s.boats[s.model.areas[p.job.area].boat].stays[n].move {
			return
		}
	} else if why.amount == 0 {
		return // a start that is frozen
	}
	before := s.cost()
	undo := started(s, p, q, stays)
	defer undo()
	broken := Check(s.p, s.plan())
	if why.cause == KeptClose {
		for _, o := range s.inOrder() {
			if o.job.key == why.other && o.coating && o.start-s.out.closes(o.film, s.boats[s.model.areas[o.job.area].boat].way) <= 1 {
				return // by less than the slot that the check allows
			}
		}
		if proved[KeptClose]++; len(broken) == 0 {
			t.Errorf("%v at %v: nothing lapses", p.job.key, s.grid.Time(w.From))
		}
		return
	}
	proved[why.cause]++
	for _, b := range broken {
		t.Errorf("%v at %v, %s: %s: %s", p.job.key, s.grid.Time(w.From), why.cause, b.Rule, b.What)
	}
	after, sum := s.cost(), 0.0
	for i := range after {
		after[i] -= before[i]
		sum += after[i]
	}
	if sum <= 0 || math.Abs(sum-float64(why.amount)) > 1 {
		t.Errorf("%v at %v: %s costs %g more, not %d: %v", p.job.key, s.grid.Time(w.From), why.cause, sum, why.amount, after)
	}
	for i := range after {
		if after[i] > after[kept]+1e-6 {
			t.Errorf("%v at %v: %s is named, %s grows more: %v", p.job.key, s.grid.Time(w.From), why.cause, termNames[i], after)
		}
	}
}

// another: the next-best start of a stage is another one; a later one is the first
// that nothing refuses.
func another(t *testing.T, s *schedule, p *placed) {
	next := s.nextBest(p)
	if next == nil {
		return
	}
	at, start := s.grid.Ceil(next.Start), p.start
	if at == start {
		t.Errorf("%v: its next best start is its own", p.job.key)
	}
	if at < start {
		return // one of those that were refused for their cost, and are tried
	}
	i := s.model.areas[p.job.area].boat
	s.take(p, -1)
	defer s.take(p, 1)
	for t0 := start + 1; t0 <= at; t0++ {
		_, why := s.probe(&site{boat: i, area: p.job.area, place: p.place, way: s.boats[i].way, film: p.film}, p.job, t0)
		if why.refused() == (t0 == at) {
			t.Errorf("%v: %v is told as its next best start; %v: %q", p.job.key, next.Start, s.grid.Time(t0), why.cause)
		}
	}
}

// started starts a stage earlier and returns what undoes it.
func started(s *schedule, p *placed, q placed, stays []stay) func() {
	i := s.model.areas[p.job.area].boat
	was, st := *p, *s.boats[i]
	q.stays = stays
	s.move(p, &q)
	return func() {
		s.take(p, -1)
		s.occupy(s.boats[i].stays, -1)
		*p, *s.boats[i] = was, st
		s.occupy(st.stays, 1)
		s.take(p, 1)
		s.refresh(i)
	}
}

// yields: the slot is free, the stage it was left to comes later and is another
// boat's, and it is what is in the way.
func yields(t *testing.T, s *schedule, p *placed, w slotWait) {
	var other *placed
	for _, o := range s.inOrder() {
		if o.job.key == w.why.other {
			other = o
		}
	}
	if other == nil || other.job.key.Boat == p.job.key.Boat || other.start <= w.From || w.why.amount < 1 {
		t.Fatalf("%v gave way to %v, %d cost-minutes", p.job.key, w.why.other, w.why.amount)
	}
	s.take(p, -1)
	defer s.take(p, 1)
	_, _, with := s.tryAt(p, w.From)
	for at := w.From; at < w.To; at++ {
		switch {
		case with.cause == CrewBusy && s.hours[p.crew].There(at) && s.hours[p.crew].Free(at) < p.job.people && other.crew == p.crew:
			t.Errorf("%v: its crew is busy at %d, before the stage it gave way to", p.job.key, at)
		case with.cause == PlaceTaken && s.rooms[p.place].Free(at-s.places[p.place].moves) < 1:
			t.Errorf("%v: its place is taken at %d, before the stage it gave way to", p.job.key, at)
		}
	}
	s.take(other, -1)
	_, _, without := s.tryAt(p, w.From)
	s.take(other, 1)
	if with.cause == without.cause && with.next == without.next && with.cause == CrewBusy {
		t.Errorf("%v is refused without %v too: %s", p.job.key, other.job.key, without.cause)
	}
}

// A boat that has time leaves the crew to one that has none: its three hours would
// fit in before the other's coat only if that waited, which costs the other's
// launch. Once the coat is on, it is no more than that the crew is busy.
func TestGaveWay(t *testing.T) {
	boats := fleet(2)
	boats[0].Promised = "2026-05-05" // late whatever is done
	boats[0].Areas[0].System, boats[1].Areas[0].System = "coat", "look"
	p := problem(boats...)
	p.Horizon = 14 * 24 * time.Hour
	stages := p.Yard.Systems[0].Stages
	look := stages[7]
	look.Takes = hours(3)
	p.Yard.Systems = []config.System{{Name: "coat", Stages: stages[4:6]}, {Name: "look", Stages: []config.Stage{look}}}
	s := settled(t, p)
	q := s.boats[1].placed[0]
	if len(q.waits) != 3 || q.waits[0].why.cause != LiftMove || q.waits[1].why.cause != GaveWay || q.waits[2].why.cause != CrewBusy {
		t.Fatalf("%+v", q.waits)
	}
	coat := s.boats[0].placed[1]
	w := q.waits[1]
	yields(t, s, q, w)
	if w.why.other != coat.job.key || w.To != coat.start || q.start != coat.end {
		t.Errorf("gave way to %v until %d, starts %d; the coat goes on from %d to %d", w.why.other, w.To, q.start, coat.start, coat.end)
	}
	// The weight of lateness is 1: a minute of the other's launch is a cost-minute.
	// The minutes that both boats wait longer, or less, for their launch nearly cancel.
	if want := int64(w.From+q.job.slots-coat.start) * int64(step.Minutes()); w.why.amount < want || w.why.amount > want+want/50 {
		t.Errorf("it would cost %d, want %d", w.why.amount, want)
	}
	// The coat's own next start is after the look: its launch that much later, and the
	// wipe under it, which lasts two hours, done again: one for half an hour at 1.5.
	late := int64(q.end-coat.start) * int64(step.Minutes())
	if next := s.nextBest(coat); next == nil || !next.Start.Equal(s.grid.Time(q.end)) || next.Crew != "paint" || next.Extra > late+45 || next.Extra < late+45-30 {
		t.Errorf("the coat's next best start: %+v, %d minutes later", next, late)
	}
	// With no promise broken there is nothing to give way to.
	p.Boats[0].Promised = "2026-06-01"
	for _, q := range settled(t, p).inOrder() {
		for _, w := range q.waits {
			if w.why.cause == GaveWay {
				t.Errorf("%v gave way to a boat that has time: %+v", q.job.key, w.why)
			}
		}
	}
}
