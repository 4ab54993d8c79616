package engine

// Work is work that may pause when its people go home, but not before: each
// part runs until the end of their hours or until the work is done.
type Work struct {
	Slots Slot // of work
	Need  int  // people
	Least Slot // no part is shorter, but for the last one
	// Blocked is the last slot of [from, to) in which the work may not go on, or None.
	Blocked func(from, to Slot) Slot
}

// Spread lays work over the hours of t, beginning exactly at from. The parts are
// nil if it cannot begin there or does not end within the grid.
func (t *Timetable) Spread(from Slot, w Work) []Span {
	first, wait := t.part(from, w.Slots, w)
	if wait != None || first.Long() <= 0 {
		return nil
	}
	parts, left := []Span{first}, w.Slots-first.Long()
	for s := first.To; left > 0; {
		if s = t.Opens(s); s == None {
			return nil
		}
		p, wait := t.part(s, left, w)
		if wait != None {
			s = wait
			continue
		}
		parts, left, s = append(parts, p), left-p.Long(), p.To
	}
	return parts
}

// part is the run of work that begins at s, or the next slot worth trying.
func (t *Timetable) part(s, left Slot, w Work) (Span, Slot) {
	end := min(t.Closes(s), s+left)
	if end <= s || end-s < min(w.Least, left) {
		return Span{}, max(end, s+1)
	}
	lack := t.Lack(s, end, w.Need)
	if w.Blocked != nil {
		lack = max(lack, w.Blocked(s, end))
	}
	if lack != None {
		return Span{}, lack + 1
	}
	return Span{s, end}, None
}
