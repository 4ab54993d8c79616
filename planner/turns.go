package planner

import (
	"cmp"
	"slices"

	"fairwindow/planner/engine"
)

// turn gives one area its next block, in the place that is wanted if it can be done
// there at all; -1 leaves the place to what ends soonest.
type turn struct{ area, place int }

// lay plans turn by turn, and then whatever no turn has named; before all, the
// blocks that are underway, so that no boat loses the place it is being worked at
// in. Asked to keep what people were told, no stage starts before they were told it
// would.
func (m *model) lay(turns []turn, asTold bool) *schedule {
	s := newSchedule(m, asTold)
	turns = s.underwayFirst(turns)
	left := make([]int, len(m.boats))
	for _, t := range turns {
		left[m.areas[t.area].boat]++
	}
	for _, t := range turns {
		i := m.areas[t.area].boat
		if s.free(t.area) {
			s.place(t.area, t.place)
		}
		if left[i]--; left[i] == 0 {
			s.finish(i)
		}
	}
	for i := range m.boats {
		s.finish(i)
	}
	return s
}

// underwayFirst lays the blocks that are underway, in their turn among each other,
// and returns the turns that are left.
func (s *schedule) underwayFirst(turns []turn) []turn {
	left := make([]turn, 0, len(turns))
	for n, t := range turns {
		first := !slices.ContainsFunc(turns[:n], func(u turn) bool { return u.area == t.area })
		if first && s.model.areas[t.area].underway != "" && s.free(t.area) {
			s.place(t.area, -1)
			continue
		}
		left = append(left, t)
	}
	return left
}

// byBoats plans one boat after the other.
func (m *model) byBoats(order []int, asTold bool) *schedule {
	var first []turn
	for _, i := range order {
		for _, a := range m.boats[i].areas {
			first = append(first, turn{a, -1})
		}
	}
	s := newSchedule(m, asTold)
	s.underwayFirst(first)
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
	type began struct {
		turn
		at engine.Slot
	}
	var all []began
	for a := range m.areas {
		last := engine.Slot(0)
		for _, jobs := range blocksOf(m.areas[a].jobs) {
			b := began{turn{a, -1}, m.grid.Slots}
			for _, j := range jobs {
				if told, ok := m.told[j.key]; ok {
					b.at, b.place = max(last, m.grid.Floor(told.Start)), m.placeNamed(told.Place)
					break
				}
			}
			last = b.at
			all = append(all, b)
		}
	}
	slices.SortStableFunc(all, func(a, b began) int { return cmp.Compare(a.at, b.at) })
	turns := make([]turn, len(all))
	for i, b := range all {
		turns[i] = b.turn
	}
	return m.lay(turns, true)
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
