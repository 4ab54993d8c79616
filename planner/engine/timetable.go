package engine

import (
	"slices"
	"sort"
)

// Timetable is one resource over the grid: how many of it are there in each
// slot and how many are taken. What lies outside the grid is not there. It is kept
// as runs of slots that are alike, of which a plan has few: what is asked of it costs
// by the runs it spans and not by the slots.
type Timetable struct {
	slots Slot
	runs  []alike // in order; the first begins at 0, and no two neighbours are alike
}

// alike is slots that are alike, up to where the next run begins.
type alike struct {
	from            int32
	capacity, taken int16
}

func (r alike) free() int             { return int(r.capacity - r.taken) }
func (r alike) like(other alike) bool { return r.capacity == other.capacity && r.taken == other.taken }

// NewTimetable has n of the resource in every slot.
func NewTimetable(slots Slot, n int) *Timetable {
	return &Timetable{slots: slots, runs: []alike{{capacity: int16(n)}}}
}

func (t *Timetable) clip(from, to Slot) (Slot, Slot) {
	return max(from, 0), min(to, t.slots)
}

// find is the index of the run that a slot of the grid lies in.
func (t *Timetable) find(s Slot) int {
	low, high := 0, len(t.runs)
	for high-low > 1 {
		if mid := int(uint(low+high) / 2); Slot(t.runs[mid].from) <= s {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// end is where run i ends.
func (t *Timetable) end(i int) Slot {
	if i+1 < len(t.runs) {
		return Slot(t.runs[i+1].from)
	}
	return t.slots
}

// Clone is the same, to go on by itself.
func (t *Timetable) Clone() *Timetable {
	return &Timetable{slots: t.slots, runs: slices.Clone(t.runs)}
}

// Raise puts n more there over [from, to).
func (t *Timetable) Raise(from, to Slot, n int) {
	t.change(from, to, func(r *alike) { r.capacity += int16(n) })
}

// Take takes n over [from, to); a negative n gives them back.
func (t *Timetable) Take(from, to Slot, n int) {
	t.change(from, to, func(r *alike) { r.taken += int16(n) })
}

func (t *Timetable) change(from, to Slot, by func(*alike)) {
	if from, to = t.clip(from, to); from >= to {
		return
	}
	first := t.cut(from)
	last := t.cut(to)
	for i := first; i < last; i++ {
		by(&t.runs[i])
	}
	t.join(last)
	t.join(first)
}

// cut sees to it that a run begins at s, and is its index.
func (t *Timetable) cut(s Slot) int {
	i := sort.Search(len(t.runs), func(i int) bool { return Slot(t.runs[i].from) >= s })
	if s < t.slots && (i == len(t.runs) || Slot(t.runs[i].from) > s) {
		next := t.runs[i-1]
		next.from = int32(s)
		t.runs = slices.Insert(t.runs, i, next)
	}
	return i
}

// join makes one of run i and the one before it if they are alike.
func (t *Timetable) join(i int) {
	if i > 0 && i < len(t.runs) && t.runs[i].like(t.runs[i-1]) {
		t.runs = slices.Delete(t.runs, i, i+1)
	}
}

// Reset gives everything back.
func (t *Timetable) Reset() {
	for i := range t.runs {
		t.runs[i].taken = 0
	}
	t.runs = slices.CompactFunc(t.runs, alike.like)
}

// Lack is the last slot of [from, to) in which fewer than n are free, or None:
// whatever starts at or before it and lasts until to does not fit.
func (t *Timetable) Lack(from, to Slot, n int) Slot {
	if to > t.slots {
		return to - 1
	}
	return t.last(max(from, 0), to, func(r alike) bool { return r.free() < n })
}

// Taken is the last slot of [from, to) in which any is taken, or None.
func (t *Timetable) Taken(from, to Slot) Slot {
	from, to = t.clip(from, to)
	return t.last(from, to, func(r alike) bool { return r.taken > 0 })
}

// last is the last slot of a span of the grid in a run that is so.
func (t *Timetable) last(from, to Slot, is func(alike) bool) Slot {
	if from >= to {
		return None
	}
	for i := t.find(to - 1); ; i-- {
		if r := t.runs[i]; is(r) {
			return min(t.end(i), to) - 1
		} else if Slot(r.from) <= from {
			return None
		}
	}
}

// There reports whether the resource is there at all in a slot.
func (t *Timetable) There(s Slot) bool {
	return s >= 0 && s < t.slots && t.runs[t.find(s)].capacity > 0
}

// Free is how many are free in a slot.
func (t *Timetable) Free(s Slot) int {
	if s < 0 || s >= t.slots {
		return 0
	}
	return t.runs[t.find(s)].free()
}

// Closes is the end of the run of slots with capacity that holds s; s itself if none does.
func (t *Timetable) Closes(s Slot) Slot {
	if s < 0 || s >= t.slots {
		return s
	}
	for i := t.find(s); i < len(t.runs) && t.runs[i].capacity > 0; i++ {
		s = t.end(i)
	}
	return s
}

// Opens is the first slot from s on with capacity, or None.
func (t *Timetable) Opens(s Slot) Slot {
	if s >= t.slots {
		return None
	}
	s = max(s, 0)
	for i := t.find(s); i < len(t.runs); i++ {
		if t.runs[i].capacity > 0 {
			return max(s, Slot(t.runs[i].from))
		}
	}
	return None
}

// Fit is the first slot from s on, not after latest, from which n are free for
// length slots, at least one; None if there is none.
func (t *Timetable) Fit(s, latest, length Slot, n int) Slot {
	s = max(s, 0)
	latest = min(latest, t.slots-length)
	if s > latest {
		return None
	}
	for i := t.find(s); i < len(t.runs) && s <= latest; i++ {
		switch end := t.end(i); {
		case t.runs[i].free() < n:
			s = end
		case end-s >= length:
			return s
		}
	}
	return None
}
