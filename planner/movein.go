package planner

import "fairwindow/planner/engine"

// moveIn lays a block out in a place the boat is brought to, as soon as the
// place is free for as long as the block needs it.
//
// A place that is just like one that was tried, and free no sooner, is not, nor one that
// is free when the block would have ended elsewhere: nil.
func (s *schedule) moveIn(i, a int, jobs []*job, p int, tried map[int]engine.Slot) *trial {
	return s.moveInFrom(i, a, jobs, p, max(s.boats[i].held, s.model.boats[i].arrives, s.now), tried)
}

// moveInFrom is the same from a slot on.
func (s *schedule) moveInFrom(i, a int, jobs []*job, p int, from engine.Slot, tried map[int]engine.Slot) *trial {
	moves := s.places[p].moves
	var last *trial
	for from < s.grid.Slots {
		at, mover, next := s.enter(i, p, from, jobs[0], a)
		if at == engine.None {
			break
		}
		if at >= entered(tried, s.places[p].like) || float64(at+moves) >= s.beat {
			return nil
		}
		stays, ok := s.bridge(i, at)
		if !ok {
			from = at + 1
			continue
		}
		stays = append(stays, stay{place: p, from: at, to: s.grid.Slots, move: moves, mover: mover, lifts: s.tackle(standsIn(stays), p)})
		t := s.laid(i, a, jobs, p, at+moves, stays)
		t.moved, last = true, t
		if t.why.refused() {
			if next > at && t.why.cause == PlaceTaken {
				from = next
				continue
			}
			return t
		}
		t.stays[len(t.stays)-1].to = t.hold
		if lack := s.rooms[p].Lack(at, t.hold, 1); lack != engine.None {
			t.why = refusal{cause: PlaceTaken, next: lack + 1, span: engine.Span{From: at, To: t.hold}, crew: -1}
			from = lack + 1
			continue
		}
		if s.sheltered(i, t, a) {
			return t
		}
		t.why = refusal{cause: PlaceTaken, next: never, note: "the boat would have nowhere to wait afterwards"}
		lack := s.rooms[p].Lack(t.hold, s.grid.Slots, 1)
		if lack == engine.None {
			return t
		}
		from = lack + 1
	}
	if last == nil {
		last = &trial{layout: layout{s: s, boat: i, area: a, place: p, jobs: jobs, why: s.unmoved(i, p, from)}}
	}
	if !last.why.refused() {
		last.why = refusal{cause: PlaceTaken, next: never}
	}
	return last
}

// unmoved is why a boat is never brought into a place from a slot on: the lift, if
// it is never free when a crew is, else the place.
func (s *schedule) unmoved(i, p int, from engine.Slot) refusal {
	moves, lifts := s.places[p].moves, s.tackleAt(i, p, from)
	if at, _ := s.fetched(from, moves); at != engine.None && len(lifts) > 0 {
		if free, _ := s.lift(from, moves, lifts); free == engine.None {
			r := s.lacking(lifts, at, at+moves, LiftMove)
			r.next = never
			return r
		}
	}
	return refusal{cause: PlaceTaken, next: never, span: engine.Span{From: from, To: s.grid.Slots}, crew: -1}
}

// tackleAt is what fetches a boat into a place at a slot, from where it is then.
func (s *schedule) tackleAt(i, p int, at engine.Slot) []use {
	if !s.lifted {
		return nil
	}
	stays, _ := s.bridge(i, at)
	return s.tackle(standsIn(stays), p)
}

// standsIn is the place of the last stay, or -1.
func standsIn(stays []stay) int {
	if n := len(stays); n > 0 {
		return stays[n-1].place
	}
	return -1
}

// soakTries bounds how many moves are tried for one that lets the first stage begin
// as soon as the soonest move would. Our judgement.
const soakTries = 12

func entered(tried map[int]engine.Slot, like int) engine.Slot {
	if at, ok := tried[like]; ok {
		return at
	}
	return never
}

// enter is when a boat is fetched for its next block: not before from, with the
// place free and a crew to move it, and, unless the hull must soak for a coat
// that comes first, no earlier than its first stage needs.
func (s *schedule) enter(i, p int, from engine.Slot, first *job, a int) (at engine.Slot, mover int, next engine.Slot) {
	moves := s.places[p].moves
	shut := func(t engine.Slot) engine.Slot {
		return max(s.rooms[p].Lack(t, t+moves+1, 1), s.places[p].open.Lack(t, t+moves, 1), s.lack(s.tackleAt(i, p, t), t, t+moves))
	}
	free := func(t engine.Slot) (engine.Slot, int) {
		for t < s.grid.Slots {
			at, mover := s.lift(t, moves, nil)
			if at == engine.None {
				return engine.None, -1
			}
			until := shut(at)
			if until == engine.None {
				return at, mover
			}
			t = max(until, at) + 1
		}
		return engine.None, -1
	}
	at, mover = free(from)
	if at == engine.None {
		return at, mover, never
	}
	need := s.ready(a)
	starts := func(at, from engine.Slot) engine.Slot {
		probe := &site{boat: i, area: a, place: p, way: s.out.then(s.boats[i].way, at, p, idle), film: s.areas[a].film, entry: at + moves}
		if start, _ := s.earliest(probe, first, max(from, at+moves)); start != nil {
			return start.start
		}
		return from
	}
	if first.coats() {
		need -= 4 * s.out.surface(p, idle, s.model.boats[i].hull, first.part).lag
	} else {
		need = starts(at, need)
	}
	if told := s.told[first.key]; s.asTold && !told.Brought.IsZero() {
		if t := s.grid.Ceil(told.Brought); t >= at && shut(t) == engine.None && starts(t, need) <= max(need, s.grid.Ceil(told.Start)) {
			if who, ok := s.lifts(t, moves); ok {
				return t, who, at + 1
			}
		}
	}
	// The latest move that is in time keeps the place free for others; but a hull that
	// comes later is less at rest, and may have to wait for it.
	for back, tries := need-moves, 0; back > at && tries < soakTries; back-- {
		if who, ok := s.lifts(back, moves); ok && shut(back) == engine.None {
			if tries++; first.coats() || starts(back, need) <= need {
				return back, who, at + 1
			}
		}
		if need-moves-back > dayLong {
			break
		}
	}
	return at, mover, at + 1
}
