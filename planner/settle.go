package planner

import (
	"math"
	"slices"

	"fairwindow/planner/engine"
)

// settle starts single stages earlier, all else as planned, until none can
// without making the objective worse; the last round leaves each stage its waits.
func (s *schedule) settle() {
	s.asTold = false // from here on what people were told is a cost, but for frozen starts
	for i := range s.boats {
		s.refresh(i)
	}
	all := s.inOrder()
	for range 4 * (len(all) + 1) {
		moved := false
		for _, p := range all {
			if better, waits := s.ledger(p); better != nil {
				s.move(p, better)
				moved = true
			} else {
				p.waits = waits
			}
		}
		if !moved {
			break
		}
	}
	for _, p := range all {
		s.yield(p)
	}
}

// inOrder is every placed stage by start.
func (s *schedule) inOrder() []*placed {
	var all []*placed
	for _, st := range s.boats {
		all = append(all, st.placed...)
	}
	slices.SortStableFunc(all, func(a, b *placed) int { return int(a.start - b.start) })
	return all
}

// refresh works out the films and the ready times of a boat's stages anew.
func (s *schedule) refresh(i int) {
	st := s.boats[i]
	st.way = s.wayOf(i, st.stays, st.coats())
	for _, a := range s.model.boats[i].areas {
		f := s.model.areas[a].film
		for _, p := range s.areas[a].done {
			p.film = f
			f = after(p)
		}
		s.areas[a].film = f
		if n := len(s.areas[a].done); n > 0 {
			s.areas[a].ended = s.areas[a].done[n-1].end
		}
	}
	for _, p := range st.placed {
		if !p.running {
			p.ready = min(s.readyOf(i, p), p.start)
		}
	}
	s.relaunch(i)
}

// readyOf is when all that comes before a placed stage is done: the stage before
// it, the area before its area, its milestone, the boat, and for a stage that
// the boat is moved for, the coats that may not be moved yet.
func (s *schedule) readyOf(i int, p *placed) engine.Slot {
	ar, area := s.areas[p.job.area], &s.model.areas[p.job.area]
	ready := max(s.now, area.ended, s.model.boats[i].arrives)
	if n := slices.Index(ar.done, p); n > 0 {
		ready = max(ready, ar.done[n-1].end)
	}
	if area.after >= 0 {
		ready = max(ready, s.areas[area.after].ended)
	}
	if !p.job.unlimited() {
		ready = max(ready, s.out.opens(p.film, p.job.stage.Needs(), s.boats[i].way))
	}
	if p.entered {
		ready = max(ready, p.leave)
	}
	return ready
}

// ledger is the second ledger of a stage: one cause for each slot from ready to
// its start. If a slot has no cause the stage could start there: that is better.
func (s *schedule) ledger(p *placed) (better *placed, waits []slotWait) {
	if p.running {
		return nil, nil
	}
	s.take(p, -1)
	defer s.take(p, 1)
	for t := p.ready; t < p.start; {
		q, stays, why := s.tryAt(p, t)
		if !why.refused() {
			q.stays = stays
			return &q, nil
		}
		next := min(max(s.asked(p.job, t, why), t+1), p.start)
		waits = append(waits, slotWait{engine.Span{From: t, To: next}, why})
		t = next
	}
	return nil, waits
}

// asked is the first slot after t for which a refusal says nothing: what is
// asked after the shift was asked of this shift's hours only.
func (s *schedule) asked(j *job, t engine.Slot, why refusal) engine.Slot {
	next := why.next
	switch why.cause {
	case Clearance, Dust, OutOfLimits, GaveWay, KeptClose, ShorterHold, LaterCalmer, AsTold:
		for _, c := range j.crews {
			if closes := s.hours[c].Closes(t); closes > t {
				next = min(next, closes)
			}
		}
	}
	return next
}

// slotWait is a span of waiting with its refusal.
type slotWait struct {
	engine.Span
	why refusal
}

// tryAt asks for one earlier start of a stage, all else as planned. Stays is the
// boat's, if it would be brought in earlier.
func (s *schedule) tryAt(p *placed, t engine.Slot) (placed, []stay, refusal) {
	i := s.model.areas[p.job.area].boat
	st := s.boats[i]
	at := &site{boat: i, area: p.job.area, place: p.place, way: st.way, film: p.film}
	var stays []stay
	if n := s.stayAt(i, p); n >= 0 {
		x := st.stays[n]
		if t < x.from+x.move {
			if r := s.forbidden(p.job, t); r.refused() {
				return placed{}, nil, r
			}
			var r refusal
			if stays, r = s.fetch(i, n, p, t); r.refused() {
				return placed{}, nil, r
			}
			at.way = s.wayOf(i, stays, st.coats())
		}
	}
	q, why := s.probe(at, p.job, t)
	if why.refused() {
		return q, nil, why
	}
	q.ready, q.entered, q.leave = p.ready, p.entered, p.leave
	if r := s.keepsNext(i, p, &q, stays); r.refused() {
		return q, nil, r
	}
	return q, stays, s.worse(i, p, &q, stays)
}

// stayAt is the index of the stay a stage is done in, or -1.
func (s *schedule) stayAt(i int, p *placed) int {
	if p.place < 0 {
		return -1
	}
	return slices.IndexFunc(s.boats[i].stays, func(x stay) bool {
		return x.place == p.place && x.from <= p.start && p.start < max(x.to, x.from+x.move+1)
	})
}

// fetch asks whether the boat could be brought in for a start at t, before it is
// planned to: the answer is its stays then.
func (s *schedule) fetch(i, n int, p *placed, t engine.Slot) ([]stay, refusal) {
	st := s.boats[i]
	x := st.stays[n]
	if !p.entered {
		return nil, refusal{cause: LiftMove, next: x.from + x.move, note: "the boat is brought in then"}
	}
	if x.swap != "" {
		return nil, refusal{cause: LiftMove, next: x.from + x.move, other: Key{Boat: x.swap}, note: "it changes places with that boat then"}
	}
	at := t - x.move
	if at < p.leave {
		return nil, refusal{cause: LiftMove, next: p.leave + x.move}
	}
	if n > 0 && st.stays[n-1].from+st.stays[n-1].move > at {
		return nil, refusal{cause: LiftMove, next: st.stays[n-1].from + st.stays[n-1].move + x.move}
	}
	if lack := s.rooms[x.place].Lack(at, x.from, 1); lack != engine.None {
		return nil, refusal{cause: PlaceTaken, next: lack + 1 + x.move, span: engine.Span{From: at, To: x.from}, crew: -1}
	}
	if shut := s.places[x.place].open.Lack(at, t, 1); shut != engine.None {
		return nil, refusal{cause: PlaceClosed, next: shut + 1 + x.move}
	}
	own := []stay{{place: x.place, from: x.from, to: x.from, move: x.move, mover: x.mover, lifts: x.lifts}}
	s.occupy(own, -1)
	mover, r := s.moving(x, at)
	s.occupy(own, 1)
	if r.refused() {
		return nil, r
	}
	stays := slices.Clone(st.stays)
	stays[n].from, stays[n].mover = at, mover
	if n > 0 {
		stays[n-1].to = min(stays[n-1].to, at)
	}
	return stays, refusal{}
}

// moving asks who could move a boat in at a slot, and for the lift.
func (s *schedule) moving(x stay, at engine.Slot) (int, refusal) {
	who := x.mover
	if who >= 0 {
		var when engine.Slot
		if when, who = s.fetched(at, x.move); when == engine.None {
			when = never
		}
		if when > at {
			return who, s.nobodyMoves(at, x.move, when)
		}
	}
	r := s.lacking(x.lifts, at, at+x.move, LiftMove)
	r.next += x.move
	return who, r
}

// nobodyMoves is why no crew moves a boat at a slot, up to where the answer may be
// another: those that are there long enough are busy, or no shift is. When is the next
// slot at which one could.
func (s *schedule) nobodyMoves(at, moves, when engine.Slot) refusal {
	r := refusal{cause: NoShift, next: when, note: "nobody is there to move the boat"}
	for _, c := range s.movers {
		closes := s.hours[c].Closes(at)
		if closes-at >= moves {
			r.cause, r.note, r.next = LiftMove, "", min(r.next, closes-moves+1)
			continue
		}
		if closes > at && r.cause == NoShift {
			r.note = "too little of the shift is left to move the boat"
		}
		if opens := s.hours[c].Opens(closes); opens != engine.None {
			r.next = min(r.next, opens)
		}
	}
	r.next += moves
	return r
}

// keepsNext asks whether what follows still holds if p is done as q: its life,
// the recoat windows, and every other stage of the boat under its changed air.
func (s *schedule) keepsNext(i int, p, q *placed, stays []stay) refusal {
	ar := s.areas[p.job.area]
	n := slices.Index(ar.done, p)
	kept := refusal{cause: KeptClose, next: q.start + 1}
	if q.end > p.end {
		// Work that pauses may begin earlier and end later: then what follows it would
		// have to wait, and nothing is won.
		if n+1 < len(ar.done) {
			kept.other = ar.done[n+1].job.key
		}
		return kept
	}
	if life := s.grid.Steps(p.job.stage.Life.Std()); life > 0 && perishes(p.job.stage.Kind) {
		for _, later := range ar.done[n+1:] {
			if !later.coating {
				continue
			}
			if later.start > q.end+life {
				kept.other, kept.amount = later.job.key, s.workCost(p.job)
				return s.withheld(i, later, q.end+later.start-p.end, kept)
			}
			break
		}
	}
	if !p.coating && stays == nil {
		return refusal{}
	}
	if stays == nil {
		stays = s.boats[i].stays
	}
	all := s.swapped(i, p, q)
	if broken, why := s.breaks(all, s.wayOf(i, stays, coatsOf(all))); broken != nil {
		why.next, why.other = q.start+1, broken.job.key
		if why.cause == KeptClose && why.note == "" { // its recoat window has closed
			why.amount = s.lapse(broken)
		}
		return why
	}
	return refusal{}
}

// withheld names the conditions, if it is they that keep the coat itself from
// coming as much earlier as the stage that must stay close to it.
func (s *schedule) withheld(i int, coat *placed, t engine.Slot, kept refusal) refusal {
	if coat.place < 0 || t < s.now {
		return kept
	}
	if o := s.coating(coat.job, coat.place, s.boats[i].way, t); !o.ok {
		return refusal{cause: OutOfLimits, next: kept.next, outcome: &o, other: kept.other}
	}
	return kept
}

// swapped is the boat's stages with q for p, and the films that follow from it.
func (s *schedule) swapped(i int, p, q *placed) []*placed {
	var all []*placed
	for _, a := range s.model.boats[i].areas {
		f := s.model.areas[a].film
		for _, old := range s.areas[a].done {
			one := *old
			if old == p {
				one = *q
			}
			one.film = f
			all = append(all, &one)
			f = after(&one)
		}
	}
	return all
}

// worse asks what starting p as q costs, all that follows from it included: a boat
// that is ready sooner is launched sooner and leaves its place sooner.
func (s *schedule) worse(i int, p, q *placed, stays []stay) refusal {
	var by cost
	st := s.boats[i]
	by[spoiling] = s.spoils(q) - s.spoils(p)
	place := s.placeName(p.place)
	by[change] = s.changes(p.job.key, s.grid.Time(q.start), place) - s.changes(p.job.key, s.grid.Time(p.start), place)
	then := st.stays
	if stays != nil {
		then = stays
	}
	if s.launches(i) {
		all, w := s.swapped(i, p, q), st.way
		if stays != nil || p.coating {
			w = s.wayOf(i, then, coatsOf(all))
		}
		launch := s.fit(i, all, w)
		if launch > st.launch {
			return refusal{cause: KeptClose, next: q.start + 1, note: "the boat would be fit for launch later"}
		}
		by[lateness] = s.launchCost(i, launch) - s.launchCost(i, st.launch)
		then = leaving(then, launch)
	}
	by[holding] = s.holdingCost(then) - s.holdingCost(st.stays)
	sum := 0.0 // not rounded: a slot's worth of a small weight counts too
	for _, term := range by {
		sum += term
	}
	if sum <= 1e-6 {
		return refusal{}
	}
	causes := map[int]Cause{spoiling: LaterCalmer, change: AsTold, holding: ShorterHold}
	worst := spoiling
	for _, term := range []int{change, holding} {
		if by[term] > by[worst] {
			worst = term
		}
	}
	return refusal{cause: causes[worst], next: q.start + 1, amount: max(1, int64(math.Round(sum)))}
}

// move starts a stage earlier. What it uses was given back and is booked again.
func (s *schedule) move(p, q *placed) {
	i := s.model.areas[p.job.area].boat
	s.take(p, -1)
	if q.stays != nil {
		s.occupy(s.boats[i].stays, -1)
		s.boats[i].stays = q.stays
		s.occupy(q.stays, 1)
	}
	q.stays, q.film = nil, p.film
	*p = *q
	s.take(p, 1)
	s.refresh(i)
}
