package engine

import "math/bits"

// plain is a problem in which tasks want nothing but people and each other's finish,
// and only the last finish counts: resource-constrained project scheduling. Tasks are
// numbered so that each comes after those it waits for; name maps back. What is free
// in a slot is one word: a lane for each crew, and above it a guard bit that a
// subtraction clears if the crew has too few.
type plain struct {
	name   []int32
	long   []int32
	ways   [2]way // forward in time, and backward from the end
	full   uint64 // all crews, all guards set
	guards uint64
	slots  int32 // what all tasks take one after the other
	weight int64
	bound  int32
}

// way is the tasks as seen in one direction of time.
type way struct {
	back  bool // from the end; numbers go down
	tasks []step
	waits []int32 // for whose finish in this direction, task after task
	tail  []int32 // the longest chain from a task's start to the end of all
}

// step is what placing a task needs, close together.
type step struct {
	use      uint64
	long     int32
	after    int32 // the longest chain from its end on
	from, to int32 // in waits
}

// plainOf is p as a plain problem, or nil if it is more than that, cannot be done at
// all, may not fit into the horizon, has more crews than one word has lanes for, or is
// so long that its slots would take more than some megabytes.
func plainOf(p *Problem) *plain {
	if p.Weights.Makespan <= 0 || len(p.Blocks) > 0 || len(p.Tasks) == 0 {
		return nil
	}
	var total Slot
	for i := range p.Tasks {
		if !p.Tasks[i].plain() {
			return nil
		}
		total += p.Tasks[i].Modes[0].Long
	}
	if total > p.Slots || total > 1<<20 {
		return nil
	}
	for i := range p.Lags {
		if !p.Lags[i].plain() {
			return nil
		}
	}
	k := &plain{slots: int32(total), weight: p.Weights.Makespan}
	uses := k.pack(p)
	if uses == nil || !k.sort(p) {
		return nil
	}
	k.link(p, uses)
	k.bound = k.least(p)
	return k
}

// plain reports whether the task is people for a time and nothing else.
func (t *Task) plain() bool {
	if t.Owner >= 0 || t.Release > 0 || len(t.Modes) != 1 || t.Pauses || t.Fixed || t.Due != nil || t.Told != nil {
		return false
	}
	m := &t.Modes[0]
	return m.Place < 0 && m.Long >= 0 && len(m.Sides) == 0 &&
		m.Starts < 0 && m.Works < 0 && m.Soak < 0 && m.Keeps < 0 && m.Cost < 0
}

// plain reports whether the lag is one task after the other and nothing else.
func (l *Lag) plain() bool {
	return l.Least == 0 && len(l.Opens) == 0 && len(l.Ripe) == 0 && l.Need <= 0 && !l.Bounded
}

// pack lays the crews out in lanes and gives what each task uses as a word; nil if
// the lanes do not suffice, a crew comes and goes, or a task wants more than there are.
func (k *plain) pack(p *Problem) []uint64 {
	want := make([]int, len(p.Crews)) // by all tasks together
	for i := range p.Tasks {
		for _, u := range p.Tasks[i].Modes[0].Uses {
			want[u.Crew] += max(u.N, 0)
		}
	}
	shift, lane := 0, make([]int, len(p.Crews))
	for c := range p.Crews {
		n, ok := p.Crews[c].constant(p.Slots)
		if !ok {
			return nil
		}
		n = min(n, want[c])
		width := bits.Len(uint(n))
		if shift+width+1 > 64 {
			return nil
		}
		lane[c] = shift
		k.full |= uint64(n)<<shift | 1<<(shift+width)
		k.guards |= 1 << (shift + width)
		shift += width + 1
	}
	uses := make([]uint64, len(p.Tasks))
	for i := range p.Tasks {
		need := make([]int, len(p.Crews))
		for _, u := range p.Tasks[i].Modes[0].Uses {
			need[u.Crew] += max(u.N, 0)
		}
		for c, n := range need {
			if there, _ := p.Crews[c].constant(p.Slots); n > there {
				return nil
			}
			uses[i] |= uint64(n) << lane[c]
		}
	}
	return uses
}

// constant is how many of a crew are there, if they are as many in every slot.
func (c *Crew) constant(slots Slot) (int, bool) {
	n, begun := 0, false
	for i, l := range c.Hours {
		switch {
		case l.From >= slots || i+1 < len(c.Hours) && c.Hours[i+1].From <= 0:
		case !begun:
			n, begun = l.N, true
			if l.From > 0 && l.N != 0 {
				return 0, false
			}
		case l.N != n:
			return 0, false
		}
	}
	return max(n, 0), true
}

// sort numbers the tasks so that each comes after those it waits for; false if they
// wait in a circle.
func (k *plain) sort(p *Problem) bool {
	n := len(p.Tasks)
	waits, then := make([]int, n), make([][]int32, n)
	for _, l := range p.Lags {
		waits[l.After]++
		then[l.Before] = append(then[l.Before], int32(l.After))
	}
	k.name = make([]int32, 0, n)
	for i, w := range waits {
		if w == 0 {
			k.name = append(k.name, int32(i))
		}
	}
	for i := 0; i < len(k.name); i++ {
		for _, j := range then[k.name[i]] {
			if waits[j]--; waits[j] == 0 {
				k.name = append(k.name, j)
			}
		}
	}
	return len(k.name) == n
}

// link writes down both directions.
func (k *plain) link(p *Problem, uses []uint64) {
	n := len(k.name)
	number := make([]int32, n)
	for i, name := range k.name {
		number[name] = int32(i)
	}
	var lists [2][][]int32
	lists[0], lists[1] = make([][]int32, n), make([][]int32, n)
	for _, l := range p.Lags {
		a, b := number[l.Before], number[l.After]
		lists[0][b] = append(lists[0][b], a)
		lists[1][a] = append(lists[1][a], b)
	}
	k.long = make([]int32, n)
	for i, name := range k.name {
		k.long[i] = int32(p.Tasks[name].Modes[0].Long)
	}
	for d := range k.ways {
		w := &k.ways[d]
		w.back = d == 1
		w.tasks, w.tail = make([]step, n), make([]int32, n)
		for i, name := range k.name {
			from := int32(len(w.waits))
			w.waits = append(w.waits, lists[d][i]...)
			w.tasks[i] = step{use: uses[name], long: k.long[i], from: from, to: int32(len(w.waits))}
		}
		for j := range n {
			i := j
			if d == 0 {
				i = n - 1 - j
			}
			w.tasks[i].after = w.tail[i]
			w.tail[i] += k.long[i]
			for _, q := range w.waits[w.tasks[i].from:w.tasks[i].to] {
				w.tail[q] = max(w.tail[q], w.tail[i])
			}
		}
	}
}
