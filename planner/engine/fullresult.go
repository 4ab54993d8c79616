package engine

// result is the best schedule as plain data.
func (g *general) result(e Effort) Result {
	f := g.best
	r := Result{Version: Version, Effort: e, Rounds: g.rounds, Schedules: g.schedules, Starts: make([]Start, len(f.at))}
	for i := range f.at {
		l := &f.at[i]
		r.Starts[i] = Start{Mode: -1}
		if l.mode >= 0 {
			s := Start{Mode: l.mode, Start: l.start, Finish: l.finish}
			s.Parts = append(s.Parts, l.parts...)
			for _, x := range f.plan.ins[i] {
				lag := &f.p.Lags[x]
				s.Repair = s.Repair || lag.Bounded && l.start > f.closes(x)
			}
			r.Starts[i] = s
		}
	}
	for o := range f.owners {
		r.Stays = append(r.Stays, f.owners[o].stays...)
	}
	for _, t := range terms {
		a := t.amount(f)
		r.Terms = append(r.Terms, Term{t.name, a})
		r.Objective += a
	}
	r.Bound = g.plan.bound(g.p)
	return r
}
