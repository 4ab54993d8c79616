package engine

// seek is where a task is looked for.
type seek struct {
	task, place int
	owner       int
	in          Slot // the owner has been brought in; nothing is done before
	after       Slot // the task of the block before it is done
	free        bool // laid wherever the owner is
	mends       bool // a greatest lag may be broken, if there is a repair
	later       bool // a cheaper start may be waited for
}

// cheapSpan is how far a cheaper start is looked for: two days of slots of five
// minutes. Our judgement.
const cheapSpan = 576

// pick lays a task in the mode that costs least, and then ends first. If it breaks
// a greatest lag in all of them, over says by how much at least, by the lag tooLate.
func (f *full) pick(k *seek, lo Slot) bool {
	t := &f.p.Tasks[k.task]
	out := &f.at[k.task]
	out.mode = -1
	f.draft.over, f.draft.tooLate = 0, -1
	lo = max(lo, t.Release, k.in, k.after)
	for _, l := range f.plan.ins[k.task] {
		if f.at[f.p.Lags[l].Before].mode < 0 {
			return false
		}
		if lo = max(lo, f.opens(l)); lo >= f.slots {
			return false
		}
	}
	var least int64
	try := &f.draft.try
	for m := range t.Modes {
		mode := &t.Modes[m]
		if mode.Place >= 0 && mode.Place != k.place {
			continue
		}
		if !f.find(k, m, lo) {
			continue
		}
		c := f.guess(k.task, try)
		if out.mode < 0 || c < least || c == least && try.finish < out.finish {
			least = c
			out.copyFrom(try)
		}
		if !k.later || mode.Cost < 0 || t.Fixed {
			continue
		}
		if at := f.cheaper(k.task, m, try); at > try.start && f.find(k, m, at) {
			if c := f.guess(k.task, try); c < least {
				least = c
				out.copyFrom(try)
			}
		}
	}
	return out.mode >= 0
}

// cheaper is the start that would cost least, if nothing else were in the way.
func (f *full) cheaper(i, m int, from *laid) Slot {
	best, at := int64(1)<<62, from.start
	long := from.finish - from.start
	for s := from.start; s < min(from.start+cheapSpan, f.slots-long); s++ {
		c := int64(f.p.Tables[f.p.Tasks[i].Modes[m].Cost][s]) + f.lateGuess(i, s+long)
		if c < best {
			best, at = c, s
		}
	}
	return at
}

// find is the first start of a task in a mode from lo on: into draft.try.
func (f *full) find(k *seek, m int, lo Slot) bool {
	t := &f.p.Tasks[k.task]
	mode := &t.Modes[m]
	limit := f.slots - 1
	if t.Fixed {
		limit = t.Release
	}
	if mode.Soak >= 0 && k.place >= 0 && k.owner >= 0 {
		lo = max(lo, f.look(mode.Soak, k.in))
	}
	binds := -1
	for _, l := range f.plan.ins[k.task] {
		lag := &f.p.Lags[l]
		if lag.Bounded && (lag.Repair == nil || !k.mends) {
			if last := f.closes(l); last < limit {
				limit, binds = last, l
			}
		}
	}
	try := &f.draft.try
	for at := lo; ; {
		if at > limit {
			if binds >= 0 && (f.draft.tooLate < 0 || at-limit < f.draft.over) {
				f.draft.over, f.draft.tooLate = at-limit, binds
			}
			return false
		}
		try.mode, try.start, try.mend = m, at, 0
		try.parts = try.parts[:0]
		next := at
		if mode.Starts >= 0 {
			next = f.look(mode.Starts, at)
		}
		if next == at && k.mends {
			next = f.mend(k, at)
		}
		if next == at {
			next = f.extent(k, t, mode, at)
		}
		if next == at {
			return true
		}
		at = next
	}
}

// mend is at, with the repair that a task needs which starts there, or the next
// slot worth a try.
func (f *full) mend(k *seek, at Slot) Slot {
	for _, l := range f.plan.ins[k.task] {
		lag := &f.p.Lags[l]
		if !lag.Bounded || lag.Repair == nil || at <= f.closes(l) {
			continue
		}
		r := lag.Repair
		f.draft.try.mend = max(f.draft.try.mend, r.Long)
		if first := max(f.at[lag.Before].finish, k.in, k.after) + r.Long; at < first {
			return first
		}
		for _, use := range r.Uses {
			if lack := f.crews[use.Crew].lack(at-r.Long, at, f.mendUse(k.task, use.Crew, r.Long, at)); lack != None {
				return lack + 1 + r.Long
			}
		}
		if k.place >= 0 {
			if lack := f.plan.shut[k.place].lack(at-r.Long, at, 0); lack != None {
				return lack + 1 + r.Long
			}
		}
		if k.free {
			if until := f.away(k.owner, at-r.Long, at); until != None {
				return until + r.Long
			}
		}
	}
	return at
}

// mendUse is how many of a crew the repairs want at once that begin so long before
// a task, or longer; all of them end where it starts.
func (f *full) mendUse(i, crew int, long, at Slot) int {
	n := 0
	for _, l := range f.plan.ins[i] {
		lag := &f.p.Lags[l]
		if !lag.Bounded || lag.Repair == nil || lag.Repair.Long < long || at <= f.closes(l) {
			continue
		}
		for _, use := range lag.Repair.Uses {
			if use.Crew == crew {
				n += use.N
			}
		}
	}
	return n
}

// extent lays the work from at on, or says which slot is worth the next try.
func (f *full) extent(k *seek, t *Task, mode *Mode, at Slot) Slot {
	try := &f.draft.try
	if t.Pauses && mode.Long > 0 {
		if next := f.spread(k, t, mode, at); next != at {
			return next
		}
	} else {
		try.finish = at + mode.Long
		if try.finish > f.slots {
			return f.slots
		}
		if k.place >= 0 {
			if lack := f.plan.shut[k.place].lack(at, try.finish, 0); lack != None {
				return lack + 1
			}
		}
		for _, use := range mode.Uses {
			if lack := f.crews[use.Crew].lack(at, try.finish, use.N); lack != None {
				return lack + 1
			}
		}
		if k.free {
			if until := f.away(k.owner, at, try.finish); until != None {
				return until
			}
		}
	}
	for n := range mode.Sides {
		s := &mode.Sides[n]
		if t.Pauses && s.Upto < 0 {
			continue
		}
		if lack := f.airs[other(s)].lack(at, f.airUntil(s, at, try.finish), 0); lack != None {
			if s.Upto >= 0 && !f.plan.rising[s.Upto] {
				return at + 1
			}
			return lack + 1
		}
	}
	if k.free && mode.Keeps >= 0 {
		if until := f.moved(k.owner, at, f.look(mode.Keeps, try.finish)); until != None {
			return until
		}
	}
	return at
}

// airUntil is when an air is free of a task again; it stays within the grid.
func (f *full) airUntil(s *Side, start, finish Slot) Slot {
	if s.Upto >= 0 {
		finish = max(finish, f.look(s.Upto, start))
	}
	return min(finish+s.Past, f.slots)
}

func side(s *Side) int {
	if s.Far {
		return 2*s.Air + 1
	}
	return 2 * s.Air
}

func other(s *Side) int { return side(s) ^ 1 }

// spread lays work that pauses: each part until its people go home, the place
// shuts, it may not go on, or it is done; a part that something else is in the way
// of begins after that.
func (f *full) spread(k *seek, t *Task, mode *Mode, at Slot) Slot {
	try := &f.draft.try
	run := &f.plan.runs[f.plan.runOf[k.task][try.mode][k.place+1]]
	left := mode.Long
	for s := at; left > 0; {
		if s >= f.slots {
			return f.slots
		}
		open := Slot(run.opens[s])
		if open > s {
			if len(try.parts) == 0 {
				return open
			}
			s = open
			continue
		}
		end := min(Slot(run.closes[s]), s+left)
		next := s
		if end-s < min(t.Least, left) {
			next = max(end, s+1)
		}
		for _, use := range mode.Uses {
			if lack := f.crews[use.Crew].lack(s, end, use.N); lack != None {
				next = max(next, lack+1)
			}
		}
		for n := range mode.Sides {
			if a := &mode.Sides[n]; a.Upto < 0 {
				if lack := f.airs[other(a)].lack(s, min(end+a.Past, f.slots), 0); lack != None {
					next = max(next, lack+1)
				}
			}
		}
		if k.free {
			if until := f.away(k.owner, s, end); until != None {
				next = max(next, until)
			}
		}
		if next > s {
			if len(try.parts) == 0 {
				return next
			}
			s = next
			continue
		}
		try.parts = append(try.parts, Span{s, end})
		left -= end - s
		s = end
	}
	try.finish = try.parts[len(try.parts)-1].To
	return at
}

// opens is the first start of a lag's After, as far as this lag goes.
func (f *full) opens(l int) Slot {
	lag := &f.p.Lags[l]
	b := &f.at[lag.Before]
	at := b.finish + lag.Least
	if len(lag.Opens) > 0 && lag.Opens[b.mode] >= 0 {
		at = max(at, f.look(lag.Opens[b.mode], b.finish))
	}
	if len(lag.Ripe) > 0 && lag.Need > 0 {
		at = max(at, f.ripe(lag, b.finish))
	}
	return at
}

// closes is the last start of a lag's After that needs no repair.
func (f *full) closes(l int) Slot {
	lag := &f.p.Lags[l]
	b := &f.at[lag.Before]
	if len(lag.Closes) == 0 {
		return b.finish + lag.Greatest
	}
	if lag.Closes[b.mode] < 0 {
		return f.slots
	}
	if b.finish >= f.slots {
		return f.slots
	}
	return f.p.Tables[lag.Closes[b.mode]][max(b.finish, 0)]
}

// ripe is the slot at which enough has been gained since a finish, wherever the
// owner stood.
func (f *full) ripe(lag *Lag, from Slot) Slot {
	o := f.p.Tasks[lag.Before].Owner
	if o < 0 {
		return f.slots
	}
	need := lag.Need
	for n := range f.owners[o].stays {
		s := &f.owners[o].stays[n]
		a := max(s.From, from)
		table := lag.Ripe[s.Place]
		if a >= s.To || table < 0 || a >= f.slots {
			continue
		}
		r := f.p.Tables[table]
		last := min(s.To, f.slots-1)
		if gain := r[last] - r[a]; gain < need {
			need -= gain
			continue
		}
		for a < last {
			if mid := (a + last) / 2; r[mid]-r[max(s.From, from)] >= need {
				last = mid
			} else {
				a = mid + 1
			}
		}
		return a
	}
	return f.slots
}
