package engine

// tail is room that is kept for an owner whose next piece is not laid yet, so that
// it has somewhere to be: where it stands until it is moved, and where it waits.
type tail struct {
	kept     bool
	from, to Slot // where it stands
	wait     int  // a place, or -1
	waits    Slot // from when on it is there
	mover    int
}

// keepRoom keeps room for an owner that is waited for elsewhere: where owners wait,
// so that it is in nobody's way, else where it is, as long as there is some.
func (f *full) keepRoom(o int) {
	s := &f.owners[o]
	s.tail = tail{}
	if len(s.stays) == 0 || !f.plan.comesBack(f, o) {
		return
	}
	last := &s.stays[len(s.stays)-1]
	t := tail{kept: true, from: s.hold, wait: -1}
	t.to = f.rooms[last.Place].first(s.hold, f.slots, 1)
	for w := range f.p.Places {
		if !f.p.Places[w].Waits || w == last.Place {
			continue
		}
		at, who := f.enter(w, s.hold)
		if at != None && at <= t.to && (t.wait < 0 || at < t.waits) && f.rooms[w].lack(at, f.slots, 1) == None {
			t.wait, t.waits, t.mover = w, at, who
		}
	}
	if t.wait >= 0 {
		t.to = t.waits
	}
	s.tail = t
	f.takeTail(s, 1)
}

func (f *full) leaveRoom(o int) {
	if s := &f.owners[o]; s.tail.kept {
		f.takeTail(s, -1)
		s.tail.kept = false
	}
}

func (f *full) takeTail(s *stand, n int) {
	t := &s.tail
	f.take(&f.rooms[s.stays[len(s.stays)-1].Place], t.from, t.to, n)
	if t.wait < 0 {
		return
	}
	f.take(&f.rooms[t.wait], t.waits, f.slots, n)
	if t.mover >= 0 {
		f.take(&f.crews[t.mover], t.waits, t.waits+f.p.Places[t.wait].Move, n)
	}
}
