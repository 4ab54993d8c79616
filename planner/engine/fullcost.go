package engine

// terms is the objective: what a schedule costs is their sum. A term is here and
// nowhere else; what the search guesses about a piece is made of the same parts.
var terms = []struct {
	name   string
	amount func(f *full) int64
}{
	{"lateness", func(f *full) int64 { return f.overTasks(f.lateness) }},
	{"start", func(f *full) int64 { return f.overTasks(f.price) }},
	{"repair", func(f *full) int64 { return f.overTasks(f.mending) }},
	{"change", func(f *full) int64 { return f.overTasks(f.change) }},
	{"hold", (*full).holding},
	{"move", (*full).moving},
	{"makespan", (*full).makespan},
	{"unplaced", (*full).missing},
}

// cost is the objective.
func (f *full) cost() int64 {
	var sum int64
	for t := range terms {
		sum += terms[t].amount(f)
	}
	return sum
}

func (f *full) overTasks(of func(int, *laid) int64) int64 {
	var sum int64
	for i := range f.at {
		sum += of(i, &f.at[i])
	}
	return sum
}

// lateness is what a task costs that is done after it is due; one without a start
// counts as done at the horizon.
func (f *full) lateness(i int, l *laid) int64 {
	due := f.p.Tasks[i].Due
	if due == nil {
		return 0
	}
	ready := f.slots
	if l.mode >= 0 {
		ready = l.finish
		if due.Ready >= 0 {
			ready = f.look(due.Ready, l.finish)
		}
	}
	return due.Weight * int64(max(0, ready-due.At))
}

func (f *full) price(i int, l *laid) int64 {
	if l.mode < 0 || f.p.Tasks[i].Modes[l.mode].Cost < 0 {
		return 0
	}
	return int64(f.p.Tables[f.p.Tasks[i].Modes[l.mode].Cost][l.start])
}

func (f *full) mending(i int, l *laid) int64 {
	var sum int64
	if l.mode < 0 || l.mend == 0 && !f.plan.quick[i] {
		return 0
	}
	for _, x := range f.plan.ins[i] {
		if lag := &f.p.Lags[x]; lag.Bounded && lag.Repair != nil && l.start > f.closes(x) {
			sum += lag.Repair.Cost
		}
	}
	return sum
}

// change is what it costs that a task starts at another slot or in another place
// than people were told; one without a start counts as at the horizon.
func (f *full) change(i int, l *laid) int64 {
	told := f.p.Tasks[i].Told
	if told == nil {
		return 0
	}
	start, place := f.slots, -1
	if l.mode >= 0 {
		start = l.start
		place = f.placeOf(i, l)
	}
	c := told.Weight * int64(max(start-told.Start, told.Start-start))
	if told.Place >= 0 && place != told.Place {
		c += told.Other
	}
	return c
}

// placeOf is where a task is done; -1 outside of all places.
func (f *full) placeOf(i int, l *laid) int {
	if q := f.p.Tasks[i].Modes[l.mode].Place; q >= 0 {
		return q
	}
	if o := f.p.Tasks[i].Owner; o >= 0 {
		for _, s := range f.owners[o].stays {
			if s.From <= l.start && l.start < s.To {
				return s.Place
			}
		}
	}
	return -1
}

func (f *full) holding() int64 {
	var sum int64
	for o := range f.owners {
		for _, s := range f.owners[o].stays {
			sum += f.p.Places[s.Place].Hold * int64(s.To-s.From)
		}
	}
	return sum
}

func (f *full) moving() int64 {
	if f.p.Weights.Move == 0 {
		return 0
	}
	n := 0
	for o := range f.owners {
		n += len(f.owners[o].stays)
		if f.p.Owners[o].Place >= 0 {
			n--
		}
	}
	return f.p.Weights.Move * int64(n)
}

func (f *full) makespan() int64 {
	if f.p.Weights.Makespan == 0 {
		return 0
	}
	var last Slot
	for i := range f.at {
		if f.at[i].mode >= 0 {
			last = max(last, f.at[i].finish)
		} else {
			last = f.slots
		}
	}
	return f.p.Weights.Makespan * int64(last)
}

func (f *full) missing() int64 {
	n := 0
	for i := range f.at {
		if f.at[i].mode < 0 {
			n++
		}
	}
	return f.p.Weights.Unplaced * int64(n)
}

// lateGuess is what finishing a task then makes others late at least.
func (f *full) lateGuess(i int, finish Slot) int64 {
	var sum int64
	for _, g := range f.plan.dues[i] {
		sum += g.weight * int64(max(0, finish-g.latest))
	}
	if due := f.p.Tasks[i].Due; due != nil && due.Ready >= 0 {
		finish = f.look(due.Ready, finish)
		sum += due.Weight * int64(max(0, finish-due.At))
	} else if due != nil {
		sum += due.Weight * int64(max(0, finish-due.At))
	}
	return sum
}

// guess is what a task costs where it was laid, with what waits for it.
func (f *full) guess(i int, l *laid) int64 {
	c := f.price(i, l) + f.mending(i, l) + f.lateGuess(i, l.finish)
	if told := f.p.Tasks[i].Told; told != nil {
		c += told.Weight * int64(max(l.start-told.Start, told.Start-l.start))
	}
	return c
}

// sum works out what the draft costs as a whole.
func (f *full) sum(pc *piece, in Slot) bool {
	d := &f.draft
	d.cost, d.end = 0, 0
	for k, i := range pc.tasks {
		l := &d.tasks[k]
		d.end = max(d.end, l.finish)
		d.cost += f.price(i, l) + f.lateness(i, l)
		if l.mend > 0 || f.plan.quick[i] {
			f.at[i].mode = -1
			d.cost += f.draftMending(pc, k)
		}
		if told := f.p.Tasks[i].Told; told != nil {
			d.cost += told.Weight * int64(max(l.start-told.Start, told.Start-l.start))
			if told.Place >= 0 && d.place >= 0 && d.place != told.Place {
				d.cost += told.Other
			}
		}
	}
	for _, g := range f.plan.pieces[f.plan.of[pc.tasks[0]]].goals {
		d.cost += g.weight * int64(max(0, d.end-g.latest))
	}
	if pc.owner < 0 {
		return true
	}
	s := &f.owners[pc.owner]
	if n := len(s.stays); n > 0 && d.gapTo > s.hold {
		d.cost += f.p.Places[s.stays[n-1].Place].Hold * int64(d.gapTo-s.hold)
	}
	for _, stay := range d.adds {
		d.cost += f.p.Places[stay.Place].Hold*int64(stay.To-stay.From) + f.p.Weights.Move
	}
	return true
}

// draftMending is what the repairs before a drafted task cost.
func (f *full) draftMending(pc *piece, k int) int64 {
	for j, i := range pc.tasks {
		f.at[i].mode, f.at[i].finish = f.draft.tasks[j].mode, f.draft.tasks[j].finish
	}
	c := f.mending(pc.tasks[k], &f.draft.tasks[k])
	for _, i := range pc.tasks {
		f.at[i].mode = -1
	}
	return c
}
