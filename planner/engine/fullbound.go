package engine

// bound is what no schedule costs less than: each task as early as its own tables,
// the hours of its crews and what it waits for allow in an empty yard, each owner
// held no longer than its work takes, the repairs that nothing avoids. What has no
// start costs Unplaced instead, and counts as done at the horizon.
func (o *outline) bound(p *Problem) int64 {
	f := emptyYard(p, o)
	ends := f.soonest()
	var sum int64
	var last Slot
	for i := range p.Tasks {
		last = max(last, ends[i].To)
		if due := p.Tasks[i].Due; due != nil {
			sum += due.Weight * int64(max(0, f.readyFrom(due, ends[i].To)-due.At))
		}
		if told := p.Tasks[i].Told; told != nil {
			sum += told.Weight * int64(max(0, ends[i].From-told.Start))
		}
	}
	sum += p.Weights.Makespan * int64(last)
	for u := range o.pieces {
		if o.pieces[u].owner < 0 {
			sum += o.least(f, u, ends, 0)
		}
	}
	for w := range p.Owners {
		sum += o.ofOwnerLeast(f, w, ends)
	}
	return sum
}

// emptyYard is a schedule of nothing, with no room kept for anybody.
func emptyYard(p *Problem, o *outline) *full {
	f := newFull(p, o)
	for w := range p.Owners {
		f.leaveRoom(w)
	}
	return f
}

// soonest is the earliest start and finish of each task in an empty yard; the grid's
// end where there is none.
func (f *full) soonest() []Span {
	n := len(f.p.Tasks)
	ends := make([]Span, n)
	rank, order := taskOrder(f.p), make([]int, n)
	for i, r := range rank {
		order[r] = i
	}
	before := make([]int, n)
	for i := range before {
		before[i] = -1
	}
	for b := range f.p.Blocks {
		for k, i := range f.p.Blocks[b].Tasks {
			if k > 0 {
				before[i] = f.p.Blocks[b].Tasks[k-1]
			}
		}
	}
	for _, i := range order {
		t := &f.p.Tasks[i]
		lo := t.Release
		if t.Owner >= 0 {
			lo = max(lo, f.broughtIn(i))
		}
		if b := before[i]; b >= 0 {
			lo = max(lo, ends[b].To)
		}
		for _, l := range f.plan.ins[i] {
			lo = max(lo, f.opensFrom(&f.p.Lags[l], ends[f.p.Lags[l].Before].To))
		}
		ends[i] = Span{f.slots, f.slots}
		for m := range t.Modes {
			s := f.alone(i, m, lo)
			ends[i] = Span{min(ends[i].From, s.From), min(ends[i].To, s.To)}
		}
	}
	return ends
}

// broughtIn is the first slot at which a task's owner can be where it is done.
func (f *full) broughtIn(i int) Slot {
	w, pc := &f.p.Owners[f.p.Tasks[i].Owner], &f.plan.pieces[f.plan.of[i]]
	if pc.free {
		return w.Arrives
	}
	at := f.slots
	for _, q := range pc.places {
		if q == w.Place {
			at = min(at, w.Arrives)
		} else {
			at = min(at, max(w.Arrives, w.Held)+f.p.Places[q].Move)
		}
	}
	return at
}

// opensFrom is the first start that a lag allows after a finish, or a later one.
func (f *full) opensFrom(lag *Lag, finish Slot) Slot {
	at := finish + lag.Least
	if len(lag.Opens) == 0 {
		return at
	}
	first := f.slots
	for _, t := range lag.Opens {
		if t < 0 || !f.plan.rising[t] {
			return at
		}
		first = min(first, f.look(t, finish))
	}
	return max(at, first)
}

func (f *full) readyFrom(due *Due, finish Slot) Slot {
	if due.Ready < 0 {
		return finish
	}
	ready := f.slots
	for s := finish; s < f.slots; s++ {
		ready = min(ready, f.look(due.Ready, s))
	}
	return ready
}

// alone is a task in a mode from lo on, if there were nothing else; the earliest of
// the places in which it may be.
func (f *full) alone(i, m int, lo Slot) Span {
	t, pc := &f.p.Tasks[i], &f.plan.pieces[f.plan.of[i]]
	mode := &t.Modes[m]
	first := Span{f.slots, f.slots}
	at := func(q int) {
		k := seek{task: i, place: q}
		f.draft.try.mode = m
		for s := lo; s < f.slots; {
			next := s
			if mode.Starts >= 0 {
				next = f.look(mode.Starts, s)
			}
			f.draft.try.parts = f.draft.try.parts[:0]
			if next == s {
				next = f.extent(&k, t, mode, s)
			}
			if next == s {
				first = Span{min(first.From, s), min(first.To, f.draft.try.finish)}
				return
			}
			if s = next; t.Fixed && s > t.Release {
				return
			}
		}
	}
	if pc.free {
		at(-1)
	}
	for _, q := range pc.places {
		if mode.Place < 0 || mode.Place == q {
			at(q)
		}
	}
	return first
}

// least is what a piece costs at least, by its starts and repairs and what it is
// held for, or if it has no start.
func (o *outline) least(f *full, u int, ends []Span, held int64) int64 {
	for _, i := range o.pieces[u].tasks {
		least := int64(-1)
		for m := range f.p.Tasks[i].Modes {
			c := int64(0)
			if table := f.p.Tasks[i].Modes[m].Cost; table >= 0 && ends[i].From < f.slots {
				c = mostMoney
				for _, v := range f.p.Tables[table][ends[i].From:] {
					c = min(c, int64(v))
				}
			}
			if least < 0 || c < least {
				least = c
			}
		}
		held += max(least, 0)
		for _, l := range o.ins[i] {
			if f.alwaysBroken(&f.p.Lags[l]) {
				held += f.p.Lags[l].Repair.Cost
			}
		}
	}
	return min(held, f.p.Weights.Unplaced*int64(len(o.pieces[u].tasks)))
}

// alwaysBroken reports whether a lag wants a repair whenever its tasks are done.
func (f *full) alwaysBroken(lag *Lag) bool {
	return lag.Bounded && lag.Repair != nil && len(lag.Closes) == 0 && lag.Least > lag.Greatest
}

// ofOwnerLeast is what an owner's pieces cost at least. Those that follow each other
// from last task to first hold a place one after another.
func (o *outline) ofOwnerLeast(f *full, w int, ends []Span) int64 {
	extra := make([]int64, len(o.pieces))
	var sum, most, none int64
	chain := o.byRank(f.p, w)
	stands := false
	for _, u := range chain {
		pc := &o.pieces[u]
		stands = stands || !pc.free
		bare := o.least(f, u, ends, 0)
		sum += bare
		none += f.p.Weights.Unplaced * int64(len(pc.tasks))
		extra[u] += o.least(f, u, ends, f.heldFor(pc)) - bare
		most = max(most, extra[u])
		for _, l := range o.outs[pc.tasks[len(pc.tasks)-1]] {
			lag := &f.p.Lags[l]
			v := o.of[lag.After]
			if v != u && !pc.merged && !o.pieces[v].merged && lag.Least >= 0 && o.pieces[v].owner == w && o.pieces[v].tasks[0] == lag.After {
				extra[v] = max(extra[v], extra[u])
			}
		}
	}
	sum += most
	if stands && f.p.Owners[w].Place < 0 {
		sum = min(sum+f.p.Weights.Move, none)
	}
	return sum
}

// byRank is an owner's pieces, each after those it waits for.
func (o *outline) byRank(p *Problem, w int) []int {
	left := append([]int(nil), o.ofOwner[w]...)
	var out []int
	in := make([]bool, len(o.pieces))
	for len(left) > 0 {
		rest := left[:0]
		for _, u := range left {
			ready := true
			for _, a := range o.pieces[u].after {
				ready = ready && (o.pieces[a].owner != w || in[a])
			}
			if ready {
				in[u] = true
				out = append(out, u)
			} else {
				rest = append(rest, u)
			}
		}
		left = rest
	}
	return out
}

// heldFor is what the place costs that a piece holds for its bare work.
func (f *full) heldFor(pc *piece) int64 {
	if pc.free || pc.merged {
		return 0
	}
	least := int64(-1)
	for _, q := range pc.places {
		var long Slot
		for _, i := range pc.tasks {
			short := f.slots
			for m := range f.p.Tasks[i].Modes {
				if mode := &f.p.Tasks[i].Modes[m]; mode.Place < 0 || mode.Place == q {
					short = min(short, mode.Long)
				}
			}
			long += short
		}
		if c := f.p.Places[q].Hold * int64(long); least < 0 || c < least {
			least = c
		}
	}
	return max(least, 0)
}
