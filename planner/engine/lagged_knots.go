package engine

import (
	"cmp"
	"context"
	"slices"
)

// lagKnot is tasks that hang on each other by lags both ways: within certain distances of
// the root. Lags between knots go one way only, so that whether there is any schedule is a
// question to each knot alone, as long as the horizon is far (Neumann & Zhan 1995,
// "Heuristics for the minimum project-duration problem with minimal and maximal time lags
// under fixed resource constraints", from memory).
type lagKnot struct {
	root  int // its last task, or the origin if some of it is fixed
	tasks []int
}

// knots is them, each after those it hangs on.
func (k *lagged) knots(d lagMatrix) []lagKnot {
	of := make([]int, len(d))
	var knots []lagKnot
	for i := len(d) - 1; i >= 0; i-- {
		if of[i] > 0 {
			continue
		}
		knot := lagKnot{root: i}
		for j := range d {
			if d[i][j] > lagFar && d[j][i] > lagFar {
				of[j] = i + 1
				if j < k.origin {
					knot.tasks = append(knot.tasks, j)
				}
			}
		}
		knots = append(knots, knot)
	}
	before := make([]int, len(d)) // whatever comes before something has fewer before itself
	for i := range d {
		for j := range d {
			if d[j][i] > lagFar {
				before[i]++
			}
		}
	}
	slices.SortStableFunc(knots, func(a, b lagKnot) int { return cmp.Compare(before[a.root], before[b.root]) })
	return knots
}

// solver is one for a knot alone; not if it is clear that there is no room for it. Slots
// of the solver are counted from the second result on.
func (k *lagged) solver(d lagMatrix, knot lagKnot) (*lagSolver, Slot) {
	d = d.clone()
	arcs, pairs, ok := k.order(d, knot.tasks)
	if !ok {
		return nil, 0
	}
	zero, slots := Slot(0), Slot(0)
	for _, t := range knot.tasks {
		zero = min(zero, d[knot.root][t])
	}
	s := &lagSolver{tasks: len(knot.tasks), end: len(knot.tasks)}
	at := make([]int, k.origin+1)
	for i := range at {
		at[i] = -1
	}
	for i, t := range knot.tasks {
		at[t] = i
		last := -d[t][knot.root] - zero
		s.variable(int32(d[knot.root][t]-zero), int32(last))
		slots = max(slots, last+k.long[t])
	}
	s.variable(0, int32(slots))
	s.staff(k, knot.tasks, int32(slots))
	for _, a := range append(arcs, k.arcs...) {
		if from, to := at[a.from], at[a.to]; from >= 0 && to >= 0 {
			s.arc(from, to, a.least)
		}
	}
	for i, t := range knot.tasks {
		s.arc(i, s.end, k.long[t])
	}
	for _, p := range pairs {
		s.either(at[p[0]], at[p[1]])
	}
	s.questions()
	s.rules.most = lagKept
	for side := range int32(len(s.bound)) {
		s.broken = s.broken || !s.followArcs(side)
	}
	s.settle()
	return s, zero
}

func (d lagMatrix) clone() lagMatrix {
	c := make(lagMatrix, len(d))
	for i := range d {
		c[i] = slices.Clone(d[i])
	}
	return c
}

// untie finds starts within a knot, from its root's.
func (k *lagged) untie(ctx context.Context, d lagMatrix, knot lagKnot, inside []Slot, r *Result) lagVerdict {
	if len(knot.tasks) == 0 || len(knot.tasks) == 1 && knot.root != k.origin {
		return lagFound
	}
	s, zero := k.solver(d, knot)
	if s == nil {
		return lagNever
	}
	for dives := (lagDives{plain: true}); ; dives.plain = !dives.plain {
		v, schedules := s.round(&dives)
		r.Rounds, r.Schedules = r.Rounds+1, r.Schedules+schedules
		if v == lagFound {
			for i, t := range knot.tasks {
				inside[t] = Slot(s.bound[2*i]) + zero
			}
		}
		if v != lagGoesOn || k.spent(ctx, r) {
			return v
		}
	}
}

// spent reports whether the effort is, or the context.
func (k *lagged) spent(ctx context.Context, r *Result) bool {
	e := r.Effort
	return ctx.Err() != nil || r.Rounds >= e.Rounds || e.Schedules > 0 && r.Schedules >= e.Schedules
}
