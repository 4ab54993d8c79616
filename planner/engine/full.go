package engine

// full is the kernel for everything a Problem can say: a partial schedule with its
// bookings, to which pieces are added and from which they are taken again.
type full struct {
	p     *Problem
	slots Slot
	plan  *outline

	crews, rooms []stock
	airs         []stock // two for each air: near, far; what is taken is below nought
	at           []laid  // by task; mode -1 has no start
	done         []bool  // by piece
	owners       []stand
	log          []taking
	touched      []bool // owners whose state is kept in before
	changed      []int  // those owners
	before       []stand
	kept         []laid // by task: what it was before the trial
	isKept       []bool
	keptTasks    []int
	logging      bool

	work   int // tasks laid since the count was last taken
	draft  draft
	chosen draft
	random pcg
	blinks int // of 1000 choices of a place that skip the best one
}

// laid is where a task is.
type laid struct {
	mode          int
	start, finish Slot
	parts         []Span
	mend          Slot // slots of repair before it, 0 is none
}

func (l *laid) copyFrom(o *laid) {
	parts := append(l.parts[:0], o.parts...)
	*l = *o
	l.parts = parts
}

// stand is an owner: where it has been so far, and what was done to it, in the
// order in which it was planned.
type stand struct {
	stays  []Stay
	hold   Slot // it may not be moved before
	tail   tail
	pieces []placed
	frees  []int // tasks that were laid where it is
}

// placed is a piece that was laid, and what the owner was like before.
type placed struct {
	piece    int
	stays    int // how many there were
	to, hold Slot
	frees    int
}

func (s *stand) copyFrom(o *stand) {
	s.stays = append(s.stays[:0], o.stays...)
	s.pieces = append(s.pieces[:0], o.pieces...)
	s.frees = append(s.frees[:0], o.frees...)
	s.hold, s.tail = o.hold, o.tail
}

// taking is one booking of a trial, so that it can be given back.
type taking struct {
	of       *stock
	from, to Slot
	n        int
}

// newFull is an empty schedule of a problem that was found valid.
func newFull(p *Problem, plan *outline) *full {
	f := &full{p: p, slots: p.Slots, plan: plan}
	f.crews = make([]stock, len(p.Crews))
	for c := range p.Crews {
		f.crews[c] = newStock(p.Slots, 0)
		for k, level := range p.Crews[c].Hours {
			to := p.Slots
			if k+1 < len(p.Crews[c].Hours) {
				to = p.Crews[c].Hours[k+1].From
			}
			f.crews[c].take(level.From, to, -level.N)
		}
	}
	f.rooms = make([]stock, len(p.Places))
	for q := range p.Places {
		f.rooms[q] = newStock(p.Slots, p.Places[q].Room)
	}
	f.airs = make([]stock, 2*p.Airs)
	for a := range f.airs {
		f.airs[a] = newStock(p.Slots, 0)
	}
	f.at, f.kept = make([]laid, len(p.Tasks)), make([]laid, len(p.Tasks))
	for i := range f.at {
		f.at[i].mode = -1
	}
	f.done, f.isKept = make([]bool, len(plan.pieces)), make([]bool, len(p.Tasks))
	f.owners, f.before = make([]stand, len(p.Owners)), make([]stand, len(p.Owners))
	f.touched = make([]bool, len(p.Owners))
	for o := range p.Owners {
		w, s := &p.Owners[o], &f.owners[o]
		s.hold = max(w.Arrives, w.Held)
		if w.Place >= 0 {
			s.stays = append(s.stays, Stay{Owner: o, Place: w.Place, From: w.Arrives, To: s.hold, Mover: -1})
			f.rooms[w.Place].take(w.Arrives, s.hold, 1)
		}
	}
	for o := range p.Owners {
		f.keepRoom(o)
	}
	most := 0
	for u := range plan.pieces {
		most = max(most, len(plan.pieces[u].tasks))
	}
	f.draft.make(most)
	f.chosen.make(most)
	return f
}

// copyFrom takes over another's schedule of the same problem.
func (f *full) copyFrom(o *full) {
	for c := range f.crews {
		f.crews[c].copyFrom(&o.crews[c])
	}
	for q := range f.rooms {
		f.rooms[q].copyFrom(&o.rooms[q])
	}
	for a := range f.airs {
		f.airs[a].copyFrom(&o.airs[a])
	}
	for i := range f.at {
		f.at[i].copyFrom(&o.at[i])
	}
	copy(f.done, o.done)
	for i := range f.owners {
		f.owners[i].copyFrom(&o.owners[i])
	}
}

func (f *full) take(s *stock, from, to Slot, n int) {
	if from >= to || n == 0 {
		return
	}
	s.take(from, to, n)
	if f.logging {
		f.log = append(f.log, taking{s, from, to, n})
	}
}

// look is a table's entry at a slot: never (the end of the grid) where there is
// none, or after the grid.
func (f *full) look(table int, s Slot) Slot {
	if s >= f.slots {
		return f.slots
	}
	v := f.p.Tables[table][max(s, 0)]
	if v == None {
		return f.slots
	}
	return v
}
