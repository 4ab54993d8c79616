package engine

// clear takes everything out.
func (f *full) clear() {
	for u := len(f.plan.pieces) - 1; u >= 0; u-- {
		f.unplace(u)
	}
	for o := range f.owners {
		f.leaveRoom(o)
		f.keepRoom(o)
	}
}

// unplace takes a piece out with all that depends on it.
func (f *full) unplace(u int) {
	if !f.done[u] {
		return
	}
	for _, v := range f.plan.pieces[u].next {
		f.unplace(v)
	}
	o := f.plan.pieces[u].owner
	if o < 0 {
		f.unlay(u)
		return
	}
	for f.done[u] {
		s := &f.owners[o]
		last := s.pieces[len(s.pieces)-1].piece
		for _, v := range f.plan.pieces[last].next {
			f.unplace(v)
		}
		if f.done[last] {
			f.leaveRoom(o)
			f.lift(o)
		}
	}
}

// settle is done by the owner of the schedule once the search has ended.
func (f *full) settle() {}
