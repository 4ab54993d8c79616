package engine

import (
	"cmp"
	"slices"
)

// lagCrews is how many of each crew are surely taken in each slot: a task surely goes on
// between its latest start and its earliest finish.
type lagCrews struct {
	taken    [][]int32 // by crew and slot
	from, to []int32   // by task: what of it has been entered
	queue    []int32   // tasks whose bounds have changed
	queued   []bool
	at       []lagPart // becauseCrew's own
}

// lagPart is a task that surely goes on in a slot.
type lagPart struct {
	task, n int32
}

func (c *lagCrews) touch(v int32) {
	if !c.queued[v] {
		c.queued[v] = true
		c.queue = append(c.queue, v)
	}
}

func (c *lagCrews) next() (int32, bool) {
	if len(c.queue) == 0 {
		return 0, false
	}
	v := c.queue[len(c.queue)-1]
	c.queue, c.queued[v] = c.queue[:len(c.queue)-1], false
	return v, true
}

func (c *lagCrews) forget() {
	for _, v := range c.queue {
		c.queued[v] = false
	}
	c.queue = c.queue[:0]
}

// staff gives the solver its tasks' lengths and crews.
func (s *lagSolver) staff(k *lagged, tasks []int, slots int32) {
	c := &s.crews
	s.users = make([][]Use, len(k.room))
	for i, t := range tasks {
		s.long, s.uses = append(s.long, int32(k.long[t])), append(s.uses, k.uses[t])
		for _, u := range k.uses[t] {
			s.users[u.Crew] = append(s.users[u.Crew], Use{Crew: i, N: u.N})
		}
	}
	for r, n := range k.room {
		s.room = append(s.room, int32(n))
		c.taken = append(c.taken, make([]int32, slots))
		slices.SortStableFunc(s.users[r], func(a, b Use) int { return cmp.Compare(b.N, a.N) })
	}
	c.from, c.to, c.queued = make([]int32, len(tasks)), make([]int32, len(tasks)), make([]bool, len(tasks))
	for i := range tasks {
		c.touch(int32(i))
	}
}

// sure is when a task surely goes on; from is not before to if it never does.
func (s *lagSolver) sure(v int32) (from, to int32) {
	return -s.bound[2*v+1], s.bound[2*v] + s.long[v]
}

// enter counts n more of a task's crews as taken, or fewer.
func (s *lagSolver) enter(v, from, to, sign int32) {
	for _, u := range s.uses[v] {
		taken := s.crews.taken[u.Crew]
		for t := from; t < to; t++ {
			taken[t] += sign * int32(u.N)
		}
	}
}

// shrink gives back what a task does not surely take any more.
func (s *lagSolver) shrink(v int32) {
	c := &s.crews
	if c.from[v] >= c.to[v] {
		return
	}
	a, b := s.sure(v)
	if a >= b {
		s.enter(v, c.from[v], c.to[v], -1)
		c.from[v], c.to[v] = 0, 0
		return
	}
	s.enter(v, c.from[v], a, -1)
	s.enter(v, b, c.to[v], -1)
	c.from[v], c.to[v] = a, b
}

// followCrews enters what a task surely takes now, and moves it and others off the slots
// where there is no room for them.
func (s *lagSolver) followCrews(v int32) bool {
	c := &s.crews
	a, b := s.sure(v)
	if a < b && len(s.uses[v]) > 0 {
		was, wasTo := c.from[v], c.to[v]
		if was >= wasTo {
			was, wasTo = b, b
		}
		s.enter(v, a, was, 1)
		s.enter(v, wasTo, b, 1)
		c.from[v], c.to[v] = a, b
		if !s.followSlots(v, a, was) || !s.followSlots(v, wasTo, b) {
			return false
		}
	}
	for _, u := range s.uses[v] {
		if !s.moveOff(v, int32(u.Crew), int32(u.N)) {
			return false
		}
	}
	return true
}

// followSlots looks at the slots in which a task has been entered.
func (s *lagSolver) followSlots(v, from, to int32) bool {
	if from >= to {
		return true
	}
	c := &s.crews
	for _, u := range s.uses[v] {
		r, room := int32(u.Crew), s.room[u.Crew]
		most := int32(0)
		for t := from; t < to; t++ {
			n := c.taken[r][t]
			if n > room {
				s.clash = s.becauseFull(s.clash[:0], r, t, room, -1, int32(len(s.steps)))
				return false
			}
			most = max(most, n)
		}
		for _, w := range s.users[r] {
			if most+int32(w.N) <= room {
				break
			}
			k := int32(w.Crew)
			lo, hi := s.bound[2*k], -s.bound[2*k+1]
			if k == v || lo == hi {
				continue
			}
			l := s.long[k]
			if lo < to && lo+l > from || hi < to && hi+l > from {
				if !s.moveOff(k, r, int32(w.N)) {
					return false
				}
			}
		}
	}
	return true
}

// moveOff moves the earliest and the latest start of a task off the last and the first
// slot where there is no room for it. What is entered of itself is left out.
func (s *lagSolver) moveOff(v, r, n int32) bool {
	c := &s.crews
	taken, room, l := c.taken[r], s.room[r]-n, s.long[v]
	from, to := c.from[v], c.to[v]
	if from >= to {
		from, to = int32(len(taken)), 0
	}
	lo, hi := s.bound[2*v], -s.bound[2*v+1]
	if lo == hi {
		return true
	}
	for t := min(lo+l, from) - 1; t >= lo; t-- {
		if taken[t] > room {
			if !s.raise(lagClaim{2 * v, t + 1}, lagWhy{lagByCrew, r, t}) {
				return false
			}
			break
		}
	}
	for t := max(hi, to); t < hi+l; t++ {
		if taken[t] > room {
			return s.raise(lagClaim{2*v + 1, l - t}, lagWhy{lagByCrew, r, t})
		}
	}
	return true
}

// becauseCrew says why a task cannot go on in a slot.
func (s *lagSolver) becauseCrew(to []lagClaim, c lagClaim, why lagWhy, pos int32) []lagClaim {
	v, t := c.side>>1, why.b
	if c.side&1 == 0 {
		to = append(to, lagClaim{c.side, t - s.long[v] + 1})
	} else {
		to = append(to, lagClaim{c.side, -t})
	}
	n := int32(0)
	for _, u := range s.uses[v] {
		if int32(u.Crew) == why.a {
			n = int32(u.N)
		}
	}
	return s.becauseFull(to, why.a, t, s.room[why.a]-n, v, pos)
}

// becauseFull says why more than room of crew r are taken in slot t by others than v:
// those that were known from the beginning first, then the fewest.
func (s *lagSolver) becauseFull(to []lagClaim, r, t, room, v, pos int32) []lagClaim {
	parts := s.crews.at[:0]
	sum := int32(0)
	for _, w := range s.users[r] {
		k := int32(w.Crew)
		first, last := lagClaim{2 * k, t - s.long[k] + 1}, lagClaim{2*k + 1, -t}
		if k == v || !s.holds(first) || !s.holds(last) {
			continue
		}
		if s.stepOf(first, pos) == lagLate || s.stepOf(last, pos) == lagLate {
			continue
		}
		known := s.stepOf(first, pos) < 0 && s.stepOf(last, pos) < 0
		if known {
			sum += int32(w.N)
		} else {
			parts = append(parts, lagPart{k, int32(w.N)})
		}
	}
	s.crews.at = parts
	for _, p := range parts {
		if sum > room {
			break
		}
		sum += p.n
		to = append(to, lagClaim{2 * p.task, t - s.long[p.task] + 1}, lagClaim{2*p.task + 1, -t})
	}
	return to
}
