package planner

import (
	"slices"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// sent is a boat that only waits in a place, and where it will wait instead, so that
// another boat may be brought in there.
type sent struct {
	boat   int
	stays  []stay // all of the boat's
	refuge int    // of them; a swap is never taken back
	held   engine.Slot
	launch engine.Slot
	costs  float64 // cost-minutes that it adds
}

// sendingAway lays a block out in places where a boat stands that only waits there,
// with that boat gone: to a standing, or in a swap to where this one comes from.
// Enters is when each place could be entered without; best is the best trial without. It
// must let the boat in a day sooner: less is not worth the moves, as of a wait between two
// blocks.
func (s *schedule) sendingAway(i, a int, jobs []*job, enters []engine.Slot, best *trial) []*trial {
	var all []*trial
	soonest, ready := never, s.ready(a)
	if best != nil {
		soonest = best.at[0].start
	}
	if soonest-dayLong <= ready {
		return nil
	}
	for w := range s.boats {
		p, leave := s.leavable(w)
		if w == i || p < 0 {
			continue
		}
		for _, try := range []func(*awaited) *trial{s.sendOut, s.swap} {
			before := min(enters[p], soonest) - dayLong
			if before <= max(ready, leave) {
				break
			}
			s.unwait(w)
			if t := try(&awaited{boat: i, area: a, jobs: jobs, place: p, waits: w, leave: leave, before: before}); t != nil {
				all, soonest = append(all, t), min(soonest, t.at[0].start)
			}
			s.rewait(w)
		}
	}
	return all
}

// awaited is a block of a boat for which another, that only waits in the place, would
// leave it.
type awaited struct {
	boat, area int
	jobs       []*job
	place      int
	waits      int
	leave      engine.Slot // the waiting boat may leave from here on
	before     engine.Slot // nothing is won by bringing the boat in later
}

// leavable is the place that a boat only waits in to the end, and the slot from which
// on it may leave it: it can be moved, and no work of it is planned after. The place is
// -1 if it waits nowhere.
func (s *schedule) leavable(w int) (int, engine.Slot) {
	st := s.boats[w]
	if len(st.stays) == st.refuge {
		return -1, never
	}
	last := &st.stays[len(st.stays)-1]
	if s.places[last.place].Kind == config.Standing {
		return -1, never
	}
	leave := max(st.held, s.now, last.from+last.move)
	for _, p := range st.placed {
		if p.running || p.coating || p.job.worked() {
			leave = max(leave, p.end, p.protect)
		}
	}
	for _, a := range s.model.boats[w].areas {
		if under := s.model.areas[a].underway; under != "" && s.areas[a].next == 0 {
			return -1, never // its work in the place goes on
		}
	}
	return last.place, leave
}

// sendOut sends the waiting boat to a standing, or to another place that is free for all
// of its waiting, as late as is in time.
func (s *schedule) sendOut(x *awaited) *trial {
	to, soonest := -1, never
	for _, standing := range []bool{true, false} {
		for q := range s.places {
			if (s.places[q].Kind == config.Standing) != standing || !s.holdsWaiting(x, q) {
				continue
			}
			if at := s.outTo(x, q, x.leave, x.before); at != engine.None && at+s.places[q].moves < soonest {
				to, soonest = q, at+s.places[q].moves
			}
		}
		if to >= 0 {
			break
		}
	}
	if to < 0 || soonest >= x.before {
		return nil
	}
	st := s.boats[x.boat]
	t := s.moveInFrom(x.boat, x.area, x.jobs, x.place, max(st.held, s.model.boats[x.boat].arrives, s.now, soonest), nil)
	if t == nil || t.why.refused() {
		return nil
	}
	s.occupy(st.stays[:st.refuge], -1)
	s.occupy(t.stays, 1)
	defer func() {
		s.occupy(t.stays, -1)
		s.occupy(st.stays[:st.refuge], 1)
	}()
	moves := s.places[to].moves
	at := s.latestOut(x, to, t.stays[len(t.stays)-1].from-moves)
	if at == engine.None {
		at = s.outTo(x, to, x.leave, soonest)
	}
	mover, ok := s.lifts(at, moves)
	if at == engine.None || !ok || at+moves > t.stays[len(t.stays)-1].from {
		return nil
	}
	out := stay{place: to, from: at, to: s.grid.Slots, move: moves, mover: mover, lifts: s.tackle(x.place, to)}
	return s.withSent(x, t, s.waitsElsewhere(x.waits, out))
}

// holdsWaiting reports whether the waiting boat fits a place that is not the one it waits in.
func (s *schedule) holdsWaiting(x *awaited, q int) bool {
	return q != x.place && s.places[q].Fits(s.model.boats[x.waits].Boat)
}

// outTo is the first slot of [from, before) at which the waiting boat can be moved to q,
// which has room for it from then on, or None.
func (s *schedule) outTo(x *awaited, q int, from, before engine.Slot) engine.Slot {
	moves, lifts := s.places[q].moves, s.tackle(x.place, q)
	for from < before {
		at, _ := s.lift(from, moves, lifts)
		if at == engine.None || at >= before {
			break
		}
		shut := max(s.rooms[q].Lack(at, s.until(x.waits, at+moves), 1), s.places[q].open.Lack(at, at+moves, 1))
		if shut == engine.None {
			return at
		}
		from = max(shut, at) + 1
	}
	return engine.None
}

// latestOut is the same for the last slot up to one, within a day of it.
func (s *schedule) latestOut(x *awaited, q int, to engine.Slot) engine.Slot {
	moves, lifts := s.places[q].moves, s.tackle(x.place, q)
	for at := to; at >= max(x.leave, to-dayLong); at-- {
		if _, ok := s.lifts(at, moves); ok && s.lack(lifts, at, at+moves) == engine.None && s.places[q].open.Lack(at, at+moves, 1) == engine.None &&
			s.rooms[q].Lack(at, s.until(x.waits, at+moves), 1) == engine.None {
			return at
		}
	}
	return engine.None
}

// until is when a boat's waiting ends as planned: its launch, or never within the plan.
func (s *schedule) until(w int, least engine.Slot) engine.Slot {
	if st := s.boats[w]; st.finished {
		return max(min(st.launch, s.grid.Slots), least)
	}
	return s.grid.Slots
}

// waitsElsewhere is a boat sent to wait in another stay, or nil where what is planned of
// it does not hold along its changed way. Its waiting stays are not booked while this is asked.
func (s *schedule) waitsElsewhere(w int, out stay) *sent {
	st := s.boats[w]
	x := &sent{boat: w, stays: slices.Clone(st.stays), refuge: st.refuge, held: st.held, launch: st.launch}
	last := len(x.stays) - 1
	if x.stays[last].to = out.from; x.stays[last].from >= out.from {
		x.stays = x.stays[:last]
	}
	x.stays = append(x.stays, out)
	end := &x.stays[len(x.stays)-1]
	way := s.wayOf(w, x.stays, st.coats())
	cured, ok := s.curesAlong(w, way)
	if !ok {
		return nil
	}
	x.costs = s.yard.Weights.Moving
	if st.finished && s.launches(w) {
		if x.launch = max(s.launchable(w, way, nil, st.held), cured); x.launch >= s.grid.Slots || x.launch <= out.from {
			return nil
		}
		end.to = max(x.launch, end.from+end.move)
		x.costs += s.launchCost(w, x.launch) - s.launchCost(w, st.launch) + s.holdingCost(x.stays) - s.holdingCost(st.stays)
	}
	if s.rooms[end.place].Lack(end.from, end.to, 1) != engine.None {
		return nil
	}
	return x
}

// curesAlong is when the last of the cures that a boat waits for without being worked at
// is over along another way; false if one of them would hold up what is planned already.
func (s *schedule) curesAlong(w int, way way) (engine.Slot, bool) {
	cured := engine.Slot(0)
	for _, p := range s.boats[w].placed {
		until := p.job.stage.Until
		if until == "" || p.running || p.place >= 0 || p.job.worked() {
			continue
		}
		end := max(p.start, s.out.opens(p.film, until, way))
		if cured = max(cured, end); end <= p.end {
			continue
		}
		ar := s.areas[p.job.area]
		if end >= s.grid.Slots || ar.done[len(ar.done)-1] != p {
			return never, false
		}
		for _, other := range s.model.boats[w].areas {
			if s.model.areas[other].after == p.job.area && len(s.areas[other].done) > 0 {
				return never, false
			}
		}
	}
	return cured, true
}

// withSent is a trial that sends a boat away, or nil if the two get in each other's way.
// What the trial stays in is booked while this is asked.
func (s *schedule) withSent(x *awaited, t *trial, away *sent) *trial {
	if away == nil {
		return nil
	}
	waits := away.stays[s.boats[x.waits].refuge:]
	s.occupy(waits, 1)
	ok := s.sheltered(x.boat, t, x.area)
	s.occupy(waits, -1)
	if !ok {
		return nil
	}
	t.sent, t.score = away, t.score+s.delay(away.costs)
	return t
}

// send books where a boat that was sent away waits now.
func (s *schedule) send(x *sent) {
	st := s.boats[x.boat]
	s.unwait(x.boat)
	s.occupy(x.stays[st.refuge:], 1)
	st.stays, st.refuge, st.held, st.launch = x.stays, x.refuge, x.held, x.launch
	st.way = s.wayOf(x.boat, st.stays, st.coats())
	s.curesOn(x.boat)
}
