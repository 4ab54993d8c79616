package planner

import (
	"math"
	"slices"
	"time"

	"fairwindow/planner/engine"
)

// site is where and on what a stage is tried.
type site struct {
	boat, area, place int
	way               way
	film              *film       // the coat under it
	entry             engine.Slot // the boat is in the place from here on
	clear             engine.Slot // the booth is cleared of the block's own coats, not booked yet
}

// refusal is why a start is not allowed: its cause, and the first later slot at
// which the answer may be another.
type refusal struct {
	cause   Cause
	next    engine.Slot
	span    engine.Span // what was asked of the resource that refused
	crew    int
	outcome *outcome
	other   Key
	person  string
	note    string
	amount  int64      // cost-minutes
	lacks   *equipment // what is not free
}

func (r refusal) refused() bool { return r.cause != "" }

// probe asks whether a stage may start at slot t, all else as it stands. The
// causes are asked in the order of the second ledger; the scheduler, settling and
// the reasons all ask here, so that the reasons are the scheduler's own.
func (s *schedule) probe(at *site, j *job, t engine.Slot) (placed, refusal) {
	if r := s.forbidden(j, t); r.refused() {
		return placed{}, r
	}
	p := placed{job: j, place: at.place, crew: -1, start: t, end: t + j.slots, film: at.film, coating: j.coats(), z: math.Inf(1)}
	if j.anywhere() {
		p.place = -1
	}
	var why refusal
	if !j.worked() {
		why = s.unattended(at, j, &p)
	} else {
		why = s.attended(at, j, &p)
	}
	if !why.refused() && s.keeps(j, t) {
		why = refusal{cause: AsTold, next: s.grid.Ceil(s.told[j.key].Start)}
	}
	return p, why
}

// keeps reports whether a start at t is earlier than people were told and may not be.
func (s *schedule) keeps(j *job, t engine.Slot) bool {
	told, ok := s.told[j.key]
	if !ok || !s.grid.Time(t).Before(told.Start) || !j.at.Pinned.IsZero() {
		return false // a pin is the newer word
	}
	return s.asTold && !s.loose[s.model.areas[j.area].boat] || !told.Start.After(s.p.At.Add(s.yard.Notice.Frozen.Std()))
}

// forbidden asks what people decided.
func (s *schedule) forbidden(j *job, t engine.Slot) refusal {
	if j.at.Held != "" {
		return refusal{cause: HeldBy, next: never, person: j.at.Held, note: j.at.HeldWhy}
	}
	if pin := s.grid.Ceil(j.at.Pinned); !j.at.Pinned.IsZero() && t < pin {
		return refusal{cause: HeldBy, next: pin, person: j.at.PinnedBy, note: "pinned"}
	}
	if r := s.behind(j, t); r.refused() {
		return r
	}
	if c, ok := s.tight[j.key]; ok && t < c.after {
		return refusal{cause: OutOfLimits, next: c.after, note: "along the plan: " + c.why}
	}
	if j.at.Cant != "" {
		if t < j.again {
			return refusal{cause: HeldBy, next: j.again, person: j.at.CantBy, note: j.at.Cant}
		}
	}
	return refusal{}
}

// nextShift is the first shift of a crew for the stage that begins after it was
// reported that it can't be done, which may be long past.
func (m *model) nextShift(j *job) (engine.Slot, error) {
	next := never
	if len(j.crews) == 0 {
		next = m.grid.Ceil(j.at.CantAt.Add(12 * time.Hour))
	}
	for _, c := range j.crews {
		shifts, err := m.yard.ShiftsOf(m.crews[c].Name, j.at.CantAt, m.end())
		if err != nil {
			return never, err
		}
		for _, s := range shifts {
			if s.From.After(j.at.CantAt) {
				next = min(next, m.grid.Ceil(s.From))
				break
			}
		}
	}
	return next, nil
}

// unattended asks for a stage that nobody works at: it ends with its cure or its time.
func (s *schedule) unattended(at *site, j *job, p *placed) refusal {
	if until := j.stage.Until; until != "" {
		if p.end = max(p.start, s.out.opens(at.film, until, at.way)); p.end >= never {
			return refusal{cause: OutOfLimits, next: never, note: "the coat does not cure to " + string(until) + " within the horizon"}
		}
	}
	if p.end > s.grid.Slots {
		return refusal{cause: NoShift, next: never, note: "longer than the rest of the horizon"}
	}
	p.parts = []engine.Span{{From: p.start, To: p.end}}
	if r := s.lacking(j.uses, p.start, p.end, EquipmentBusy); r.refused() {
		return r
	}
	if j.coats() || len(j.stage.Places) > 0 {
		return s.surroundings(at, j, p, p.end)
	}
	return refusal{}
}

// attended asks for a stage with a crew: the first crew that may do it, else the
// refusal that ends first.
func (s *schedule) attended(at *site, j *job, p *placed) refusal {
	if len(j.crews) == 0 {
		return refusal{cause: NoShift, next: never, note: "no crew has the skill " + j.stage.Skill + " and people enough"}
	}
	if busy := s.hands[at.boat].Lack(p.start, p.start+1, 1); busy != engine.None {
		return refusal{cause: PlaceTaken, next: busy + 1, span: engine.Span{From: p.start, To: p.start + 1}, crew: -1, note: "another area of the boat is being worked at"}
	}
	least := refusal{next: never + 1}
	for n, c := range j.crews {
		p.crew = c
		why := s.withCrew(at, j, p, n)
		if !why.refused() {
			return why
		}
		if why.next < least.next {
			least = why
		}
	}
	return least
}

// withCrew asks the stage's crew n.
func (s *schedule) withCrew(at *site, j *job, p *placed, n int) refusal {
	c, t := j.crews[n], p.start
	hours := s.hours[c]
	end, r := s.shift(hours, j, t)
	away := refusal{}
	if there := j.there[n]; there != nil && !r.refused() {
		end, away = s.meanwhile(there, hours, j, t)
	}
	// What lies before the shift in the ledger is asked over as much as is known of the span.
	first := max(end, t+1)
	if busy := s.hands[at.boat].Lack(t, first, 1); busy != engine.None {
		return refusal{cause: PlaceTaken, next: busy + 1, span: engine.Span{From: t, To: first}, crew: -1, note: "another area of the boat is being worked at"}
	}
	if at.place >= 0 {
		if shut := s.places[at.place].open.Lack(t, first, 1); shut != engine.None {
			return refusal{cause: PlaceClosed, next: shut + 1}
		}
	}
	if r.refused() {
		return r
	}
	if busy := hours.Lack(t, end, j.people); busy != engine.None {
		return refusal{cause: CrewBusy, next: busy + 1, span: engine.Span{From: t, To: end}, crew: c}
	}
	if away.refused() {
		return away
	}
	if r := s.lacking(j.uses, t, end, EquipmentBusy); r.refused() {
		return r
	}
	if r := s.surroundings(at, j, p, end); r.refused() {
		return r
	}
	if !j.pauses() || end == t+j.slots {
		p.parts = []engine.Span{{From: t, To: end}}
		p.end = end
		return refusal{}
	}
	blocked := s.blocked(at, j)
	if there := j.there[n]; there != nil {
		hours, blocked = there, s.andBusy(hours, j, blocked)
	}
	p.parts = hours.Spread(t, engine.Work{Slots: j.slots, Need: j.people, Least: s.grid.Steps(leastPart), Blocked: blocked})
	if p.parts == nil {
		return refusal{cause: NoShift, next: never, note: "the shifts up to the horizon are too few for it"}
	}
	p.end = p.parts[len(p.parts)-1].To
	return refusal{}
}

// shift is how long a start at t may go on in the crew's hours: to the end of
// the stage, or of the shift if the stage may pause.
func (s *schedule) shift(hours *engine.Timetable, j *job, t engine.Slot) (engine.Slot, refusal) {
	off := func(from engine.Slot, note string) (engine.Slot, refusal) {
		next := hours.Opens(from)
		if next == engine.None {
			next = never
		}
		return t, refusal{cause: NoShift, next: max(next, t+1), note: note}
	}
	if !hours.There(t) {
		return off(t, "")
	}
	closes := hours.Closes(t)
	if j.pauses() {
		if end := min(closes, t+j.slots); end-t >= min(s.grid.Steps(leastPart), j.slots) {
			return end, refusal{}
		}
		return off(closes, "too little of the shift is left")
	}
	if t+j.slots > closes {
		return off(closes, "longer than what is left of the shift")
	}
	return t + j.slots, refusal{}
}

// surroundings asks for clearance, dust and conditions over the first part.
func (s *schedule) surroundings(at *site, j *job, p *placed, end engine.Slot) refusal {
	if at.place < 0 {
		return refusal{}
	}
	if p.start < at.clear {
		return refusal{cause: Clearance, next: at.clear, span: engine.Span{From: p.start, To: end}}
	}
	if foul := s.foul[at.place].Taken(p.start, end); foul != engine.None {
		return refusal{cause: Clearance, next: foul + 1, span: engine.Span{From: p.start, To: end}}
	}
	shared := s.places[at.place].air
	if j.stage.Dusty() {
		if wet := s.wet[shared].Taken(p.start, end); wet != engine.None {
			return refusal{cause: Dust, next: wet + 1, span: engine.Span{From: p.start, To: end}}
		}
	}
	if !j.coats() {
		if o := s.works(j, at.place, at.way, p.start, end); !o.ok {
			failed := o
			return refusal{cause: OutOfLimits, next: o.at + 1, outcome: &failed}
		}
		return refusal{}
	}
	if dust := s.dusty[shared].Taken(p.start, end); dust != engine.None {
		return refusal{cause: Dust, next: dust + 1, span: engine.Span{From: p.start, To: end}}
	}
	if clear := s.places[at.place].clear; clear > 0 {
		// Nobody may be there while it is sprayed, or before it is cleared.
		if there := s.people[at.place].Taken(p.start, end+clear); there != engine.None {
			next := p.start + 1
			if there < end {
				next = there + 1
			}
			return refusal{cause: Clearance, next: next, span: engine.Span{From: p.start, To: end + clear}}
		}
	}
	o := s.coating(j, at.place, at.way, p.start)
	if o.dustFree > end {
		// Seldom: dust that is raised after the last drop and before it is dust-free.
		if dust := s.dusty[shared].Taken(end, o.dustFree); dust != engine.None {
			return refusal{cause: Dust, next: p.start + 1, span: engine.Span{From: end, To: o.dustFree}}
		}
	}
	if wet := s.stillWet(at, p.start); wet > p.start {
		return refusal{cause: Dust, next: wet, span: engine.Span{From: p.start, To: p.start + 1}, note: "another area of the boat is still wet"}
	}
	if !o.ok {
		next := o.again(j, p.start)
		if o.at == s.grid.Slots-1 && !o.unsure {
			next = never
		}
		failed := o
		return refusal{cause: OutOfLimits, next: next, outcome: &failed}
	}
	p.dustFree, p.protect, p.z = o.dustFree, o.protect, o.z
	return refusal{}
}

// stillWet is the end of protection of a coat on another area of the boat that t
// falls into: overspray would spoil it.
func (s *schedule) stillWet(at *site, t engine.Slot) engine.Slot {
	end := t
	for _, p := range s.boats[at.boat].placed {
		if p.coating && p.job.area != at.area && p.start <= t && t < p.protect {
			end = max(end, p.protect)
		}
	}
	return end
}

// blocked is what may not go on in the later parts of a stage that pauses.
func (s *schedule) blocked(at *site, j *job) func(from, to engine.Slot) engine.Slot {
	return func(from, to engine.Slot) engine.Slot {
		last := max(s.hands[at.boat].Lack(from, to, 1), s.lack(j.uses, from, to))
		if at.place < 0 {
			return last
		}
		last = max(last, s.places[at.place].open.Lack(from, to, 1), s.foul[at.place].Taken(from, to))
		if j.stage.Dusty() {
			last = max(last, s.wet[s.places[at.place].air].Taken(from, to))
		}
		if o := s.works(j, at.place, at.way, from, to); !o.ok {
			last = max(last, o.at)
		}
		return last
	}
}

// ledgerOrder is the order in which causes are asked. Equipment comes right after the
// crew: it is lent to people, so nobody waits for it who has no crew.
var ledgerOrder = [...]Cause{
	HeldBy, PlaceTaken, PlaceClosed, LiftMove, NoShift, CrewBusy, EquipmentBusy, Clearance, Dust, OutOfLimits,
	GaveWay, KeptClose, ShorterHold, LaterCalmer, AsTold,
}

// deeper reports whether a refusal was asked after another, so that it tells
// better what keeps a stage from ever starting; of two conditions, the one that
// was nearer to a yes.
func (r refusal) deeper(than refusal) bool {
	a, b := slices.Index(ledgerOrder[:], r.cause), slices.Index(ledgerOrder[:], than.cause)
	if a == b && r.outcome != nil && than.outcome != nil {
		return r.outcome.z > than.outcome.z && len(r.outcome.rules) > 0
	}
	return a > b
}

// earliest is the first start from t on that nothing refuses; without one, the
// refusal that went deepest.
func (s *schedule) earliest(at *site, j *job, t engine.Slot) (*placed, refusal) {
	t = max(t, at.entry, s.now)
	deepest := refusal{cause: NoShift, next: never, note: "beyond the horizon"}
	for first := true; t < s.grid.Slots; first = false {
		p, why := s.probe(at, j, t)
		if !why.refused() {
			return &p, why
		}
		if first || why.deeper(deepest) {
			deepest = why
		}
		t = max(why.next, t+1)
	}
	return nil, deepest
}
