package engine

// The schedules of a herd cool together and learn from each other: one step in mates
// takes over what another has in a window of time (parallel recombinative simulated
// annealing: Mahfoud & Goldberg 1995; the starts as keys and the window after Debels &
// Vanhoucke 2007, "A decomposition-based genetic algorithm for the resource-constrained
// project-scheduling problem"; both from memory). There is one for each apiece tasks
// beyond alone, and one more for each worth schedules of the effort, the fewer of both:
// at least one and at most crowd. All are our judgement, measured on the published sets.
const (
	mates  = 5
	crowd  = 8
	alone  = 20
	apiece = 12
	worth  = 6_000
)

// herd is how many schedules walk together with a budget, which is for so many tasks.
func (k *plain) herd(budget int64) int {
	n := int64(len(k.name))
	return int(max(1, min(crowd, (n-alone)/apiece, 1+budget/(worth*n))))
}

// gather makes a herd, all of which are as the schedule is now.
func (w *walk) gather(herd int) {
	w.herd = make([]layout, herd)
	for i := range w.herd {
		w.herd[i].ends = make([]int32, len(w.keys))
		w.herd[i].take(&w.now)
	}
}

// pass passes the turn on.
func (w *walk) pass() {
	w.now, w.herd[w.at] = w.herd[w.at], w.now
	w.at = (w.at + 1) % len(w.herd)
	w.now, w.herd[w.at] = w.herd[w.at], w.now
}

// change sets the keys to a new order, of which the first keep tasks are as they are now.
func (w *walk) change() (way, keep int) {
	if len(w.herd) > 1 && w.dice.below(mates) == 0 {
		return w.mate()
	}
	return w.alter()
}

// mate sets the keys to the order of the schedule, with the tasks that begin in a window
// of another schedule of the herd where that has them. The first keep are as they are.
func (w *walk) mate() (way, keep int) {
	other := &w.herd[(w.at+1+int(w.dice.below(int32(len(w.herd)-1))))%len(w.herd)]
	way, own := w.face()
	span := w.now.span
	wide := 1 + w.dice.below(1+span/2)
	from := max(0, w.dice.below(span+wide)-wide)
	low := int32(1 << 30)
	for i, key := range w.keys {
		there := other.span - other.ends[i]
		if other.way == way {
			there = other.ends[i] - w.k.long[i]
		}
		if there >= from && there < from+wide && there != key {
			low = min(low, key, there)
			w.keys[i] = there
		}
	}
	w.k.ways[way].settle(w.keys)
	if own {
		for i, end := range w.now.ends {
			if end-w.k.long[i] < low {
				keep++
			}
		}
	}
	return way, keep
}
