package engine

// reserve books a task's crews and airs, or gives them back.
func (f *full) reserve(i, n int) {
	l := &f.at[i]
	t := &f.p.Tasks[i]
	mode := &t.Modes[l.mode]
	for _, use := range mode.Uses {
		if len(l.parts) == 0 {
			f.take(&f.crews[use.Crew], l.start, l.finish, n*use.N)
		}
		for _, part := range l.parts {
			f.take(&f.crews[use.Crew], part.From, part.To, n*use.N)
		}
	}
	f.reserveAirs(i, n)
	if l.mend == 0 {
		return
	}
	for _, x := range f.plan.ins[i] {
		if lag := &f.p.Lags[x]; lag.Bounded && lag.Repair != nil && l.start > f.closes(x) {
			for _, use := range lag.Repair.Uses {
				f.take(&f.crews[use.Crew], l.start-lag.Repair.Long, l.start, n*use.N)
			}
		}
	}
}

func (f *full) reserveAirs(i, n int) {
	l := &f.at[i]
	mode := &f.p.Tasks[i].Modes[l.mode]
	for s := range mode.Sides {
		a := &mode.Sides[s]
		if len(l.parts) == 0 || a.Upto >= 0 {
			f.take(&f.airs[side(a)], l.start, f.airUntil(a, l.start, l.finish), n)
			continue
		}
		for _, part := range l.parts {
			f.take(&f.airs[side(a)], part.From, min(part.To+a.Past, f.slots), n)
		}
	}
}

// book takes the chosen draft into the schedule.
func (f *full) book(u int) {
	pc, c := &f.plan.pieces[u], &f.chosen
	for k, i := range pc.tasks {
		f.keep(i)
		f.at[i].copyFrom(&c.tasks[k])
	}
	for _, i := range pc.tasks {
		f.reserve(i, 1)
	}
	f.done[u] = true
	if pc.owner < 0 {
		return
	}
	s := &f.owners[pc.owner]
	n := len(s.stays)
	was := placed{piece: u, stays: n, hold: s.hold, frees: len(s.frees)}
	if n > 0 {
		last := &s.stays[n-1]
		was.to = last.To
		if c.gapTo > last.To {
			f.take(&f.rooms[last.Place], last.To, c.gapTo, 1)
			last.To = c.gapTo
		}
	}
	for _, stay := range c.adds {
		f.take(&f.rooms[stay.Place], stay.From, stay.To, 1)
		if stay.Mover >= 0 {
			f.take(&f.crews[stay.Mover], stay.From, stay.From+f.p.Places[stay.Place].Move, 1)
		}
		s.stays = append(s.stays, stay)
	}
	s.pieces = append(s.pieces, was)
	if pc.free {
		s.frees = append(s.frees, pc.tasks...)
	}
	if !pc.free || c.gapTo != None {
		s.hold = max(s.hold, c.hold)
	}
}

// lift takes an owner's last piece out again.
func (f *full) lift(o int) int {
	s := &f.owners[o]
	was := s.pieces[len(s.pieces)-1]
	s.pieces = s.pieces[:len(s.pieces)-1]
	for _, stay := range s.stays[was.stays:] {
		f.take(&f.rooms[stay.Place], stay.From, stay.To, -1)
		if stay.Mover >= 0 {
			f.take(&f.crews[stay.Mover], stay.From, stay.From+f.p.Places[stay.Place].Move, -1)
		}
	}
	s.stays = s.stays[:was.stays]
	if n := was.stays; n > 0 {
		last := &s.stays[n-1]
		f.take(&f.rooms[last.Place], was.to, last.To, -1)
		last.To = was.to
	}
	s.hold, s.frees = was.hold, s.frees[:was.frees]
	f.unlay(was.piece)
	return was.piece
}

// unlay takes the tasks of a piece out of the crews and airs.
func (f *full) unlay(u int) {
	for n := len(f.plan.pieces[u].tasks) - 1; n >= 0; n-- {
		i := f.plan.pieces[u].tasks[n]
		f.keep(i)
		f.reserve(i, -1)
	}
	for _, i := range f.plan.pieces[u].tasks {
		f.at[i].mode = -1
	}
	f.done[u] = false
}
