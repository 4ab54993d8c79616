package engine

import (
	"cmp"
	"slices"
)

// findGoals works out, for each task and each due date that waits for it, when it
// must be done to leave the shortest way to that date open. Makespan is a date of
// slot nought.
func (o *outline) findGoals(p *Problem) {
	n := len(p.Tasks)
	o.dues, o.shortest, o.tail, o.quick = make([][]goal, n), make([]Slot, n), make([]Slot, n), make([]bool, n)
	order := make([]int, n)
	rank := taskOrder(p)
	for i, r := range rank {
		if r < n {
			order[r] = i
		}
		o.shortest[i] = p.Slots
		for m := range p.Tasks[i].Modes {
			o.shortest[i] = min(o.shortest[i], p.Tasks[i].Modes[m].Long)
		}
		for _, l := range o.ins[i] {
			o.quick[i] = o.quick[i] || p.Lags[l].Bounded && p.Lags[l].Repair != nil && p.Lags[l].Repair.Long == 0
		}
	}
	after := make([][]int, n) // block order
	for b := range p.Blocks {
		t := p.Blocks[b].Tasks
		for k := 1; k < len(t); k++ {
			after[t[k-1]] = append(after[t[k-1]], t[k])
		}
	}
	// far is the least from a task's finish to the finish of the goal; None if it does not lead there.
	far := func(i int, goalOf func(j int) Slot) Slot {
		best := None
		for _, l := range o.outs[i] {
			if j := p.Lags[l].After; goalOf(j) != None {
				best = max(best, p.Lags[l].Least+o.shortest[j]+goalOf(j))
			}
		}
		for _, j := range after[i] {
			if goalOf(j) != None {
				best = max(best, o.shortest[j]+goalOf(j))
			}
		}
		return best
	}
	f := newFull(p, o)
	for w := range p.Owners {
		f.leaveRoom(w)
	}
	ends := f.soonest()
	preds := make([][]int, n)
	for i := range p.Tasks {
		for _, l := range o.outs[i] {
			preds[p.Lags[l].After] = append(preds[p.Lags[l].After], i)
		}
		for _, j := range after[i] {
			preds[j] = append(preds[j], i)
		}
	}
	var leads []int // to one date
	dist := make([]Slot, n)
	for i := range dist {
		dist[i] = None
	}
	for d := range p.Tasks {
		due := p.Tasks[d].Due
		if due == nil || due.Weight == 0 {
			continue
		}
		leads = append(leads[:0], d)
		dist[d] = 0
		for k := 0; k < len(leads); k++ {
			for _, i := range preds[leads[k]] {
				if dist[i] == None {
					dist[i] = 0
					leads = append(leads, i)
				}
			}
		}
		slices.SortFunc(leads, func(a, b int) int { return cmp.Compare(rank[b], rank[a]) })
		for _, i := range leads[1:] {
			dist[i] = far(i, func(j int) Slot { return dist[j] })
			// Nights and shut tables count as they lie in the empty yard.
			o.dues[i] = append(o.dues[i], goal{due.At - max(dist[i], ends[d].To-ends[i].To), due.Weight})
		}
		for _, i := range leads {
			dist[i] = None
		}
	}
	for r := n - 1; r >= 0; r-- {
		i := order[r]
		o.tail[i] = max(0, far(i, func(j int) Slot { return o.tail[j] }))
		if w := p.Weights.Makespan; w > 0 {
			o.dues[i] = append(o.dues[i], goal{-o.tail[i], w})
		}
	}
	for u := range o.pieces {
		pc := &o.pieces[u]
		pc.goals = o.dues[pc.tasks[len(pc.tasks)-1]]
		pc.rest = make([]Slot, len(pc.tasks))
		for k := len(pc.tasks) - 2; k >= 0 && !pc.merged; k-- {
			pc.rest[k] = pc.rest[k+1] + o.shortest[pc.tasks[k+1]]
		}
	}
}
