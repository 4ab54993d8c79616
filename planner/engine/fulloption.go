package engine

// option lays a piece in a place into the draft.
func (f *full) option(u, q int, joins bool, from Slot, mends, later bool) bool {
	pc, d := &f.plan.pieces[u], &f.draft
	o := pc.owner
	d.place, d.joins, d.adds, d.gapTo, d.mends, d.later = q, joins, d.adds[:0], None, mends, later
	k := seek{place: q, owner: o, mends: mends, later: later, free: pc.free}
	if o < 0 {
		return f.lay(pc, &k, from) && f.sum(pc, k.in)
	}
	s := &f.owners[o]
	n := len(s.stays)
	if pc.free {
		k.in = f.p.Owners[o].Arrives
		if n == 0 || !f.ripens(pc) {
			return f.lay(pc, &k, from) && f.sum(pc, k.in)
		}
		was := s.stays[n-1].To
		s.stays[n-1].To = f.slots
		ok := f.lay(pc, &k, from)
		s.stays[n-1].To = was
		if !ok {
			return false
		}
		last := Slot(0)
		for j := range pc.tasks {
			last = max(last, d.tasks[j].start)
		}
		if last > s.hold {
			d.gapTo, d.hold = last, last
			here := s.stays[n-1].Place
			if f.rooms[here].lack(s.hold, last, 1) != None || !f.undisturbed(o, Stay{Place: here, From: s.hold, To: last}, false) {
				return false
			}
		}
		return f.sum(pc, k.in)
	}
	if joins {
		k.in = f.movedIn(o, n-1)
		was := s.stays[n-1].To
		s.stays[n-1].To = f.slots
		ok := f.lay(pc, &k, from)
		s.stays[n-1].To = was
		if !ok {
			return false
		}
		d.hold = f.keeps(pc)
		d.gapTo = max(s.hold, d.hold)
		if f.rooms[q].lack(s.hold, d.gapTo, 1) != None || !f.undisturbed(o, Stay{Place: q, From: s.hold, To: d.gapTo}, false) {
			return false
		}
		return f.sum(pc, k.in)
	}
	enter := s.hold
	move := f.p.Places[q].Move
	for range enterTries {
		at, who := f.enter(q, enter)
		if at == None {
			return false
		}
		stay := Stay{Owner: o, Place: q, From: at, To: f.slots, Mover: who}
		if !f.bridge(o, at, d) || !f.undisturbed(o, Stay{Place: q, From: at, To: at + max(move, 1)}, true) {
			enter = at + 1
			continue
		}
		k.in = at + move
		if !f.layIn(pc, &k, from, stay) {
			return false
		}
		d.hold = f.keeps(pc)
		if lack := f.rooms[q].lack(at, d.hold, 1); lack != None {
			enter = lack + 1
			continue
		}
		stay.To = d.hold
		if !f.undisturbed(o, stay, true) {
			enter = at + 1
			continue
		}
		f.tighten(pc, &stay)
		d.adds = append(d.adds, stay)
		return f.sum(pc, stay.From)
	}
	return false
}

// layIn lays a piece with the owner's stays as the draft has them so far.
func (f *full) layIn(pc *piece, k *seek, from Slot, stay Stay) bool {
	s, d := &f.owners[pc.owner], &f.draft
	n := len(s.stays)
	var was Slot
	if n > 0 {
		was = s.stays[n-1].To
		s.stays[n-1].To = d.gapTo
	}
	s.stays = append(append(s.stays, d.adds...), stay)
	ok := f.lay(pc, k, from)
	s.stays = s.stays[:n]
	if n > 0 {
		s.stays[n-1].To = was
	}
	return ok
}

// tighten brings an owner in as late as its tasks allow, where being there costs
// no less than being where it comes from.
func (f *full) tighten(pc *piece, stay *Stay) {
	d, s := &f.draft, &f.owners[pc.owner]
	p := &f.p.Places[stay.Place]
	if f.ripens(pc) || len(d.adds) > 0 || len(s.stays) > 0 && f.p.Places[s.stays[len(s.stays)-1].Place].Hold > p.Hold {
		return
	}
	first := f.slots
	for k := range pc.tasks {
		first = min(first, d.tasks[k].start-d.tasks[k].mend)
	}
	gapTo := d.gapTo
	at := first - p.Move
	for range enterTries {
		if at <= stay.From {
			break
		}
		if x := f.plan.shut[stay.Place].first(at, at+max(p.Move, 1), 0); x < at+max(p.Move, 1) {
			at = x - max(p.Move, 1)
			continue
		}
		next, who := f.mover(stay.Place, at)
		soaked := true
		for k, i := range pc.tasks {
			if t := f.p.Tasks[i].Modes[d.tasks[k].mode].Soak; t >= 0 {
				soaked = soaked && f.look(t, at+p.Move) <= d.tasks[k].start
			}
		}
		if next != at || !soaked || !f.undisturbed(pc.owner, Stay{Place: stay.Place, From: at, To: stay.To}, true) {
			at--
			continue
		}
		if !f.bridge(pc.owner, at, d) || len(d.adds) > 0 {
			break
		}
		stay.From, stay.Mover = at, who
		return
	}
	d.adds, d.gapTo = d.adds[:0], gapTo
}

// ripens reports whether a piece waits for progress across places.
func (f *full) ripens(pc *piece) bool {
	for _, i := range pc.tasks {
		for _, l := range f.plan.ins[i] {
			if len(f.p.Lags[l].Ripe) > 0 {
				return true
			}
		}
	}
	return false
}

// keeps is when the owner of the drafted piece may be moved.
func (f *full) keeps(pc *piece) Slot {
	var hold Slot
	for k, i := range pc.tasks {
		l := &f.draft.tasks[k]
		hold = max(hold, l.finish)
		if t := f.p.Tasks[i].Modes[l.mode].Keeps; t >= 0 {
			hold = max(hold, f.look(t, l.finish))
		}
	}
	return hold
}
