package engine

import (
	"context"
	"sync"
)

// round is how many schedules a worker makes before the search may be stopped: about a
// millisecond of the largest published problems.
const round = 200

// search looks for the shortest schedule. Each worker takes its share of the schedules
// and walks by its own dice; the first of the best is taken.
func (k *plain) search(ctx context.Context, e Effort) Result {
	r := Result{Version: Version, Effort: e}
	n := int64(len(k.name))
	walks := make([]*walk, max(e.Workers, 1))
	budget := k.budget(e, len(walks))
	for i := range walks {
		walks[i] = newWalk(k, k.herd(budget), e.Seed+uint64(i)<<32)
		walks[i].heat(budget)
	}
	best := k.best(walks)
	for more := true; more && best.span > k.bound && ctx.Err() == nil; r.Rounds++ {
		var all sync.WaitGroup
		for _, w := range walks {
			until := min(budget, (int64(r.Rounds)+1)*round*n)
			all.Go(func() { w.run(until) })
		}
		all.Wait()
		best = k.best(walks)
		more = (int64(r.Rounds)+1)*round*n < budget
	}
	var placed int64
	for _, w := range walks {
		placed += w.placed
	}
	r.Schedules = int((placed + n - 1) / n)
	r.Objective, r.Bound = k.weight*int64(best.span), k.weight*int64(k.bound)
	r.Terms = []Term{{"makespan", r.Objective}}
	r.Starts = make([]Start, n)
	for i, end := range best.ends {
		s := end - k.long[i]
		if best.way == 1 {
			s = best.span - end
		}
		r.Starts[k.name[i]] = Start{0, Slot(s), Slot(s + k.long[i]), nil, false}
	}
	return r
}

// budget is for how many tasks each worker may look for a slot.
func (k *plain) budget(e Effort, workers int) int64 {
	n := int64(len(k.name))
	b := min(int64(e.Rounds), 1<<40/n) * round * n
	if s := int64(e.Schedules) / int64(workers) * n; e.Schedules > 0 && (e.Rounds <= 0 || s < b) {
		b = s
	}
	return b
}

// best is the shortest schedule, of those the first.
func (k *plain) best(walks []*walk) *layout {
	best := &walks[0].best
	for _, w := range walks[1:] {
		if w.best.span < best.span {
			best = &w.best
		}
	}
	return best
}

// run steps until so many tasks have been looked at, which it does not exceed, or
// nothing better is possible.
func (w *walk) run(until int64) {
	for n := int64(len(w.order)); w.placed+2*n <= until && w.best.span > w.k.bound; {
		w.reheat()
		w.step()
	}
}
