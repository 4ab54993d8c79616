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
