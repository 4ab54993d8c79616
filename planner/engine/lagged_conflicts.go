package engine

import (
	"context"
	"slices"
)

// contradiction is what needs no search to be seen: lags that come back too late, or that
// lead from a release or a fixed start past another one or the horizon, and a task that
// wants more of a crew than there is. Tasks of a chain are its ends if it is no ring.
func (k *lagged) contradiction() *Conflict {
	for _, arcs := range [][]lagArc{k.arcs, k.until(k.horizon)} {
		chain, lacks := lagChain(k.origin+1, arcs)
		if lacks == 0 {
			continue
		}
		c := &Conflict{Crew: -1, Lacks: lacks}
		if first, last := chain[0], chain[len(chain)-1]; first.from == k.origin {
			c.Tasks = slices.Compact([]int{first.to, last.from})
			chain = chain[1 : len(chain)-1]
		}
		for _, a := range chain {
			c.Chain = append(c.Chain, a.link)
		}
		return c
	}
	for t, uses := range k.uses {
		for _, u := range uses {
			if u.N > k.room[u.Crew] {
				return &Conflict{Tasks: []int{t}, Crew: u.Crew, Lacks: Slot(u.N - k.room[u.Crew])}
			}
		}
	}
	return nil
}

// lagProof is the contradictions a proof may take that fewer tasks are enough (our judgement).
const lagProof = 300

// crowd is the tasks of a knot that has no room, and the crew they lack: no task can be
// left out of it, and no crew, without the proof being lost. If it takes several crews to
// prove, Crew is the first of them, and they lack so many each.
func (k *lagged) crowd(ctx context.Context, d lagMatrix, knot lagKnot) *Conflict {
	crews := make([]int, 0, len(k.room))
	for c := range k.room {
		crews = append(crews, c)
	}
	tasks := slices.Clone(knot.tasks)
	for _, c := range crews {
		if ctx.Err() == nil && k.never(d, knot, tasks, []int{c}, 0) {
			crews = []int{c}
			break
		}
	}
	crews = lagShrink(ctx, crews, func(fewer []int) bool { return k.never(d, knot, tasks, fewer, 0) })
	tasks = lagShrink(ctx, tasks, func(fewer []int) bool { return k.never(d, knot, fewer, crews, 0) })
	slices.Sort(tasks)
	c := &Conflict{Tasks: tasks, Crew: crews[0], Lacks: 1}
	for ctx.Err() == nil && k.never(d, knot, tasks, crews, int(c.Lacks)) {
		c.Lacks++
	}
	return c
}

// lagShrink leaves out of list what it can, as long as enough says that the rest is: runs
// of it first, half as long each time, then one by one.
func lagShrink(ctx context.Context, list []int, enough func([]int) bool) []int {
	for run := (len(list) + 1) / 2; run > 0 && len(list) > 1; run /= 2 {
		for at := 0; at < len(list) && len(list) > 1 && ctx.Err() == nil; {
			fewer := slices.Concat(list[:at], list[min(at+run, len(list)):])
			if len(fewer) > 0 && enough(fewer) {
				list = fewer
			} else {
				at += run
			}
		}
	}
	return list
}

// never reports whether it can be proved soon that a knot has no room if only some tasks
// use only some crews, each of which has so many more.
func (k *lagged) never(d lagMatrix, knot lagKnot, tasks, crews []int, more int) bool {
	f := *k
	f.uses = make([][]Use, len(k.uses))
	f.room = slices.Clone(k.room)
	for _, c := range crews {
		f.room[c] += more
	}
	for _, t := range tasks {
		for _, u := range k.uses[t] {
			if slices.Contains(crews, u.Crew) {
				f.uses[t] = append(f.uses[t], u)
			}
		}
	}
	s, _ := f.solver(d, knot)
	return s == nil || s.broken || s.run(&lagDives{}, lagProof) == lagNever
}
