package planner

import (
	"math"
	"slices"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// schedule is a plan in the making: where every boat stands, what every crew
// does, and the air of each place.
type schedule struct {
	*model
	hours  []*engine.Timetable // people per crew
	rooms  []*engine.Timetable // boats per place
	hands  []*engine.Timetable // per boat: an area of it is being worked at
	dusty  []*engine.Timetable // per air: dust is raised
	wet    []*engine.Timetable // per air: a pass is not dust-free
	foul   []*engine.Timetable // per place: spraying and clearance
	people []*engine.Timetable // per place: somebody works there
	stock  []*engine.Timetable // per equipment
	boats  []*standing
	areas  []*progress
	// asTold keeps every stage from starting before people were told it would.
	asTold bool
	beat   float64 // the score of the best trial so far of the block that is being placed
	loose  []bool  // boats that are not kept to it
	missed []missed
	going  []bool // areas that are being planned because they go first
	turns  []turn // as they were taken, the places as they were found
	// Wants are the turns as they were to be taken; marks are kept only if marked.
	wants  []turn
	marks  []mark
	marked bool
	kept   cost // of the plan that keeps to what people were told
}

// standing is one boat's stays and way.
type standing struct {
	stays  []stay
	refuge int // index of the first stay that only waits for the next block
	way    way
	held   engine.Slot // it may not be moved before
	placed []*placed
	launch engine.Slot // never if beyond the horizon
	// finished is a boat with nothing left to plan.
	finished bool
}

// stay is a boat in one place, the move in included.
type stay struct {
	place    int
	from, to engine.Slot
	move     engine.Slot // slots of it in which the boat is brought in
	mover    int         // crew, or -1
	lifts    []use       // what lifts it in
	// Of a swap: the boat it changes places with, and how much of the move it hangs aside
	// until that one is in.
	swap  string
	aside engine.Slot
}

// progress is how far one area has been planned.
type progress struct {
	next  int // index of the next job
	film  *film
	ended engine.Slot
	last  Key
	stuck bool // a stage found no place: nothing after it is planned
	done  []*placed
}

// placed is one stage with its slots.
type placed struct {
	job      *job
	place    int // -1: wherever the boat is
	crew     int // -1: nobody
	ready    engine.Slot
	start    engine.Slot
	end      engine.Slot
	parts    []engine.Span
	coating  bool
	dustFree engine.Slot
	protect  engine.Slot
	z        float64
	film     *film // the coat under it
	// entered is the move that brought the boat in for this stage.
	entered bool
	leave   engine.Slot // if so: the boat might not be moved before
	running bool
	stays   []stay // the boat's, while an earlier entry is tried
	waits   []slotWait
}

// missed is a stage that found no start.
type missed struct {
	job   *job
	place int
	ready engine.Slot
	why   refusal
}

// newSchedule has nothing planned but where the boats are.
func newSchedule(m *model, asTold bool) *schedule {
	s := &schedule{model: m, asTold: asTold, beat: math.Inf(1)}
	table := func(n int) *engine.Timetable { return engine.NewTimetable(m.grid.Slots, n) }
	for _, p := range m.places {
		s.rooms = append(s.rooms, table(p.Boats))
		s.dusty, s.wet, s.foul = append(s.dusty, table(0)), append(s.wet, table(0)), append(s.foul, table(0))
		s.people = append(s.people, table(0))
	}
	for i := range m.equipment {
		s.stock = append(s.stock, m.equipment[i].timetable(m.grid.Slots))
	}
	for _, c := range m.crews {
		s.hours = append(s.hours, c.hours.Clone())
	}
	for i := range m.areas {
		a := &m.areas[i]
		s.areas = append(s.areas, &progress{film: a.film, ended: a.ended, last: a.last})
	}
	s.loose, s.going = m.pinnedEarlier(), make([]bool, len(m.areas))
	for range m.boats {
		s.hands = append(s.hands, table(1))
		s.boats = append(s.boats, &standing{launch: never})
	}
	// Those that are here stand where they stand; those to come find what is left.
	for _, here := range []bool{true, false} {
		for i := range m.boats {
			if m.boats[i].here == here {
				s.put(i)
			}
		}
		if here {
			s.waitAll()
		}
	}
	s.begun()
	return s
}

// waitAll gives those that are here somewhere to wait, once all of them stand where
// they stand. A standing that a boat waits on is not free for another; and from where
// it is being worked at a boat is not sent out: those to come find another place.
func (s *schedule) waitAll() {
	for _, on := range []bool{true, false} {
		for i, st := range s.boats {
			if st.refuge > 0 && (s.places[st.stays[0].place].Kind == config.Standing) == on {
				s.shelter(i, never, !slices.ContainsFunc(s.model.boats[i].areas, s.underwayAt))
			}
		}
	}
}

func (s *schedule) underwayAt(a int) bool { return s.model.areas[a].underway != "" }

// begun books the air and the equipment of what is being done now, and the air of
// coats that were just put on, before anything is planned: no block may be laid
// into dust that is being raised, or sand beside a wet coat, or bring people into a
// booth that has not cleared, whichever boat is planned first.
func (s *schedule) begun() {
	for i := range s.model.areas {
		a := &s.model.areas[i]
		s.justCoated(a)
		for _, j := range a.jobs {
			_, busy := s.engaged[j]
			if lends := j.at.Running && len(j.uses) > 0; !busy && !lends {
				continue
			}
			l := &layout{s: s, place: s.model.boats[a.boat].place}
			p := s.underway(l, j, a.film, s.boats[a.boat].way)
			for _, part := range p.parts {
				s.lend(j.uses, part.From, part.To, 1)
			}
			if busy {
				s.takeAir(p, 1)
			}
		}
	}
}

// put stands a boat where it is now, or where it will be put on arrival.
func (s *schedule) put(i int) {
	b, st := &s.model.boats[i], s.boats[i]
	if b.gone {
		return
	}
	st.held = b.arrives
	if b.here && b.place >= 0 {
		st.stays = []stay{{place: b.place, to: s.grid.Slots, mover: -1}}
		st.way = s.wayOf(i, st.stays, nil)
		st.held = s.movable(i, st.way, nil)
		st.stays[0].to = max(st.held, s.now)
		s.rooms[b.place].Take(0, st.stays[0].to, 1)
		st.refuge = 1
		return
	}
	st.way = s.wayOf(i, nil, nil)
	if b.arrives >= s.grid.Slots {
		return // it comes after all that is planned
	}
	if b.place >= 0 && s.putIn(i, b.place) {
		return
	}
	for p := range s.places {
		if s.places[p].Place.Kind == config.Standing && s.putIn(i, p) {
			return
		}
	}
}

// putIn puts a boat into a place on arrival, to stay; false if it does not fit or
// the place is not free.
func (s *schedule) putIn(i, p int) bool {
	b, st := &s.model.boats[i], s.boats[i]
	if !s.places[p].Fits(b.Boat) || s.rooms[p].Lack(b.arrives, s.grid.Slots, 1) != engine.None {
		return false
	}
	st.stays = []stay{{place: p, from: b.arrives, to: s.grid.Slots, mover: -1}}
	s.occupy(st.stays, 1)
	st.way = s.wayOf(i, st.stays, nil)
	return true
}

func (s *schedule) occupy(stays []stay, n int) {
	for _, x := range stays {
		s.rooms[x.place].Take(x.from, x.to, n)
		if x.mover >= 0 {
			s.hours[x.mover].Take(x.from+x.aside, x.from+x.move, n)
		}
		s.lend(x.lifts, x.from+x.aside, x.from+x.move, n)
	}
}

// movable is the first slot at which every coat on the boat lets it be moved.
func (s *schedule) movable(i int, w way, films map[int]*film) engine.Slot {
	at := s.model.boats[i].arrives
	for _, a := range s.model.boats[i].areas {
		f := s.areas[a].film
		if other, ok := films[a]; ok {
			f = other
		}
		if f != nil {
			at = max(at, s.out.opens(f, "movable", w))
		}
		at = max(at, s.areas[a].ended)
	}
	return at
}

// wayOf is the way of a boat through its stays, with the mode of each booth: it
// sprays during a coat, cures after it until the boat leaves, and idles before.
func (s *schedule) wayOf(i int, stays []stay, coats []*placed) way {
	b := &s.model.boats[i]
	open, first, mode := len(s.places), 0, idle
	first = open
	if b.here && b.place >= 0 {
		first = b.place
		for _, a := range b.areas {
			if s.model.areas[a].film != nil && s.model.areas[a].underway != "" {
				mode = curing
			}
		}
	}
	w := s.out.begin(b.hull, first, mode, b.surface)
	coats = slices.Clone(coats)
	slices.SortStableFunc(coats, func(a, b *placed) int { return int(a.start - b.start) })
	for n, x := range stays {
		moved := n > 0 && (stays[n-1].place != x.place || stays[n-1].to < x.from)
		if moved || n == 0 && first != x.place {
			w = s.out.goOn(w, max(x.from, 0), x.place, idle)
		}
		for _, c := range coats {
			if c.place == x.place && max(c.start, 0) >= x.from && c.start < x.to && s.places[x.place].Booth != nil {
				w = s.out.goOn(w, max(c.start, 0), x.place, spraying)
				w = s.out.goOn(w, c.end, x.place, curing)
			}
		}
	}
	return w
}

func (st *standing) coats() []*placed {
	var coats []*placed
	for _, p := range st.placed {
		if p.coating {
			coats = append(coats, p)
		}
	}
	return coats
}

// take books what a placed stage uses; a negative n gives it back.
func (s *schedule) take(p *placed, n int) {
	boat := s.model.areas[p.job.area].boat
	for _, part := range p.parts {
		if p.crew >= 0 && !p.running { // those who are at work were booked first
			s.hours[p.crew].Take(part.From, part.To, n*p.job.people)
		}
		if !p.running {
			s.lend(p.job.uses, part.From, part.To, n)
		}
		if p.job.worked() {
			s.hands[boat].Take(part.From, part.To, n)
			if p.place >= 0 {
				s.people[p.place].Take(part.From, part.To, n)
			}
		}
	}
	if !p.running { // what runs was booked first
		s.takeAir(p, n)
	}
}

// justCoated books the air of an area's last coat, where it was put on, until it is
// dust-free and the booth is clear.
func (s *schedule) justCoated(a *area) {
	f := a.film
	if f == nil || f.ageless {
		return
	}
	coat, _ := s.work.Stage(f.key)
	for p := range s.places {
		if s.places[p].Name != coat.Place {
			continue
		}
		if booth := s.places[p].Booth; booth != nil {
			clear := s.grid.Ceil(coat.coated().Add(booth.Clearance.Std()))
			if clear = min(clear, s.grid.Slots); clear > s.now {
				s.foul[p].Take(s.now, clear, 1)
			}
		}
		if dry := min(s.out.opens(f, conditions.DustFree, s.boats[a.boat].way), s.grid.Slots); dry > s.now {
			s.wet[s.places[p].air].Take(s.now, dry, 1)
		}
	}
}

// takeAir books the dust that a stage raises, and the air of a coat until it is
// dust-free and the booth is clear.
func (s *schedule) takeAir(p *placed, n int) {
	if p.job.stage.Dusty() && p.place >= 0 {
		for _, part := range p.parts {
			s.dusty[s.places[p.place].air].Take(part.From, part.To, n)
		}
	}
	if p.coating && p.place >= 0 {
		s.wet[s.places[p.place].air].Take(p.start, p.dustFree, n)
		if clear := s.places[p.place].clear; clear > 0 {
			s.foul[p.place].Take(p.start, p.end+clear, n)
		}
	}
}
