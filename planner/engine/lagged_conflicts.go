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

// lagCore is a part of a knot: some tasks, that use some crews, and so many more of one.
type lagCore struct {
	tasks, crews []int
	crew, more   int
}

// crowd is the tasks of a knot that has no room, and the crew they lack: no task can be
// left out of it, and no crew, without the proof being lost. If it takes several crews to
// prove, Crew is the one of which fewest more would do, the others as they are:
// fewer surely would not.
func (k *lagged) crowd(ctx context.Context, d lagMatrix, knot lagKnot) *Conflict {
	core := lagCore{tasks: slices.Clone(knot.tasks)}
	for c := range k.room {
		core.crews = append(core.crews, c)
	}
	for c := range k.room {
		if ctx.Err() == nil && k.never(d, knot, lagCore{tasks: core.tasks, crews: []int{c}}) {
			core.crews = []int{c}
			break
		}
	}
	core.crews = lagShrink(ctx, core.crews, func(fewer []int) bool {
		return k.never(d, knot, lagCore{tasks: core.tasks, crews: fewer})
	})
	core.tasks = lagShrink(ctx, core.tasks, func(fewer []int) bool {
		return k.never(d, knot, lagCore{tasks: fewer, crews: core.crews})
	})
	slices.Sort(core.tasks)
	for core.more = 1; ; core.more++ {
		for _, core.crew = range core.crews {
			if ctx.Err() != nil || !k.never(d, knot, core) {
				return &Conflict{Tasks: core.tasks, Crew: core.crew, Lacks: Slot(core.more)}
			}
		}
	}
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

// never reports whether it can be proved soon that there is no room for a part of a knot.
func (k *lagged) never(d lagMatrix, knot lagKnot, core lagCore) bool {
	f := *k
	f.uses = make([][]Use, len(k.uses))
	f.room = slices.Clone(k.room)
	f.room[core.crew] += core.more
	for _, t := range core.tasks {
		for _, u := range k.uses[t] {
			if slices.Contains(core.crews, u.Crew) {
				f.uses[t] = append(f.uses[t], u)
			}
		}
	}
	s, _ := f.solver(d, knot)
	return s == nil || s.broken || s.run(&lagDives{}, lagProof) == lagNever
}
