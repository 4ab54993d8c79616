package planner

import (
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// finish works out when the boat may leave, and what the block counts when
// places are compared: its end, its moves, its repairs, and the booth held.
func (t *trial) finish() {
	s, w := t.s, t.way()
	t.hold = t.at[len(t.at)-1].end
	if f := t.films[len(t.films)-1]; f != nil {
		t.hold = max(t.hold, s.out.opens(f, "movable", w))
	}
	for _, p := range t.at {
		t.hold = max(t.hold, p.protect)
	}
	t.hold = max(min(t.hold, s.grid.Slots), s.boats[t.boat].held)
	t.score = float64(t.hold) // never under a stage's end: lay leaves off by that
	if told := s.told[t.layout.jobs[0].key]; told.Place != "" && told.Place != s.placeName(t.place) {
		t.score += otherPlace / step.Minutes() // people were told another place
	}
	var costs float64
	for _, p := range t.at {
		costs += s.repairCost(p)
	}
	first := s.boats[t.boat].refuge // what was booked before counts no more
	for n, x := range t.stays[max(first-1, 0):] {
		from := x.from
		if n == 0 && first > 0 {
			from = s.boats[t.boat].stays[first-1].to
		} else if x.move > 0 {
			costs += s.yard.Weights.Moving
		}
		if s.places[x.place].Kind == config.Booth {
			costs += s.yard.Weights.Holding * float64(min(x.to, t.hold)-from) * step.Minutes()
		}
	}
	t.score += s.delay(costs)
}

// delay is the slots by which a launch would be late for what costs as much.
func (s *schedule) delay(costs float64) float64 {
	return costs / step.Minutes() / max(s.yard.Weights.Lateness, 0.1)
}

// sheltered reports whether the boat has somewhere to be after the block until
// its next, or its launch. Nothing is booked.
func (s *schedule) sheltered(i int, t *trial, a int) bool {
	if t.hold >= s.grid.Slots {
		return true
	}
	last := t.stays[len(t.stays)-1]
	if _, ok := s.refuge(&last, i, never, true); ok {
		return true
	}
	until := s.leaves(i, t, a)
	if until >= never {
		return false
	}
	_, ok := s.refuge(&last, i, until, true)
	return ok
}

// leaves is when the boat is launched if this block is its last, else never.
func (s *schedule) leaves(i int, t *trial, a int) engine.Slot {
	for _, other := range s.model.boats[i].areas {
		left := len(s.model.areas[other].jobs) - s.areas[other].next
		if other == a {
			left -= t.jobs
		}
		if left > 0 {
			return never
		}
	}
	films := map[int]*film{a: t.films[len(t.films)-1]}
	return s.launchable(i, t.way(), films, t.hold)
}

// launchable is when every coat is fit for water.
func (s *schedule) launchable(i int, w way, films map[int]*film, from engine.Slot) engine.Slot {
	at := max(from, s.movable(i, w, films))
	for _, a := range s.model.boats[i].areas {
		f := s.areas[a].film
		if other, ok := films[a]; ok {
			f = other
		}
		if f != nil && f.card.instead("launch") != "" {
			at = max(at, s.out.opens(f, "launch", w))
		}
	}
	return at
}
