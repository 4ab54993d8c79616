package planner

import (
	"cmp"
	"slices"
	"time"

	"fairwindow/planner/engine"
)

// turn gives one area its next block, in the place that is wanted if it can be done
// there at all; -1 leaves the place to what ends soonest.
type turn struct{ area, place int }

// lay plans turn by turn, and then whatever no turn has named. Asked to keep what
// people were told, no stage starts before they were told it would.
func (m *model) lay(turns []turn, asTold bool) *schedule {
	s := newSchedule(m, asTold)
	s.takeTurns(m.ordered(turns), 0)
	return s
}

// ordered puts first what people would not let wait: the blocks that are underway, so
// that no boat loses the place it is being worked at in, then those up to a pinned
// stage, by their pins; the others keep their order.
func (m *model) ordered(turns []turn) []turn {
	pinned := func(a int) time.Time {
		var first time.Time
		for _, j := range m.areas[a].jobs {
			if pin := j.at.Pinned; !pin.IsZero() && (first.IsZero() || pin.Before(first)) {
				first = pin
			}
		}
		return first
	}
	rank := make([]int, len(turns))
	seen := make([]int, len(m.areas))
	for n, t := range turns {
		switch {
		case seen[t.area] == 0 && m.areas[t.area].underway != "":
			rank[n] = 0
		case seen[t.area] < m.areas[t.area].pinned:
			rank[n] = 1
		default:
			rank[n] = 2
		}
		seen[t.area]++
	}
	at := make([]int, len(turns))
	for n := range at {
		at[n] = n
	}
	slices.SortStableFunc(at, func(a, b int) int {
		c := cmp.Compare(rank[a], rank[b])
		if c == 0 && rank[a] == 1 {
			c = pinned(turns[a].area).Compare(pinned(turns[b].area))
		}
		return c
	})
	all := make([]turn, len(turns))
	for n, i := range at {
		if all[n] = turns[i]; rank[i] == 0 {
			all[n].place = -1
		}
	}
	return all
}

// takeTurns takes the turns from one on; those before it were taken.
func (s *schedule) takeTurns(turns []turn, from int) {
	left := make([]int, len(s.boats))
	for _, t := range turns[from:] {
		left[s.model.areas[t.area].boat]++
	}
	every := max(len(turns)/marks, 1)
	for n, t := range turns[from:] {
		if n += from; n > from && n%every == 0 && s.marked {
			s.marks = append(s.marks, mark{n, s.copy()})
		}
		i := s.model.areas[t.area].boat
		if s.free(t.area) {
			s.place(t.area, t.place)
		}
		if left[i]--; left[i] == 0 {
			s.finish(i)
		}
	}
	s.wants = turns
	for i := range s.boats {
		s.finish(i)
	}
}

// byBoats plans one boat after the other, its areas as they become ready.
func (m *model) byBoats(order []int) *schedule {
	var first []turn
	for _, i := range order {
		for _, a := range m.boats[i].areas {
			for range max(m.areas[a].pinned, min(len(m.areas[a].underway), 1)) {
				first = append(first, turn{a, -1})
			}
		}
	}
	s := newSchedule(m, false)
	for _, t := range m.ordered(first) {
		if s.free(t.area) {
			s.place(t.area, -1)
		}
	}
	for _, i := range order {
		s.finish(i)
	}
	return s
}

// finish plans what is left of a boat, and its leaving.
func (s *schedule) finish(i int) {
	if s.boats[i].finished {
		return
	}
	for a := s.nextArea(i); a >= 0; a = s.nextArea(i) {
		s.place(a, -1)
	}
	s.strand(i)
	s.depart(i)
	s.boats[i].finished = true
}

// asTold takes the blocks in the order in which people were told they would begin,
// where they were told; after them those that nobody was told of.
func (m *model) asTold() *schedule {
	return m.lay(m.inTurn(func(jobs []*job) (engine.Slot, int) {
		for _, j := range jobs {
			if told, ok := m.told[j.key]; ok {
				return m.grid.Floor(told.Start), m.placeNamed(told.Place)
			}
		}
		return m.grid.Slots, -1
	}), true)
}

// inTurn are the turns of all blocks by when each begins, and where.
func (m *model) inTurn(begins func([]*job) (at engine.Slot, place int)) []turn {
	type began struct {
		turn
		at engine.Slot
	}
	var all []began
	for a := range m.areas {
		last := engine.Slot(0)
		for _, jobs := range blocksOf(m.areas[a].jobs) {
			at, place := begins(jobs)
			last = max(last, at)
			all = append(all, began{turn{a, place}, last})
		}
	}
	slices.SortStableFunc(all, func(a, b began) int { return cmp.Compare(a.at, b.at) })
	turns := make([]turn, len(all))
	for i, b := range all {
		turns[i] = b.turn
	}
	return turns
}

// blocksOf cuts an area's stages into blocks.
func blocksOf(jobs []*job) [][]*job {
	var all [][]*job
	for len(jobs) > 0 {
		n := 1
		for n < len(jobs) && jobs[n].stage.Block != "" && jobs[n].stage.Block == jobs[0].stage.Block {
			n++
		}
		all, jobs = append(all, jobs[:n]), jobs[n:]
	}
	return all
}
