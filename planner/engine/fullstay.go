package engine

// enterTries is how often another way in is tried when an owner has nowhere to be
// until then, or the place is not free for long enough. Our judgement.
const enterTries = 64

// enter is the first slot from which an owner can be brought into a place, and who
// brings it.
func (f *full) enter(q int, from Slot) (Slot, int) {
	move := f.p.Places[q].Move
	for at := from; at+move < f.slots; {
		lack := max(f.plan.shut[q].lack(at, at+max(move, 1), 0), f.rooms[q].lack(at, at+move+1, 1))
		if lack != None {
			at = lack + 1
			continue
		}
		next, who := f.mover(q, at)
		if next == at {
			return at, who
		}
		at = next
	}
	return None, -1
}

// mover is who can bring an owner in at a slot, or the next slot worth a try.
func (f *full) mover(q int, at Slot) (Slot, int) {
	p := &f.p.Places[q]
	if p.Move == 0 || len(p.Movers) == 0 {
		return at, -1
	}
	next := f.slots
	for _, c := range p.Movers {
		lack := f.crews[c].lack(at, at+p.Move, 1)
		if lack == None {
			return at, c
		}
		next = min(next, lack+1)
	}
	return next, -1
}

// bridge finds where an owner is from the end of its last stay until it is brought
// in somewhere: where it stands, or where owners wait. The draft's stays begin with it.
func (f *full) bridge(o int, until Slot, d *draft) bool {
	s := &f.owners[o]
	d.adds = d.adds[:0]
	if len(s.stays) == 0 {
		return true
	}
	last := &s.stays[len(s.stays)-1]
	d.gapTo = until
	if f.rooms[last.Place].lack(s.hold, until, 1) == None && f.undisturbed(o, Stay{Place: last.Place, From: s.hold, To: until}, false) {
		return true
	}
	best := None
	for w := range f.p.Places {
		p := &f.p.Places[w]
		if !p.Waits || w == last.Place {
			continue
		}
		at, who := f.enter(w, s.hold)
		if at == None || at+p.Move > until || best != None && at >= best {
			continue
		}
		stay := Stay{Owner: o, Place: w, From: at, To: until, Mover: who}
		if f.rooms[w].lack(at, until, 1) != None || f.rooms[last.Place].lack(s.hold, at, 1) != None || !f.undisturbed(o, stay, true) ||
			!f.undisturbed(o, Stay{Place: last.Place, From: s.hold, To: at}, false) {
			continue
		}
		best = at
		d.gapTo = at
		d.adds = append(d.adds[:0], stay)
	}
	return best != None
}

// undisturbed reports whether none of the owner's tasks that were laid wherever it
// is falls into a stay in which it cannot be done.
func (f *full) undisturbed(o int, stay Stay, moves bool) bool {
	p := &f.p.Places[stay.Place]
	for _, i := range f.owners[o].frees {
		l := &f.at[i]
		from, to := l.start-l.mend, l.finish
		if moves {
			until := to
			if k := f.p.Tasks[i].Modes[l.mode].Keeps; k >= 0 {
				until = max(until, f.look(k, l.finish))
			}
			if stay.From < until && from < stay.From+max(p.Move, 1) {
				return false
			}
		}
		if from >= stay.To || to <= stay.From {
			continue
		}
		if p.Waits || f.plan.shut[stay.Place].lack(max(from, stay.From), min(to, stay.To), 0) != None {
			return false
		}
	}
	return true
}

// away is the slot from which a task may be tried again that would go on while its
// owner is moved, waits, or stands where it is shut; None if it does not.
func (f *full) away(o int, from, to Slot) Slot {
	if o < 0 {
		return None
	}
	next := None
	for n := range f.owners[o].stays {
		s := &f.owners[o].stays[n]
		if s.From >= to || s.To <= from {
			continue
		}
		p := &f.p.Places[s.Place]
		switch in := f.movedIn(o, n); {
		case p.Waits:
			next = max(next, s.To)
		case in > from:
			next = max(next, in)
		}
		if lack := f.plan.shut[s.Place].lack(max(from, s.From), min(to, s.To), 0); lack != None {
			next = max(next, lack+1)
		}
	}
	return next
}

// moved is the slot after which an owner is next moved, if that is within [from, to);
// else None.
func (f *full) moved(o int, from, to Slot) Slot {
	if o < 0 {
		return None
	}
	next := None
	for n := range f.owners[o].stays {
		if in := f.movedIn(o, n); f.owners[o].stays[n].From >= from && f.owners[o].stays[n].From < to && (n > 0 || f.p.Owners[o].Place < 0) {
			next = max(next, in, from+1)
		}
	}
	return next
}

// movedIn is when an owner has been brought in for its nth stay.
func (f *full) movedIn(o, n int) Slot {
	s := &f.owners[o].stays[n]
	if n == 0 && f.p.Owners[o].Place >= 0 {
		return s.From
	}
	return s.From + f.p.Places[s.Place].Move
}
