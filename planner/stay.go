package planner

import (
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// dayLong is a gap between two blocks that is not worth two moves: a boat waits
// where it stands rather than go to a standing for less. Common practice, no source.
const dayLong = engine.Slot(24 * time.Hour / step)

// lift is the first slot from t on at which a boat can be brought in for length
// slots with the given lifts, and by whom: any crew with the skill "move", or nobody
// if the yard has none.
func (s *schedule) lift(t, length engine.Slot, lifts []use) (engine.Slot, int) {
	for {
		at, who := s.fetched(t, length)
		if at == engine.None || length == 0 {
			return at, who
		}
		lack := s.lack(lifts, at, at+length)
		if lack == engine.None {
			return at, who
		}
		if t = lack + 1; t+length > s.grid.Slots {
			return engine.None, -1
		}
	}
}

// fetched is the same for the crew alone.
func (s *schedule) fetched(t, length engine.Slot) (engine.Slot, int) {
	if len(s.movers) == 0 || length == 0 {
		return max(t, s.now), -1
	}
	best, who := engine.None, -1
	for _, c := range s.movers {
		if at := s.hours[c].Fit(max(t, s.now), s.grid.Slots, length, 1); at != engine.None && (best == engine.None || at < best) {
			best, who = at, c
		}
	}
	return best, who
}

// lifts reports whether a boat can be brought in from t on, and by whom.
func (s *schedule) lifts(t, length engine.Slot) (who int, ok bool) {
	if len(s.movers) == 0 || length == 0 {
		return -1, t >= s.now
	}
	for _, c := range s.movers {
		if s.hours[c].Lack(t, t+length, 1) == engine.None {
			return c, t >= s.now
		}
	}
	return -1, false
}

// shelter gives a boat somewhere to be from the end of its last block until a
// slot, and books it; false if there is nowhere.
func (s *schedule) shelter(i int, until engine.Slot, leave bool) bool {
	st := s.boats[i]
	more, ok := s.refuge(&st.stays[len(st.stays)-1], i, until, leave)
	if len(more) > 0 {
		s.occupy(more, 1)
		st.stays = append(st.stays[:len(st.stays):len(st.stays)], more...)
		st.way = s.wayOf(i, st.stays, st.coats())
	}
	return ok
}

// refuge is where a boat may be after a stay, until a slot: where it stands, or a
// standing. Leave prefers the standing.
func (s *schedule) refuge(last *stay, i int, until engine.Slot, leave bool) ([]stay, bool) {
	until = min(until, s.grid.Slots)
	if last.to >= until {
		return nil, true
	}
	if leave {
		if more := s.goOut(last, i, until); more != nil {
			return more, true
		}
	}
	if more := s.remain(last, i, until); more != nil {
		return more, true
	}
	more := s.goOut(last, i, until)
	return more, more != nil
}

// remain waits where the boat stands.
func (s *schedule) remain(last *stay, _ int, until engine.Slot) []stay {
	if s.rooms[last.place].Lack(last.to, until, 1) != engine.None {
		return nil
	}
	return []stay{{place: last.place, from: last.to, to: until, mover: -1}}
}

// goOut waits on the standing that can be reached first.
func (s *schedule) goOut(last *stay, i int, until engine.Slot) []stay {
	if s.places[last.place].Kind == config.Standing {
		return nil
	}
	var best []stay
	for q := range s.places {
		to := &s.places[q]
		if to.Kind != config.Standing || !to.Fits(s.model.boats[i].Boat) {
			continue
		}
		lifts := s.tackle(last.place, q)
		at, mover := s.lift(last.to, to.moves, lifts)
		if at == engine.None || at+to.moves >= until || s.rooms[q].Lack(at, until, 1) != engine.None {
			continue
		}
		if s.rooms[last.place].Lack(last.to, at, 1) != engine.None || len(best) > 0 && best[len(best)-1].from <= at {
			continue
		}
		best = nil
		if at > last.to {
			best = append(best, stay{place: last.place, from: last.to, to: at, mover: -1})
		}
		best = append(best, stay{place: q, from: at, to: until, move: to.moves, mover: mover, lifts: lifts})
	}
	return best
}

// bridge is the boat's stays up to slot at, when it is fetched for its next
// block; false if it would still be on its way to a standing then. The boat's
// waiting stays are not booked while this is asked.
func (s *schedule) bridge(i int, at engine.Slot) ([]stay, bool) {
	st := s.boats[i]
	stays := slices.Clone(st.stays[:st.refuge])
	waits := st.stays[st.refuge:]
	if n := len(stays); n > 0 {
		last := &stays[n-1]
		near := at-last.to <= dayLong || s.places[last.place].Kind != config.Booth
		if near && s.rooms[last.place].Lack(last.to, at, 1) == engine.None {
			last.to = max(last.to, at)
			return stays, true
		}
	}
	for _, w := range waits {
		if w.from >= at {
			break
		}
		if w.from+w.move > at {
			return nil, false
		}
		w.to = min(w.to, at)
		stays = append(stays, w)
	}
	return stays, len(stays) == 0 || stays[len(stays)-1].to >= at || len(st.stays) == 0
}

// unwait gives the boat's waiting stays back; rewait books them again.
func (s *schedule) unwait(i int) { s.occupy(s.boats[i].stays[s.boats[i].refuge:], -1) }
func (s *schedule) rewait(i int) { s.occupy(s.boats[i].stays[s.boats[i].refuge:], 1) }
