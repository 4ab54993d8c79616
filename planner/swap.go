package planner

import "fairwindow/planner/engine"

// swapTries bounds how many times of a swap are tried. Our judgement.
const swapTries = 8

// swap has the two boats change places in one joint move: both leave at once, the one
// that waits is brought in first, while the other hangs aside in what moves it, then
// that one, by the same crew and with the same lifts.
func (s *schedule) swap(x *awaited) *trial {
	i, w := x.boat, x.waits
	st := s.boats[i]
	from := max(st.held, s.model.boats[i].arrives, s.now, x.leave)
	for range swapTries {
		if from >= x.before {
			return nil
		}
		stays, ok := s.bridge(i, from)
		r := standsIn(stays)
		if !ok {
			from++
			continue
		}
		if r < 0 || !s.holdsWaiting(x, r) {
			return nil
		}
		both := s.places[r].moves + s.places[x.place].moves
		lifts := s.tackle(r, x.place)
		at, mover := s.lift(max(from, s.inTime(x, both)), both, lifts)
		if at == engine.None || at >= x.before {
			return nil
		}
		if stays, ok = s.bridge(i, at); !ok || standsIn(stays) != r {
			from = at + 1
			continue
		}
		shut := max(s.places[x.place].open.Lack(at, at+both, 1), s.places[r].open.Lack(at, at+both, 1),
			s.rooms[x.place].Lack(at, at+both+1, 1), s.rooms[r].Lack(at, s.until(w, at+both), 1))
		if shut != engine.None {
			from = max(shut, at) + 1
			continue
		}
		in := stay{place: x.place, from: at, to: s.grid.Slots, move: both, aside: s.places[r].moves, mover: mover, lifts: lifts, swap: s.model.boats[w].Name}
		t := s.laid(i, x.area, x.jobs, x.place, at+both, append(stays, in))
		if t.why.refused() {
			return nil
		}
		t.moved = true
		t.stays[len(t.stays)-1].to = t.hold
		if lack := s.rooms[x.place].Lack(at, t.hold, 1); lack != engine.None {
			from = lack + 1
			continue
		}
		return s.exchanged(x, t, stay{place: r, from: at, to: s.grid.Slots, move: s.places[r].moves, mover: mover, lifts: lifts, swap: s.model.boats[i].Name})
	}
	return nil
}

// inTime is the latest start of a joint move that lets the block begin when it is ready;
// before a coat the hull must soak.
func (s *schedule) inTime(x *awaited, both engine.Slot) engine.Slot {
	need := s.ready(x.area) - both
	if x.jobs[0].coats() {
		need -= 4 * s.out.surface(x.place, idle, s.model.boats[x.boat].hull, x.jobs[0].part).lag
	}
	return need
}

// exchanged is the trial with the waiting boat in the place that this one leaves. The
// joint move is never taken back: only what it waits after that is.
func (s *schedule) exchanged(x *awaited, t *trial, other stay) *trial {
	st := s.boats[x.boat]
	s.occupy(st.stays[:st.refuge], -1)
	s.occupy(t.stays, 1)
	defer func() {
		s.occupy(t.stays, -1)
		s.occupy(st.stays[:st.refuge], 1)
	}()
	away := s.waitsElsewhere(x.waits, other)
	if away == nil {
		return nil
	}
	n := len(away.stays) - 1
	rest := stay{place: other.place, from: other.from + other.move, to: away.stays[n].to, mover: -1}
	away.stays[n].to = rest.from
	away.stays, away.refuge, away.held = append(away.stays, rest), n+1, max(away.held, rest.from)
	return s.withSent(x, t, away)
}
