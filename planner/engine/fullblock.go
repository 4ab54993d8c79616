package engine

import "math"

// draft is a piece laid in one place, not yet booked.
type draft struct {
	tasks        []laid
	floor        []Slot
	place        int
	joins        bool   // the owner stays on where it is
	gapTo        Slot   // until when its last stay goes on
	adds         []Stay // then it waits here, and is here
	hold         Slot
	cost         int64
	end          Slot
	mends, later bool // how it was laid
	broke        bool // a greatest lag was broken, or pushed
	try          laid
	over         Slot
	tooLate      int
}

func (d *draft) make(tasks int) {
	d.tasks, d.floor = make([]laid, tasks), make([]Slot, tasks)
	d.adds = make([]Stay, 0, 4)
}

// pushes is how often earlier tasks of a piece are put off for a greatest lag. Our judgement.
const pushes = 24

// place lays a piece where it costs least, and books it; false if it finds no room.
// From is a slot before which none of its tasks starts.
func (f *full) place(u int, from Slot) bool {
	pc := &f.plan.pieces[u]
	for _, a := range pc.after {
		if !f.done[a] {
			return false
		}
	}
	f.work += len(pc.tasks)
	o := pc.owner
	if o >= 0 {
		f.touch(o)
		f.leaveRoom(o)
	}
	f.chosen.cost = math.MaxInt64
	f.chosen.end = 0
	found := false
	if pc.free || o < 0 {
		if pc.free {
			found = f.options(u, -1, true, from) || found
		}
		for _, q := range pc.places {
			found = f.options(u, q, true, from) || found
		}
	} else {
		here := -1
		if n := len(f.owners[o].stays); n > 0 {
			here = f.owners[o].stays[n-1].Place
		}
		for _, q := range pc.places {
			found = q == here && f.options(u, q, true, from) || found
		}
		for _, q := range pc.places {
			// It comes back to where it is only if it cannot stay on.
			if q != here || !found {
				found = f.options(u, q, false, from) || found
			}
		}
	}
	if found {
		f.squeeze(u)
		f.book(u)
	}
	if o >= 0 {
		f.keepRoom(o)
	}
	return found
}

// squeezes is how often a later beginning is tried that ends no later. Our judgement.
const squeezes = 4

// squeeze begins the chosen draft later, if that costs less: the place is held for
// shorter, and its tasks wait for each other less.
func (f *full) squeeze(u int) {
	pc, c := &f.plan.pieces[u], &f.chosen
	if c.place < 0 || pc.owner < 0 || f.p.Places[c.place].Hold == 0 || len(pc.tasks) < 2 || c.joins {
		return
	}
	start, wait := c.tasks[0].start, Slot(0)
	for j := 1; j < len(pc.tasks); j++ {
		wait += max(0, c.tasks[j].start-c.tasks[j].mend-c.tasks[j-1].finish)
	}
	blinks := f.blinks
	f.blinks = 0
	for range squeezes {
		if wait == 0 {
			break
		}
		f.draft.broke = c.mends
		if f.option(u, c.place, false, start+wait, c.mends, c.later) && f.better() {
			f.choose(len(pc.tasks))
			start += wait
		}
		wait /= 2
	}
	f.blinks = blinks
}

// options tries the ways in which a piece may be laid in a place, and keeps the
// cheapest so far in chosen.
func (f *full) options(u, q int, joins bool, from Slot) bool {
	pc := &f.plan.pieces[u]
	found := false
	for later := 0; later < 2; later++ {
		if later == 1 && !pc.told && !pc.priced {
			break
		}
		for mends := 0; mends < 2; mends++ {
			if mends == 1 && !f.draft.broke {
				break
			}
			f.draft.broke = mends == 1
			ok := f.option(u, q, joins, from, mends == 1, later == 1)
			if ok && (!found && f.chosen.cost == math.MaxInt64 || f.better()) {
				f.choose(len(pc.tasks))
				found = true
			}
		}
	}
	return found
}

func (f *full) better() bool {
	d, c := &f.draft, &f.chosen
	if f.blinks > 0 && int(f.random.next()%1000) < f.blinks {
		return false
	}
	return d.cost < c.cost || d.cost == c.cost && d.end < c.end
}

func (f *full) choose(n int) {
	d, c := &f.draft, &f.chosen
	for k := range n {
		c.tasks[k].copyFrom(&d.tasks[k])
	}
	c.place, c.joins, c.gapTo, c.hold, c.cost, c.end = d.place, d.joins, d.gapTo, d.hold, d.cost, d.end
	c.mends, c.later = d.mends, d.later
	c.adds = append(c.adds[:0], d.adds...)
}

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
			if f.rooms[s.stays[n-1].Place].lack(s.hold, last, 1) != None {
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

// lay lays the tasks of a piece one after another. What breaks a greatest lag
// within the piece puts the earlier task off, unless it may be mended.
func (f *full) lay(pc *piece, k *seek, from Slot) bool {
	d := &f.draft
	for j, i := range pc.tasks {
		d.floor[j] = from
		if told := f.p.Tasks[i].Told; k.later && told != nil && told.Weight > 0 {
			d.floor[j] = max(from, told.Start)
		}
		f.at[i].mode = -1
	}
	left, ok, j := pushes, true, 0
	for j < len(pc.tasks) {
		i := pc.tasks[j]
		k.task, k.after = i, 0
		if b := pc.before[j]; b >= 0 {
			k.after = f.at[pc.tasks[b]].finish
		}
		if f.pick(k, d.floor[j]) {
			if f.dear(pc, j) {
				ok = false
				break
			}
			f.hold(pc, i, 1)
			j++
			continue
		}
		late := d.tooLate
		if late < 0 {
			ok = false
			break
		}
		d.broke = d.broke || f.p.Lags[late].Repair != nil
		b := -1
		for x := range j {
			if pc.tasks[x] == f.p.Lags[late].Before {
				b = x
			}
		}
		if left--; b < 0 || left < 0 {
			ok = false
			break
		}
		d.floor[b] = f.at[pc.tasks[b]].start + d.over
		for ; j > b; j-- {
			f.hold(pc, pc.tasks[j-1], -1)
			f.at[pc.tasks[j-1]].mode = -1
		}
	}
	for x := len(pc.tasks) - 1; x >= 0; x-- {
		if d.tasks[x].copyFrom(&f.at[pc.tasks[x]]); x < j {
			f.hold(pc, pc.tasks[x], -1)
		}
	}
	for _, i := range pc.tasks {
		f.at[i].mode = -1
	}
	return ok
}

// dear reports whether a piece, laid as far as its jth task, must cost more than the
// best draft so far.
func (f *full) dear(pc *piece, j int) bool {
	c := &f.chosen
	if c.cost == math.MaxInt64 {
		return false
	}
	end := f.at[pc.tasks[j]].finish + pc.rest[j]
	var least int64
	for _, g := range pc.goals {
		least += g.weight * int64(max(0, end-g.latest))
	}
	return least > c.cost || least == c.cost && end >= c.end
}

// hold keeps a drafted task's airs from the rest of its piece, and its crews where
// the tasks of the piece may go on together; or gives them back.
func (f *full) hold(pc *piece, i, n int) {
	if pc.merged {
		f.reserve(i, n)
	} else if pc.clash {
		f.reserveAirs(i, n)
	}
}

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
