package engine

// stockRun is how many slots share one least value: long enough to skip a night
// in a few steps, short enough to be looked through at once. Our judgement.
const stockRun = 64

// stock is how many of a thing are free in each slot: people of a crew, room in a
// place, a side of an air. What lies after the grid is not there.
type stock struct {
	free []int16
	low  []int16 // the least of each run of stockRun slots
}

func newStock(slots Slot, n int) stock {
	s := stock{free: make([]int16, slots), low: make([]int16, (slots+stockRun-1)/stockRun)}
	s.take(0, slots, -n)
	return s
}

// take takes n over [from, to); a negative n gives them back.
func (s *stock) take(from, to Slot, n int) {
	from, to = max(from, 0), min(to, Slot(len(s.free)))
	if from >= to || n == 0 {
		return
	}
	d := int16(n)
	for at := from; at < to; {
		run := at / stockRun
		start, end := run*stockRun, min((run+1)*stockRun, Slot(len(s.free)))
		stop := min(end, to)
		for i := at; i < stop; i++ {
			s.free[i] -= d
		}
		if at == start && stop == end {
			s.low[run] -= d
		} else {
			low := s.free[start]
			for _, v := range s.free[start+1 : end] {
				low = min(low, v)
			}
			s.low[run] = low
		}
		at = stop
	}
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
		for ; at >= start; at-- {
			if s.free[at] < need {
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
		for ; at < end; at++ {
			if s.free[at] < need {
				return at
			}
		}
	}
	return to
}

func (s *stock) copyFrom(o *stock) { copy(s.free, o.free); copy(s.low, o.low) }
