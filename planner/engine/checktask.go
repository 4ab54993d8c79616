package engine

// task checks what a task needs by itself: its tables, its crews, its place.
func (c *checker) task(i int) {
	t, s := &c.p.Tasks[i], &c.r.Starts[i]
	mode := &t.Modes[s.Mode]
	if mode.Starts >= 0 && c.p.Tables[mode.Starts][s.Start] != s.Start {
		c.fault("starts[%d]: its table %d does not open at %d", i, mode.Starts, s.Start)
	}
	parts := c.parts(i)
	for _, part := range parts {
		for _, use := range mode.Uses {
			c.use(use.Crew, use.N, part.From, part.To)
		}
		c.open(i, part)
		for at := part.From; mode.Works >= 0 && t.Pauses && at < part.To; at++ {
			if c.p.Tables[mode.Works][at] != at {
				c.fault("starts[%d]: goes on at %d, its table %d does not", i, at, mode.Works)
				break
			}
		}
	}
	for k, part := range parts[:len(parts)-1] {
		if c.canGoOn(i, part.To) {
			c.fault("starts[%d]: pauses at %d after part %d, with no need", i, part.To, k)
		}
	}
	if t.Owner >= 0 && mode.Keeps >= 0 {
		c.unmoved(i, s.Start, c.entry(mode.Keeps, s.Finish))
	}
	if t.Owner >= 0 && c.stands(i) && !c.inBlock(i) {
		c.alone(i)
	}
}

// stands reports whether a task is one for which its owner is brought to a place.
func (c *checker) stands(i int) bool {
	for _, m := range c.p.Tasks[i].Modes {
		if m.Place >= 0 {
			return true
		}
	}
	return false
}

func (c *checker) inBlock(i int) bool {
	for b := range c.p.Blocks {
		for _, k := range c.p.Blocks[b].Tasks {
			if k == i {
				return true
			}
		}
	}
	return false
}

// alone checks where a task that is in no block is done. One that takes no time may be
// done as its owner passes through.
func (c *checker) alone(i int) {
	t, s := &c.p.Tasks[i], &c.r.Starts[i]
	if s.Start == s.Finish {
		return
	}
	mode := &t.Modes[s.Mode]
	n := c.stayOver(t.Owner, s.Start, s.Finish)
	if n < 0 || mode.Place >= 0 && c.stays[t.Owner][n].Place != mode.Place {
		c.fault("starts[%d]: its owner is not in place %d at %d", i, mode.Place, s.Start)
		return
	}
	if mode.Soak >= 0 && s.Start < c.entry(mode.Soak, c.in(t.Owner, n)) {
		c.fault("starts[%d]: before its owner has soaked", i)
	}
}

// stayOver is the stay of an owner that holds all of [from, to).
func (c *checker) stayOver(o int, from, to Slot) int {
	for n, s := range c.stays[o] {
		if c.in(o, n) <= from && to <= s.To {
			return n
		}
	}
	return -1
}

// open checks that nobody works where it is shut, where owners only wait, or on one
// that is being moved.
func (c *checker) open(i int, part Span) {
	t := &c.p.Tasks[i]
	shut := func(q int, from, to Slot) {
		for _, s := range c.p.Places[q].Shut {
			if s.From < to && from < s.To {
				c.fault("starts[%d]: goes on at %d in place %d, which is shut", i, max(s.From, from), q)
			}
		}
	}
	if t.Owner < 0 {
		if q := t.Modes[c.r.Starts[i].Mode].Place; q >= 0 {
			shut(q, part.From, part.To)
		}
		return
	}
	for n, s := range c.stays[t.Owner] {
		if s.From >= part.To || s.To <= part.From {
			continue
		}
		if c.p.Places[s.Place].Waits || c.in(t.Owner, n) > part.From {
			c.fault("starts[%d]: goes on while its owner is moved or waits", i)
		}
		shut(s.Place, max(part.From, s.From), min(part.To, s.To))
	}
}

// canGoOn reports whether work that pauses at a slot could have gone on there.
func (c *checker) canGoOn(i int, at Slot) bool {
	s := &c.r.Starts[i]
	mode := &c.p.Tasks[i].Modes[s.Mode]
	for _, use := range mode.Uses {
		if c.there(use.Crew, at) < use.N {
			return false
		}
	}
	if mode.Works >= 0 && c.p.Tables[mode.Works][at] != at {
		return false
	}
	place := mode.Place
	if o := c.p.Tasks[i].Owner; o >= 0 && place < 0 {
		for _, s := range c.stays[o] {
			if s.From <= at && at < s.To {
				place = s.Place
			}
		}
	}
	for q := range c.p.Places {
		for _, shut := range c.p.Places[q].Shut {
			if q == place && shut.From <= at && at < shut.To {
				return false
			}
		}
	}
	return true
}

// unmoved checks that an owner stays where it is over [from, to).
func (c *checker) unmoved(i int, from, to Slot) {
	o := c.p.Tasks[i].Owner
	for n, s := range c.stays[o] {
		if (n > 0 || c.p.Owners[o].Place < 0) && s.From > from && s.From < to {
			c.fault("starts[%d]: its owner is moved at %d, to be kept until %d", i, s.From, to)
		}
	}
}

// sides checks that nothing goes on on both sides of an air.
func (c *checker) sides() {
	type held struct {
		task int
		side Side
		span Span
	}
	var all []held
	for i := range c.p.Tasks {
		if c.r.Starts[i].Mode < 0 {
			continue
		}
		for _, s := range c.p.Tasks[i].Modes[c.r.Starts[i].Mode].Sides {
			if s.Upto >= 0 {
				start, finish := c.r.Starts[i].Start, c.r.Starts[i].Finish
				all = append(all, held{i, s, Span{start, max(finish, c.entry(s.Upto, start)) + s.Past}})
				continue
			}
			for _, part := range c.parts(i) {
				all = append(all, held{i, s, Span{part.From, part.To + s.Past}})
			}
		}
	}
	for n, a := range all {
		for _, b := range all[:n] {
			if a.task != b.task && a.side.Air == b.side.Air && a.side.Far != b.side.Far && a.span.From < b.span.To && b.span.From < a.span.To {
				c.fault("starts[%d]: on the other side of air %d than starts[%d]", a.task, a.side.Air, b.task)
			}
		}
	}
}

// block checks that a block is whole, in one stay, in order, and kept there.
func (c *checker) block(b int) {
	block := &c.p.Blocks[b]
	var whole, begun bool
	placed := 0
	first, last := c.p.Slots, Slot(0)
	for k, i := range block.Tasks {
		s := &c.r.Starts[i]
		if s.Mode < 0 {
			continue
		}
		placed++
		first = min(first, s.Start)
		last = max(last, s.Finish)
		if keeps := c.p.Tasks[i].Modes[s.Mode].Keeps; keeps >= 0 {
			last = max(last, c.entry(keeps, s.Finish))
		}
		if k > 0 {
			if was := &c.r.Starts[block.Tasks[k-1]]; was.Mode >= 0 && s.Start < was.Finish {
				c.fault("blocks[%d]: task %d starts before task %d is done", b, i, block.Tasks[k-1])
			}
		}
	}
	whole, begun = placed == len(block.Tasks), placed > 0
	if !begun {
		return
	}
	if !whole {
		c.fault("blocks[%d]: only %d of %d tasks have starts", b, placed, len(block.Tasks))
		return
	}
	c.inOneStay(b, first, last)
}

func (c *checker) inOneStay(b int, first, last Slot) {
	block := &c.p.Blocks[b]
	stands := false
	for _, i := range block.Tasks {
		stands = stands || c.stands(i)
	}
	if !stands || block.Owner < 0 {
		return
	}
	n := c.stayOver(block.Owner, first, last)
	if n < 0 {
		c.fault("blocks[%d]: its owner is not in one place from %d to %d", b, first, last)
		return
	}
	stay := c.stays[block.Owner][n]
	for _, i := range block.Tasks {
		mode := &c.p.Tasks[i].Modes[c.r.Starts[i].Mode]
		if mode.Place >= 0 && mode.Place != stay.Place || c.p.Places[stay.Place].Waits {
			c.fault("blocks[%d]: task %d is done in place %d, its owner is in %d", b, i, mode.Place, stay.Place)
		}
		if mode.Soak >= 0 && c.r.Starts[i].Start < c.entry(mode.Soak, c.in(block.Owner, n)) {
			c.fault("blocks[%d]: task %d starts before its owner has soaked", b, i)
		}
	}
}
