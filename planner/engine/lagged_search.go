package engine

import "context"

// search looks for the starts that get all done first.
func (k *lagged) search(ctx context.Context, e Effort) Result {
	r := Result{Version: Version, Effort: e}
	if r.Conflict = k.contradiction(); r.Conflict != nil {
		return r
	}
	d := lagDistances(k.origin+1, k.arcs)
	knots := k.knots(d)
	inside := make([]Slot, k.origin)
	known := true
	for _, knot := range knots {
		switch k.untie(ctx, d, knot, inside, &r) {
		case lagNever:
			r.Conflict = k.crowd(ctx, d, knot)
			return r
		case lagGoesOn:
			known = false
		}
	}
	limit := k.horizon
	var best []Slot
	if known {
		if best = k.lay(d, knots, inside); k.makespan(best) <= limit {
			limit = k.makespan(best) - 1
		} else {
			best = nil
		}
	}
	k.improve(ctx, best, limit, &r)
	return r
}

// improve looks for a schedule that ends by limit, then for one that ends before that, and
// so on, until there is none.
func (k *lagged) improve(ctx context.Context, best []Slot, limit Slot, r *Result) {
	s, whole := k.within(limit)
	proved := s == nil || s.broken
	low := k.horizon
	if !proved {
		low = Slot(s.bound[2*s.end])
	}
	if best != nil && !proved {
		s.imitate(best)
	}
	var dives lagDives
	for !proved && !k.spent(ctx, r) {
		dives.plain = best == nil && r.Rounds%2 == 0
		v := s.round(&dives, r)
		if v == lagFound {
			best = make([]Slot, k.origin)
			for i := range best {
				best[i] = Slot(s.bound[2*i])
			}
			s.imitate(best)
			s.know(lagClaim{int32(2*s.end + 1), 1 - int32(k.makespan(best))})
			low = max(low, Slot(s.bound[2*s.end]))
		}
		proved = v == lagNever || s.broken
	}
	if best == nil {
		if proved {
			r.Conflict = k.crowd(ctx, lagDistances(k.origin+1, k.until(limit)), whole)
		}
		return
	}
	end := k.makespan(best)
	if proved {
		low = end
	}
	for t, s := range best {
		r.Starts = append(r.Starts, Start{Start: s, Finish: s + k.long[t]})
	}
	r.Objective, r.Bound = int64(end)*k.weight, int64(min(low, end))*k.weight
	r.Terms = []Term{{"makespan", r.Objective}}
}

// within is a solver for all tasks, done by limit; none if that cannot be.
func (k *lagged) within(limit Slot) (*lagSolver, lagKnot) {
	whole := lagKnot{root: k.origin}
	for t := range k.long {
		whole.tasks = append(whole.tasks, t)
	}
	arcs := k.until(limit)
	if chain, _ := lagChain(k.origin+1, arcs); chain != nil {
		return nil, whole
	}
	s, _ := k.solver(lagDistances(k.origin+1, arcs), whole)
	return s, whole
}

// until is the arcs, and that all is done by limit.
func (k *lagged) until(limit Slot) []lagArc {
	arcs := k.arcs[:len(k.arcs):len(k.arcs)]
	for t, long := range k.long {
		arcs = append(arcs, lagArc{t, k.origin, long - limit, Link{Lag: -1}})
	}
	return arcs
}

// imitate makes the solver try what a schedule has first.
func (s *lagSolver) imitate(best []Slot) {
	for v := range s.picks.like {
		if v < s.tasks {
			s.picks.like[v] = int32(best[v])
		}
	}
	for n := 0; n < len(s.edges); n += 1 {
		if e := &s.edges[n]; !e.always && e.from&1 == 0 && e.when.side&1 == 0 {
			yes := int32(0)
			if best[e.from/2]+Slot(e.least) <= best[e.to/2] {
				yes = 1
			}
			s.picks.like[e.when.side/2] = yes
		}
	}
}
