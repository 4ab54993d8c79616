package engine

// settle raises the keys of tasks to those of the tasks they wait for, so that an
// order by key, where equal keys stand by number, never puts a task before one of them.
func (w *way) settle(keys []int32) {
	for x := range keys {
		i := x
		if w.back {
			i = len(keys) - 1 - x
		}
		s, key := &w.tasks[i], keys[i]
		for _, q := range w.waits[s.from:s.to] {
			key = max(key, keys[q])
		}
		keys[i] = key
	}
}

// line fills order with the tasks by key, counting how many have each. Equal keys stand
// by number in this direction. The keys must be within len(count)-1 of each other.
func (w *way) line(keys, count, order []int32) {
	low, high := keys[0], keys[0]
	for _, key := range keys {
		low, high = min(low, key), max(high, key)
	}
	count = count[:high-low+1]
	clear(count)
	for _, key := range keys {
		count[key-low]++
	}
	at := int32(0)
	for key, n := range count {
		count[key], at = at, at+n
	}
	for x := range keys {
		i := x
		if w.back {
			i = len(keys) - 1 - x
		}
		c := &count[keys[i]-low]
		order[*c] = int32(i)
		*c++
	}
}
