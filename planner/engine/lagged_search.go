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

// lagStuck is the rounds that found nothing before windows are tried too; of lagTurn rounds
// one is not a window then (our judgement).
const lagStuck, lagTurn = 4, 4

// improve looks for a schedule that ends by limit, then for one that ends before that, and
// so on, until there is none. best is the first, if any is known.
func (k *lagged) improve(ctx context.Context, best []Slot, limit Slot, r *Result) {
	low := k.bound(ctx, 0, limit+1)
	team := k.team(low, limit, r.Effort)
	stuck, over := 0, len(team) == 0
	for !over && !k.spent(ctx, r) {
		how := lagByClash
		switch {
		case best == nil && r.Rounds%2 == 0:
			how = lagByStart
		case best != nil && stuck > lagStuck && r.Rounds%lagTurn > 0:
			how = lagByWindow
		}
		stuck++
		var better []Slot
		better, over = team.round(how, r)
		if better != nil {
			best, stuck = better, 0
			over = !team.beat(best, k.makespan(best)) || over
			low = max(low, team.bound())
		}
	}
	if best == nil {
		if over {
			r.Conflict = k.crowd(ctx, lagDistances(k.origin+1, k.until(limit)), k.whole())
		}
		return
	}
	end := k.makespan(best)
	if over {
		low = end
	}
	for t, s := range best {
		r.Starts = append(r.Starts, Start{Start: s, Finish: s + k.long[t]})
	}
	r.Objective, r.Bound = int64(end)*k.weight, int64(min(low, end))*k.weight
	r.Terms = []Term{{"makespan", r.Objective}}
}

// until is the arcs, and that all is done by limit.
func (k *lagged) until(limit Slot) []lagArc {
	arcs := k.arcs[:len(k.arcs):len(k.arcs)]
	for t, long := range k.long {
		arcs = append(arcs, lagArc{t, k.origin, long - limit, Link{Lag: -1}})
	}
	return arcs
}

// whole is all tasks as one knot.
func (k *lagged) whole() lagKnot {
	whole := lagKnot{root: k.origin}
	for t := range k.long {
		whole.tasks = append(whole.tasks, t)
	}
	return whole
}
