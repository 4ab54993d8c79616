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

// waits are after how large a part of the turns that are left a boat that can't keep to
// what people were told takes its own: at once, so that others must give way, or after
// all of them.
var waits = [...]float64{0, 0.2, 1}

// asTold is the cheapest schedule that takes the turns of the plan that people were
// told, or, where they are not known, the blocks in the order in which people were told
// they would begin; after them those that nobody was told of. It is true if all can be
// as people were told.
func (m *model) asTold() (*schedule, bool) {
	turns := m.toldTurns()
	if len(m.p.Turns) == 0 {
		turns = m.inTurn(func(jobs []*job) (engine.Slot, int) {
			for _, j := range jobs {
				if told, ok := m.told[j.key]; ok {
					return m.grid.Floor(told.Start), m.placeNamed(told.Place)
				}
			}
			return m.grid.Slots, -1
		})
	}
	turns = m.ordered(turns)
	var best *schedule
	for _, wait := range waits {
		s := newSchedule(m, true)
		kept := s.keepTold(turns, wait)
		if best == nil || s.weighs() < best.weighs() {
			best = s
		}
		if kept {
			return s, true
		}
	}
	return best, false
}

// keepTold takes the turns of the boats that can be worked at as people were told, and
// those of each other boat once it has waited for a part of the turns that were left. It
// reports whether there was no other.
func (s *schedule) keepTold(turns []turn, wait float64) bool {
	type late struct {
		due   int
		turns []turn
		taken bool
	}
	lates := make([]*late, len(s.boats))
	kept := true
	for n := 0; n <= len(turns); n++ {
		for _, l := range lates {
			if l == nil || l.taken || l.due > n && n < len(turns) {
				continue
			}
			for _, t := range l.turns {
				if s.free(t.area) {
					s.place(t.area, -1)
				}
			}
			l.taken = true
		}
		if n == len(turns) {
			break
		}
		t := turns[n]
		switch l := lates[s.model.areas[t.area].boat]; {
		case l == nil && !s.placeAsTold(t):
			kept = false
			s.loose[s.model.areas[t.area].boat] = true
			lates[s.model.areas[t.area].boat] = &late{due: n + 1 + int(wait*float64(len(turns)-n)), turns: []turn{t}}
		case l != nil && !l.taken:
			l.turns = append(l.turns, t)
		case l != nil && s.free(t.area):
			s.place(t.area, -1)
		}
	}
	s.takeTurns(nil, 0)
	return kept
}

// placeAsTold lays a block just as people were told; false, and nothing laid, if that
// is not possible or nobody was told.
func (s *schedule) placeAsTold(t turn) bool {
	if !s.free(t.area) {
		return false
	}
	i, jobs := s.model.areas[t.area].boat, s.block(t.area)
	s.goFirst(t.area)
	s.unwait(i)
	best, _ := s.bestTrial(i, t.area, t.place, jobs)
	if best == nil || !s.asPeopleWereTold(best) {
		s.rewait(i)
		return false
	}
	s.turns = append(s.turns, turn{t.area, best.place})
	s.book(i, t.area, best)
	return true
}

// nearTold is how much later a stage may begin and yet count as begun when people were
// told: less than to the next shift, so that what follows finds its own people. Our
// judgement.
const nearTold = 4 * perHour

func (s *schedule) asPeopleWereTold(t *trial) bool {
	for _, p := range t.at {
		told, ok := s.told[p.job.key]
		if !p.running && ok && p.start > s.grid.Ceil(told.Start)+nearTold {
			return false
		}
	}
	return true
}

// toldTurns are the turns of the told plan for what is left to do: an area's first
// blocks may be done since, and what was put in since comes last.
func (m *model) toldTurns() []turn {
	index := map[[2]string]int{}
	left := make([]int, len(m.areas))
	for a := range m.areas {
		index[[2]string{m.boats[m.areas[a].boat].Name, m.areas[a].Name}] = a
		left[a] = len(blocksOf(m.areas[a].jobs))
	}
	var turns []turn
	for _, t := range slices.Backward(m.p.Turns) {
		if a, ok := index[[2]string{t.Boat, t.Area}]; ok && left[a] > 0 {
			left[a]--
			turns = append(turns, turn{a, m.placeNamed(t.Place)})
		}
	}
	slices.Reverse(turns)
	for a, n := range left {
		for range n {
			turns = append(turns, turn{a, -1})
		}
	}
	return turns
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
