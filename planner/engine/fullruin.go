package engine

// The ways to take pieces out.
const (
	ofOwner = iota
	ofSpan
	ofPlace
	ofCrew
	ofLate
	ofWeather
	ofAll
	ruins
)

// waitTries is how many of the pieces that have no place a trial tries again, on
// average. Our judgement.
const waitTries = 16

// decay is how fast what a ruin won is forgotten. Our judgement.
const decay = 0.98

// choose draws a ruin, those that did well more often.
func (k *worker) choose() int {
	var sum float64
	for _, s := range k.scores {
		sum += s
	}
	at := float64(k.f.random.next()) / (1 << 32) * sum
	for r, s := range k.scores {
		if at -= s; at < 0 {
			return r
		}
	}
	return 0
}

func (k *worker) learn(kind int, cost int64) {
	won := 0.1
	switch {
	case cost < k.least:
		won = 6
	case cost < k.cost:
		won = 2
	}
	k.scores[kind] = max(0.05, k.scores[kind]*decay+won*(1-decay))
}

// out takes a piece out, with all that was laid for its owner after it and all
// that waits for it.
func (k *worker) out(u int) {
	f := k.f
	if k.isOut[u] || !f.done[u] {
		return
	}
	pc := &f.plan.pieces[u]
	for _, v := range pc.next {
		k.out(v)
	}
	if !f.done[u] {
		return
	}
	if pc.owner < 0 {
		f.unlay(u)
		k.order = append(k.order, u)
		return
	}
	s := &f.owners[pc.owner]
	for f.done[u] {
		last := s.pieces[len(s.pieces)-1].piece
		for _, v := range f.plan.pieces[last].next {
			k.out(v)
		}
		if !f.done[last] {
			continue
		}
		f.touch(pc.owner)
		f.leaveRoom(pc.owner)
		k.order = append(k.order, f.lift(pc.owner))
	}
}

// ruin takes pieces out in one of the ways, and gives those that are out keys.
func (k *worker) ruin(kind int) {
	f := k.f
	n := len(f.plan.pieces)
	u := f.random.below(n)
	for tries := 0; tries < 8 && !f.done[u]; tries++ {
		u = f.random.below(n)
	}
	many := 1 + f.random.below(max(2, min(n/2, 3)))
	at := &f.at[f.plan.pieces[u].tasks[0]]
	switch kind {
	case ofOwner:
		if o := f.plan.pieces[u].owner; o >= 0 {
			k.outOwner(o)
			if len(f.owners) > 1 && f.random.below(2) == 0 {
				k.outOwner(f.random.below(len(f.owners)))
			}
		} else {
			k.out(u)
		}
	case ofSpan, ofPlace, ofCrew, ofWeather:
		k.outNear(u, at, kind, many)
	case ofLate:
		k.outLate(many)
	default:
		for range many {
			k.out(f.random.below(n))
		}
	}
	// What has no place is tried again, too, some of it.
	for v := range f.plan.pieces {
		k.isOut[v] = false
	}
	for _, v := range k.order {
		k.isOut[v] = true
	}
	waiting := 0
	for v := range f.plan.pieces {
		if !f.done[v] && !k.isOut[v] {
			waiting++
		}
	}
	for v := range f.plan.pieces {
		if !f.done[v] && !k.isOut[v] && f.random.below(waiting) < waitTries {
			k.order = append(k.order, v)
		}
	}
	for v := range f.plan.pieces {
		k.isOut[v] = false
	}
	rule, noise := f.random.below(rules+1), 1+f.random.below(int(f.slots)/16+1)
	for _, v := range k.order {
		if rule == rules {
			k.key[v] = int64(f.random.below(int(f.slots)))
		} else {
			k.key[v] = k.priority(v, rule) + int64(f.random.below(noise))
		}
	}
}

func (k *worker) outOwner(o int) {
	for s := &k.f.owners[o]; len(s.pieces) > 0; {
		k.out(s.pieces[0].piece)
	}
}

// outNear takes out pieces that go on near one: at the same time, in its place, of
// its crews, or behind the shut spans of tables that hold them back.
func (k *worker) outNear(u int, at *laid, kind, many int) {
	f := k.f
	if at.mode < 0 {
		return
	}
	from, to := at.start, at.finish
	wide := Slot(f.random.below(int(f.slots)/6 + 1))
	from, to = from-wide, to+wide
	place := f.placeOf(f.plan.pieces[u].tasks[0], at)
	crew := -1
	if uses := f.p.Tasks[f.plan.pieces[u].tasks[0]].Modes[at.mode].Uses; len(uses) > 0 {
		crew = uses[f.random.below(len(uses))].Crew
	}
	k.out(u)
	first := f.random.below(len(f.plan.pieces))
	for n := 0; n < len(f.plan.pieces) && many > 0; n++ {
		v := (first + n) % len(f.plan.pieces)
		if f.done[v] && k.near(v, from, to, kind, place, crew) {
			k.out(v)
			many--
		}
	}
}

func (k *worker) near(v int, from, to Slot, kind, place, crew int) bool {
	f := k.f
	for _, i := range f.plan.pieces[v].tasks {
		l := &f.at[i]
		if l.start >= to || l.finish <= from {
			continue
		}
		mode := &f.p.Tasks[i].Modes[l.mode]
		switch kind {
		case ofSpan:
			return true
		case ofPlace:
			if mode.Place == place || f.placeOf(i, l) == place {
				return true
			}
		case ofCrew:
			for _, use := range mode.Uses {
				if use.Crew == crew {
					return true
				}
			}
		case ofWeather:
			if mode.Starts >= 0 && l.start > 0 && f.look(mode.Starts, l.start-1) != l.start-1 {
				return true
			}
		}
	}
	return false
}

// outLate takes out the owners that are late, and some that are not.
func (k *worker) outLate(many int) {
	f := k.f
	first := f.random.below(len(f.p.Tasks))
	for n := range f.p.Tasks {
		i := (first + n) % len(f.p.Tasks)
		if l := &f.at[i]; l.mode >= 0 && f.lateness(i, l) > 0 {
			if o := f.p.Tasks[i].Owner; o >= 0 {
				k.outOwner(o)
			} else {
				k.out(f.plan.of[i])
			}
			if many -= 3; many <= 0 {
				break
			}
		}
	}
	k.out(f.random.below(len(f.plan.pieces)))
}
