package engine

// stockRun is how many slots share one least value: long enough to skip a night
// in a few steps, short enough to be looked through at once. Our judgement.
const stockRun = 64

// stock is how many of a thing are free in each slot: people of a crew, room in a
// place, a side of an air. What lies after the grid is not there.
type stock struct {
	free []int16 // without what its run has as a whole
	more []int16 // what each run of stockRun slots has as a whole
	low  []int16 // the least of each run, all told
}

func newStock(slots Slot, n int) stock {
	runs := (slots + stockRun - 1) / stockRun
	s := stock{free: make([]int16, slots), more: make([]int16, runs), low: make([]int16, runs)}
	s.take(0, slots, -n)
	return s
}

// at is how many are free in a slot of the grid.
func (s *stock) at(t Slot) int { return int(s.free[t] + s.more[t/stockRun]) }

// take takes n over [from, to); a negative n gives them back.
func (s *stock) take(from, to Slot, n int) {
	from, to = max(from, 0), min(to, Slot(len(s.free)))
	d := int16(n)
	for at := from; at < to; {
		run := at / stockRun
		start, end := run*stockRun, min((run+1)*stockRun, Slot(len(s.free)))
		if at == start && end <= to {
			s.more[run] -= d
			s.low[run] -= d
			at = end
			continue
		}
		stop := min(end, to)
		part := s.free[at:stop]
		least := part[0]
		for i, v := range part {
			least = min(least, v)
			part[i] = v - d
		}
		if least += s.more[run]; n > 0 {
			s.low[run] = min(s.low[run], least-d)
		} else if least == s.low[run] {
			s.low[run] = lowest(s.free[start:end]) + s.more[run]
		}
		at = stop
	}
}

func lowest(free []int16) int16 {
	low := free[0]
	for _, v := range free {
		low = min(low, v)
	}
	return low
}

// lack is the last slot of [from, to) in which fewer than n are free, or None.
func (s *stock) lack(from, to Slot, n int) Slot {
	if to > Slot(len(s.free)) {
		return to - 1
	}
	from = max(from, 0)
	need := int16(n)
	for at := to - 1; at >= from; {
		run := at / stockRun
		start := max(run*stockRun, from)
		if s.low[run] >= need {
			at = start - 1
			continue
		}
		here := need - s.more[run]
		for ; at >= start; at-- {
			if s.free[at] < here {
				return at
			}
		}
	}
	return None
}

// first is the first slot of [from, to) in which fewer than n are free, or to.
func (s *stock) first(from, to Slot, n int) Slot {
	to = min(to, Slot(len(s.free)))
	need := int16(n)
	for at := max(from, 0); at < to; {
		run := at / stockRun
		end := min((run+1)*stockRun, to)
		if s.low[run] >= need {
			at = end
			continue
		}
		here := need - s.more[run]
		for ; at < end; at++ {
			if s.free[at] < here {
				return at
			}
		}
	}
	return to
}

func (s *stock) copyFrom(o *stock) {
	copy(s.free, o.free)
	copy(s.more, o.more)
	copy(s.low, o.low)
}
