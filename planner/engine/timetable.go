package engine

// Timetable is one resource over the grid: how many of it are there in each
// slot and how many are taken. What lies outside the grid is not there.
type Timetable struct {
	capacity, taken []int16
	closes          []Slot // per slot: the end of the run of slots with capacity that it stands in
	opens           []Slot // per slot: the first slot from it on with capacity
	stale           bool
}

// NewTimetable has n of the resource in every slot.
func NewTimetable(slots Slot, n int) *Timetable {
	t := &Timetable{capacity: make([]int16, slots), taken: make([]int16, slots), stale: true}
	if n != 0 {
		t.Raise(0, slots, n)
	}
	return t
}

func (t *Timetable) clip(from, to Slot) (Slot, Slot) {
	return max(from, 0), min(to, Slot(len(t.capacity)))
}

// Raise puts n more there over [from, to).
func (t *Timetable) Raise(from, to Slot, n int) {
	from, to = t.clip(from, to)
	for s := from; s < to; s++ {
		t.capacity[s] += int16(n)
	}
	t.stale = true
}

// Take takes n over [from, to); a negative n gives them back.
func (t *Timetable) Take(from, to Slot, n int) {
	from, to = t.clip(from, to)
	for s := from; s < to; s++ {
		t.taken[s] += int16(n)
	}
}

// Reset gives everything back.
func (t *Timetable) Reset() { clear(t.taken) }

// Lack is the last slot of [from, to) in which fewer than n are free, or None:
// whatever starts at or before it and lasts until to does not fit.
func (t *Timetable) Lack(from, to Slot, n int) Slot {
	if to > Slot(len(t.capacity)) {
		return to - 1
	}
	for s := to - 1; s >= max(from, 0); s-- {
		if int(t.capacity[s]-t.taken[s]) < n {
			return s
		}
	}
	return None
}

// Taken is the last slot of [from, to) in which any is taken, or None.
func (t *Timetable) Taken(from, to Slot) Slot {
	from, to = t.clip(from, to)
	for s := to - 1; s >= from; s-- {
		if t.taken[s] > 0 {
			return s
		}
	}
	return None
}

// There reports whether the resource is there at all in a slot.
func (t *Timetable) There(s Slot) bool {
	return s >= 0 && s < Slot(len(t.capacity)) && t.capacity[s] > 0
}

// Free is how many are free in a slot.
func (t *Timetable) Free(s Slot) int {
	if s < 0 || s >= Slot(len(t.capacity)) {
		return 0
	}
	return int(t.capacity[s] - t.taken[s])
}

// Closes is the end of the run of slots with capacity that holds s; s itself if none does.
func (t *Timetable) Closes(s Slot) Slot {
	if !t.There(s) {
		return s
	}
	t.index()
	return t.closes[s]
}

// Opens is the first slot from s on with capacity, or None.
func (t *Timetable) Opens(s Slot) Slot {
	if s >= Slot(len(t.capacity)) {
		return None
	}
	t.index()
	return t.opens[max(s, 0)]
}

// index works out the runs; it is done again only after Raise.
func (t *Timetable) index() {
	if !t.stale {
		return
	}
	n := Slot(len(t.capacity))
	t.closes, t.opens = make([]Slot, n), make([]Slot, n)
	end, open := n, None
	for s := n - 1; s >= 0; s-- {
		if t.capacity[s] > 0 {
			open = s
		} else {
			end = s
		}
		t.closes[s], t.opens[s] = end, open
	}
	t.stale = false
}

// Fit is the first slot from s on, not after latest, from which n are free for
// length slots; None if there is none.
func (t *Timetable) Fit(s, latest, length Slot, n int) Slot {
	for s = max(s, 0); s <= latest && s+length <= Slot(len(t.capacity)); {
		lack := t.Lack(s, s+length, n)
		if lack == None {
			return s
		}
		s = lack + 1
	}
	return None
}
