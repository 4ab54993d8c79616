package planner

import (
	"math"
	"slices"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// trial is a block laid out whole in one place, not yet booked.
type trial struct {
	layout
	stays []stay
	hold  engine.Slot // the boat may not be moved before
	moved bool
	sent  *sent // who is sent away for it, if anybody
	jobs  int   // of the area's own, without repairs
	score float64
}

// place lays the next block of an area out in the place that is wanted, else where
// it ends soonest, and books it. What cannot be laid out whole is laid out as far as it goes and is worth it.
func (s *schedule) place(a, want int) {
	i := s.model.areas[a].boat
	s.goFirst(a)
	jobs := s.block(a)
	if s.model.boats[i].arrives >= s.grid.Slots {
		s.turns = append(s.turns, turn{a, -1})
		s.miss(a, &layout{place: -1, why: refusal{cause: LateBoat, next: never, note: "it arrives after the end of this plan"}})
		return
	}
	s.unwait(i)
	best, failed := s.bestTrial(i, a, want, jobs)
	if best == nil && want >= 0 {
		best, failed = s.bestTrial(i, a, -1, jobs)
	}
	if n := failed.worth(jobs); best == nil && n > 0 && n < len(jobs) {
		best, _ = s.bestTrial(i, a, -1, jobs[:n])
	}
	if best == nil {
		s.turns = append(s.turns, turn{a, -1})
		s.rewait(i)
		s.miss(a, failed)
		return
	}
	s.turns = append(s.turns, turn{a, best.place})
	s.book(i, a, best)
	if best.jobs < len(jobs) {
		s.miss(a, failed)
	}
}

// laid is how many of the jobs found a start, repairs not counted.
func (l *layout) laid(jobs []*job) int {
	n := 0
	for _, p := range l.at {
		if slices.Contains(jobs, p.job) {
			n++
		}
	}
	return n
}

// worth is how many of the jobs that found a start are worth doing without the
// next, which found none: what would not last until a coat is work for nothing.
func (l *layout) worth(jobs []*job) int {
	n := l.laid(jobs)
	if n == len(jobs) {
		return n
	}
	for ; n > 0; n-- {
		if j := jobs[n-1]; j.stage.Life <= 0 || !perishes(j.stage.Kind) || j.at.Running {
			break
		}
	}
	return n
}

// miss notes that an area's next stages find no start: the one that was refused
// with its refusal, those around it because of that one.
func (s *schedule) miss(a int, failed *layout) {
	ar := s.areas[a]
	ar.stuck = true
	all := s.model.areas[a].jobs
	if ar.next >= len(all) {
		return
	}
	j := all[ar.next]
	if n := len(failed.at); n < len(failed.jobs) {
		j = failed.jobs[n]
	}
	refused := missed{job: j, place: failed.place, ready: max(s.now, min(s.ready(a), s.grid.Slots)), why: failed.why}
	cause := KeptClose // of the stages before the refused one
	if !slices.Contains(all[ar.next:], j) {
		s.missed = append(s.missed, refused)
		cause = EarlierMoved
	}
	for _, other := range all[ar.next:] {
		if other == j {
			s.missed = append(s.missed, refused)
			cause = EarlierMoved
			continue
		}
		s.missed = append(s.missed, missed{job: other, place: failed.place, ready: s.grid.Slots, why: refusal{cause: cause, next: never, other: j.key, note: j.key.Stage + " has no start"}})
	}
}

// block is the area's next jobs that are done in one place.
func (s *schedule) block(a int) []*job {
	return blocksOf(s.model.areas[a].jobs[s.areas[a].next:])[0]
}

// ready is when the area's next stage could begin, as far as time alone goes.
func (s *schedule) ready(a int) engine.Slot {
	ar := s.areas[a]
	j := s.model.areas[a].jobs[ar.next]
	ready := max(s.now, ar.ended, s.model.boats[s.model.areas[a].boat].arrives)
	if after := s.model.areas[a].after; after >= 0 {
		ready = max(ready, s.areas[after].ended)
	}
	if !j.unlimited() {
		ready = max(ready, s.out.opens(ar.film, j.stage.Needs(), s.boats[s.model.areas[a].boat].way))
	}
	return ready
}

func (s *schedule) bestTrial(i, a, want int, jobs []*job) (*trial, *layout) {
	st := s.boats[i]
	failed := &layout{s: s, place: -1, why: refusal{cause: PlaceTaken, next: never, note: "no place of a kind it may be done in holds the boat"}}
	var best *trial
	defer func() { s.beat = math.Inf(1) }()
	take := func(t *trial) {
		if t == nil {
			return
		}
		if t.why.refused() {
			if failed.place < 0 || len(t.at) > len(failed.at) {
				failed = &t.layout
			}
			return
		}
		if best == nil || t.score < best.score {
			best, s.beat = t, t.score
		}
	}
	here := -1
	if st.refuge > 0 {
		here = st.stays[st.refuge-1].place
	}
	if s.stays(a, jobs, here) {
		take(s.stayOn(i, a, jobs, here))
		return best, failed
	}
	enters := make([]engine.Slot, len(s.places)) // when each place it could be brought into is free
	tried := map[int]engine.Slot{}               // when each kind of alike places could be entered
	told, hasTold := s.told[jobs[0].key]
	for p := range s.places {
		if want >= 0 && p != want || !s.takes(p, i, jobs) {
			continue
		}
		if hasTold && s.keeps(jobs[0], s.now) && !pinnedPlace(jobs) && told.Place != s.places[p].Name {
			continue
		}
		if p == here {
			take(s.stayOn(i, a, jobs, p))
			continue
		}
		t := s.moveIn(i, a, jobs, p, tried)
		take(t)
		switch like := s.places[p].like; {
		case t == nil:
			enters[p] = entered(tried, like)
		case len(t.stays) == 0:
			enters[p] = never
		default:
			enters[p] = t.stays[len(t.stays)-1].from
			if !t.why.refused() || t.outdone {
				tried[like] = min(entered(tried, like), enters[p])
			}
		}
	}
	if best == nil && here >= 0 && (want < 0 || want == here) && s.takes(here, i, jobs) {
		take(s.moveIn(i, a, jobs, here, nil))
	}
	for _, t := range s.sendingAway(i, a, jobs, enters, best) {
		take(t)
	}
	return best, failed
}

// stays reports whether a block must be done where the boat is: what is underway
// there, and what may be done anywhere.
func (s *schedule) stays(a int, jobs []*job, here int) bool {
	anywhere := true
	for _, j := range jobs {
		anywhere = anywhere && j.anywhere()
	}
	if anywhere || here < 0 {
		return anywhere
	}
	if jobs[0].at.Running {
		return true
	}
	under := s.model.areas[a].underway
	return under != "" && under == jobs[0].stage.Block && s.areas[a].next == 0 && s.takes(here, s.model.areas[a].boat, jobs)
}

func (s *schedule) takes(p, i int, jobs []*job) bool {
	for _, j := range jobs {
		if !j.may(s.places[p].Place) {
			return false
		}
	}
	return s.places[p].Fits(s.model.boats[i].Boat)
}

// stayOn lays a block out where the boat stands already.
func (s *schedule) stayOn(i, a int, jobs []*job, here int) *trial {
	st := s.boats[i]
	if here < 0 {
		return s.laid(i, a, jobs, here, s.model.boats[i].arrives, nil)
	}
	stays := append([]stay(nil), st.stays[:st.refuge]...)
	last := &stays[len(stays)-1]
	was := last.to
	last.to = s.grid.Slots
	t := s.laid(i, a, jobs, here, max(last.from+last.move, s.now), stays)
	if t.why.refused() {
		return t
	}
	if t.moved = false; t.anywhere() {
		t.stays, t.hold = st.stays[:st.refuge], was
		return t
	}
	until := max(was, t.hold)
	t.stays[len(t.stays)-1].to = until
	if lack := s.rooms[here].Lack(was, until, 1); lack != engine.None {
		t.why = refusal{cause: PlaceTaken, next: lack + 1, span: engine.Span{From: was, To: until}, crew: -1}
		return t
	}
	if !s.sheltered(i, t, a) {
		t.why = refusal{cause: PlaceTaken, next: never, note: "the boat would have nowhere to wait afterwards"}
	}
	return t
}

func (t *trial) anywhere() bool {
	for _, j := range t.layout.jobs {
		if !j.anywhere() {
			return false
		}
	}
	return true
}

// laid lays the stages out both ways, if a greatest wait breaks: its forerunner
// later, or a repair; and keeps what costs less.
func (s *schedule) laid(i, a int, jobs []*job, p int, entry engine.Slot, stays []stay) *trial {
	one := func(push bool) *trial {
		t := &trial{jobs: len(jobs), stays: append([]stay(nil), stays...)}
		t.layout = layout{s: s, boat: i, area: a, place: p, entry: entry, stays: t.stays, push: push, jobs: append([]*job(nil), jobs...)}
		if t.run() {
			t.finish()
		}
		return t
	}
	t := one(true)
	if t.lapsed {
		if other := one(false); !other.why.refused() && (t.why.refused() || other.score < t.score) {
			t = other
		}
	}
	if cured := s.curesEnd(i, &t.layout); !t.why.refused() && t.at[0].start < cured && entry < cured && cured < s.grid.Slots {
		return s.laid(i, a, jobs, p, cured, stays)
	}
	if !t.why.refused() && !s.agrees(i, &t.layout) {
		// A stage of another area would be spoilt: begin when the boat's work is over.
		for _, done := range s.boats[i].placed {
			entry = max(entry, done.end, done.protect)
		}
		if entry > t.entry {
			return s.laid(i, a, jobs, p, entry, stays)
		}
		t.why = refusal{cause: Dust, next: never, note: "another area of the boat would be spoilt"}
	}
	return t
}

// book takes the trial into the schedule.
func (s *schedule) book(i, a int, t *trial) {
	st, ar := s.boats[i], s.areas[a]
	leave := max(st.held, s.model.boats[i].arrives)
	if t.sent != nil {
		s.send(t.sent)
	}
	if t.anywhere() {
		s.rewait(i)
	} else {
		s.occupy(st.stays[:st.refuge], -1)
		st.stays, st.refuge, st.held = t.stays, len(t.stays), t.hold
		s.occupy(st.stays, 1)
	}
	for n, p := range t.at {
		p.entered, p.leave = n == 0 && t.moved, leave
		st.placed = append(st.placed, p)
		ar.done = append(ar.done, p)
		s.take(p, 1)
		ar.ended, ar.last = p.end, p.job.key
	}
	ar.next += t.jobs
	ar.film = t.films[len(t.films)-1]
	st.way = s.wayOf(i, st.stays, st.coats())
	if t.anywhere() {
		return
	}
	until := s.leaves(i, &trial{layout: layout{s: s, boat: i, films: []*film{ar.film}, stays: st.stays}}, a)
	s.shelter(i, until, until >= never || s.places[st.stays[len(st.stays)-1].place].Kind == config.Booth)
	s.curesOn(i)
}
