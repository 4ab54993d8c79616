package engine

// A walk cools once over its effort if that is at most once schedules. A longer or
// endless one cools over first schedules, then from the best over twice as many, and so
// on, so that it need not know when it will be stopped. All are our judgement, measured
// on the published sets.
const (
	once  = 200_000
	first = 40_000
)

// heat sets the walk to cool over its effort, which is for so many tasks.
func (w *walk) heat(budget int64) {
	n := int64(len(w.order))
	w.hot, w.cold = 0, budget
	if budget > once*n {
		w.cold = first * n
	}
}

// reheat begins the next cooling if the last one is over.
func (w *walk) reheat() {
	if w.placed >= w.cold {
		w.hot, w.cold = w.cold, w.cold+2*(w.cold-w.hot)
		w.now.take(&w.best)
	}
}

// grace is by how many slots the next schedule may be longer than this one: simulated
// annealing (Kirkpatrick, Gelatt & Vecchi 1983) with whole slots. One more is granted
// with a chance that falls from 6 in 10 with the third power of what is left.
func (w *walk) grace() int32 {
	left := uint64(max(0, w.cold-w.placed) << 16 / max(1, w.cold-w.hot))
	chance := left * left >> 16 * left >> 16 * 6 / 10
	slots := int32(0)
	for slots < 1000 && w.dice.roll()>>48 < chance {
		slots++
	}
	return slots
}
