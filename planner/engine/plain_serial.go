package engine

// serial puts tasks in the order given each to the first slot in which those it waits
// for are finished and its people are free, which is the serial generation of schedules
// (Kelley 1963). The first keep tasks of the order have their ends already. It gives up
// as soon as a task is so late that the end of all would be after limit, and says how
// many tasks it found a slot for. On return free and ends hold the schedule.
func (w *way) serial(order []int32, keep int, limit int32, guards uint64, free []uint64, ends []int32) (placed int, ok bool) {
	tasks, waits := w.tasks, w.waits
	for _, i := range order[:keep] {
		s := &tasks[i]
		room := free[ends[i]-s.long : ends[i]]
		for x := range room {
			room[x] -= s.use
		}
	}
	for x, i := range order[keep:] {
		s := &tasks[i]
		end := int32(0)
		for _, q := range waits[s.from:s.to] {
			end = max(end, ends[q])
		}
		use, long := s.use, s.long
		for run := long; run > 0; end++ {
			if (free[end]-use)&guards == guards {
				run--
			} else {
				run = long
			}
		}
		if end+s.after > limit {
			return x + 1, false
		}
		room := free[end-long : end]
		for x := range room {
			room[x] -= use
		}
		ends[i] = end
	}
	return len(order) - keep, true
}
