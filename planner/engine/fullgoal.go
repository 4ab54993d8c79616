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
	for i := range p.Tasks {
		o.shortest[i] = p.Slots
		for m := range p.Tasks[i].Modes {
			o.shortest[i] = min(o.shortest[i], p.Tasks[i].Modes[m].Long)
		}
		for _, l := range o.ins[i] {
			o.quick[i] = o.quick[i] || p.Lags[l].Bounded && p.Lags[l].Repair != nil && p.Lags[l].Repair.Long == 0
		}
	}
	w := o.newWays(p)
	for d := range p.Tasks {
		if due := p.Tasks[d].Due; due != nil && due.Weight > 0 {
			w.leadTo(d)
		}
	}
	for r := n - 1; r >= 0; r-- {
		i := w.order[r]
		o.tail[i] = max(0, w.far(i, o.tail))
		if c := p.Weights.Makespan; c > 0 {
			o.dues[i] = append(o.dues[i], goal{-o.tail[i], c})
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

// ways is what leads from task to task: lags, and the order of blocks.
type ways struct {
	o           *outline
	p           *Problem
	rank, order []int
	next, prev  [][]int // by block
	ends        []Span  // in the empty yard
	dist        []Slot  // to the goal that is looked at
	leads       []int   // what leads to it
}

func (o *outline) newWays(p *Problem) *ways {
	n := len(p.Tasks)
	w := &ways{o: o, p: p, rank: taskOrder(p), order: make([]int, n), next: make([][]int, n), prev: make([][]int, n), dist: make([]Slot, n)}
	for i, r := range w.rank {
		w.order[r] = i
		w.dist[i] = None
	}
	for b := range p.Blocks {
		t := p.Blocks[b].Tasks
		for k := 1; k < len(t); k++ {
			w.next[t[k-1]] = append(w.next[t[k-1]], t[k])
			w.prev[t[k]] = append(w.prev[t[k]], t[k-1])
		}
	}
	w.ends = emptyYard(p, o).soonest()
	return w
}

// far is the least from a task's finish to the finish of a goal, by how far what
// waits for it is from there; None if it does not lead there.
func (w *ways) far(i int, dist []Slot) Slot {
	best := None
	for _, l := range w.o.outs[i] {
		if j := w.p.Lags[l].After; dist[j] != None {
			best = max(best, w.p.Lags[l].Least+w.o.shortest[j]+dist[j])
		}
	}
	for _, j := range w.next[i] {
		if dist[j] != None {
			best = max(best, w.o.shortest[j]+dist[j])
		}
	}
	return best
}

// leadTo gives all that leads to a due date its goal.
func (w *ways) leadTo(d int) {
	due := w.p.Tasks[d].Due
	w.leads, w.dist[d] = append(w.leads[:0], d), 0
	found := func(i int) {
		if w.dist[i] == None {
			w.dist[i] = 0
			w.leads = append(w.leads, i)
		}
	}
	for k := 0; k < len(w.leads); k++ {
		for _, l := range w.o.ins[w.leads[k]] {
			found(w.p.Lags[l].Before)
		}
		for _, i := range w.prev[w.leads[k]] {
			found(i)
		}
	}
	slices.SortFunc(w.leads, func(a, b int) int { return cmp.Compare(w.rank[b], w.rank[a]) })
	for _, i := range w.leads[1:] {
		w.dist[i] = w.far(i, w.dist)
		// Nights and shut tables count as they lie in the empty yard.
		w.o.dues[i] = append(w.o.dues[i], goal{due.At - max(w.dist[i], w.ends[d].To-w.ends[i].To), due.Weight})
	}
	for _, i := range w.leads {
		w.dist[i] = None
	}
}
