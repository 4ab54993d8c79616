package engine

import (
	"cmp"
	"slices"
)

// clear takes everything out.
func (f *full) clear() {
	for u := len(f.plan.pieces) - 1; u >= 0; u-- {
		f.unplace(u)
	}
	for o := range f.owners {
		f.leaveRoom(o)
		f.keepRoom(o)
	}
}

// unplace takes a piece out with all that depends on it.
func (f *full) unplace(u int) {
	if !f.done[u] {
		return
	}
	for _, v := range f.plan.pieces[u].next {
		f.unplace(v)
	}
	o := f.plan.pieces[u].owner
	if o < 0 {
		f.unlay(u)
		return
	}
	for f.done[u] {
		s := &f.owners[o]
		last := s.pieces[len(s.pieces)-1].piece
		for _, v := range f.plan.pieces[last].next {
			f.unplace(v)
		}
		if f.done[last] {
			f.leaveRoom(o)
			f.lift(o)
		}
	}
}

// settle brings each task forward as far as it can start by itself, all else as it
// is, at no higher cost.
func (f *full) settle() {
	order := make([]int, len(f.at))
	for i := range order {
		order[i] = i
	}
	for again := true; again; {
		again = false
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(f.at[a].start, f.at[b].start) })
		for _, i := range order {
			again = f.forward(i) || again
		}
	}
}

// forward brings one task forward.
func (f *full) forward(i int) bool {
	t, l := &f.p.Tasks[i], &f.at[i]
	if l.mode < 0 || t.Fixed {
		return false
	}
	k, ok := f.whereLaid(i)
	if !ok {
		return false
	}
	lo := max(t.Release, k.in, k.after)
	for _, x := range f.plan.ins[i] {
		lo = max(lo, f.opens(x))
	}
	was := &f.kept[i]
	was.copyFrom(l)
	cost := f.priceOf(i, l)
	f.reserve(i, -1)
	moved := false
	for lo < was.start && f.find(&k, was.mode, lo) && f.draft.try.start < was.start {
		lo = f.draft.try.start + 1
		if f.priceOf(i, &f.draft.try) <= cost && f.outlives(i, was, &f.draft.try) {
			moved = true
			break
		}
	}
	if moved {
		l.copyFrom(&f.draft.try)
	}
	f.reserve(i, 1)
	return moved
}

// priceOf is what a task's start costs by itself.
func (f *full) priceOf(i int, l *laid) int64 {
	return f.lateness(i, l) + f.price(i, l) + f.mending(i, l) + f.change(i, l)
}

// whereLaid is what a task that was laid is bound by.
func (f *full) whereLaid(i int) (seek, bool) {
	t, l := &f.p.Tasks[i], &f.at[i]
	pc := &f.plan.pieces[f.plan.of[i]]
	k := seek{task: i, place: t.Modes[l.mode].Place, owner: t.Owner, free: pc.free, mends: l.mend > 0 || f.mending(i, l) > 0}
	if t.Owner >= 0 {
		k.in = f.p.Owners[t.Owner].Arrives
	}
	for x, j := range pc.tasks {
		if b := pc.before[x]; j == i && b >= 0 {
			k.after = f.at[pc.tasks[b]].finish
		}
	}
	if pc.free || t.Owner < 0 {
		return k, t.Owner >= 0 || k.place >= 0 || pc.free
	}
	stays := f.owners[t.Owner].stays
	for n := range stays {
		s := &stays[n]
		if in := f.movedIn(t.Owner, n); in <= l.start-l.mend && l.finish <= s.To && (k.place < 0 || k.place == s.Place) {
			k.place, k.in = s.Place, in
			return k, true
		}
	}
	return k, false
}

// outlives reports whether what waits for a task may stay as it is if the task moves.
func (f *full) outlives(i int, was, now *laid) bool {
	if t := f.p.Tasks[i].Modes[now.mode].Keeps; t >= 0 && f.look(t, now.finish) > f.look(t, was.finish) {
		return false
	}
	pc := &f.plan.pieces[f.plan.of[i]]
	l := &f.at[i]
	defer l.copyFrom(was)
	for x, b := range pc.before {
		if j := pc.tasks[x]; b >= 0 && pc.tasks[b] == i && f.at[j].start-f.at[j].mend < now.finish {
			return false
		}
	}
	for _, x := range f.plan.outs[i] {
		lag := &f.p.Lags[x]
		a := &f.at[lag.After]
		if a.mode < 0 {
			continue
		}
		l.copyFrom(was)
		broken := lag.Bounded && a.start > f.closes(x)
		l.copyFrom(now)
		if a.start < f.opens(x) || broken != (lag.Bounded && a.start > f.closes(x)) || broken && a.start-a.mend < now.finish {
			return false
		}
	}
	return true
}
