package planner

import (
	"math"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/planner/engine"
)

// waits are both ledgers of a stage in words' place: facts with their evidence.
func (s *schedule) waits(p *placed) []Wait {
	waits := s.beforeReady(p)
	for _, w := range p.waits {
		waits = merged(waits, s.wait(p, w))
	}
	return waits
}

func (s *schedule) wait(p *placed, w slotWait) Wait {
	return Wait{From: s.grid.Time(w.From), To: s.grid.Time(w.To), Cause: w.why.cause, Evidence: s.evidence(p.job, p.place, w.why)}
}

// merged adds a wait to the last one if both have one cause and one thing in the
// way. Of two values the worse stays.
func merged(waits []Wait, w Wait) []Wait {
	if n := len(waits); n > 0 {
		last := &waits[n-1]
		a, b := last.Evidence, w.Evidence
		same := last.Cause == w.Cause && last.To.Equal(w.From) && a.Other == b.Other && a.Person == b.Person && a.Note == b.Note && a.Bound == b.Bound && a.Sure == b.Sure
		if same {
			last.To = w.To
			if b.Bound.Of != "" && (b.Bound.Least == (b.Value < a.Value)) && b.Value != a.Value {
				last.Evidence.Value, last.Evidence.When = b.Value, b.When
			}
			last.Evidence.Amount = max(a.Amount, b.Amount)
			return waits
		}
	}
	return append(waits, w)
}

// skyAssumed says what stands in for a sky that nobody foretold.
const skyAssumed = "neither cloud nor sun is foretold, so the worse of a clear and an overcast sky counts"

// skyUnknown reports whether a hull's surface in a place hangs on a sky that
// nobody foretold.
func (s *schedule) skyUnknown(place int, at engine.Slot) bool {
	w := s.out.outdoors[int((at+s.out.past)/perHour)]
	open := s.yard.Stand(s.places[place].Place).Sun > 0 || !s.places[place].Roofed()
	return open && !unit.Known(w.Cloud) && math.IsNaN(w.Shortwave)
}

// evidence is what was known of a refusal.
func (s *schedule) evidence(j *job, place int, r refusal) Evidence {
	if r.outcome != nil {
		e := r.outcome.evidence()
		e.Other = r.other
		if e.Sure == conditions.Foretold {
			e.Issued = s.p.Issued
			if place >= 0 && e.Bound.OfSkin() && s.skyUnknown(place, r.outcome.at) {
				e.Note = strings.TrimPrefix(e.Note+"; "+skyAssumed, "; ")
			}
		}
		return e
	}
	e := Evidence{Other: r.other, Person: r.person, Note: r.note, Amount: r.amount}
	switch r.cause {
	case PlaceTaken:
		if r.note == "" {
			e.Other = s.whoIsIn(place, r.span, j.key.Boat)
		} else {
			e.Other = s.whoWorks(r.span, func(p *placed) bool {
				return p.job.key.Boat == j.key.Boat && p.job.area != j.area && p.job.worked()
			})
		}
	case CrewBusy:
		e.Other = s.whoWorks(r.span, func(p *placed) bool { return p.crew == r.crew && p.job != j })
		if e.Other == (Key{}) {
			e.Note = "moving a boat"
		}
	case LiftMove, EquipmentBusy:
		if r.lacks != nil {
			e.Other, e.Note = s.whoUses(r, j)
		}
	case Clearance:
		e.Other = s.whoSprays(r.span, func(p *placed) bool { return p.place == place }, func(p *placed) engine.Slot { return p.end + s.places[place].clear })
		if e.Other == (Key{}) {
			e.Other = s.whoWorks(r.span, func(p *placed) bool { return p.place == place && p.job != j && p.job.worked() })
		}
	case Dust:
		air := s.places[place].air
		shared := func(p *placed) bool { return p.place >= 0 && s.places[p.place].air == air && p.job != j }
		if j.stage.Dusty() || r.note != "" {
			e.Other = s.whoSprays(r.span, shared, func(p *placed) engine.Slot { return max(p.dustFree, p.protect) })
		} else {
			e.Other = s.whoWorks(r.span, func(p *placed) bool { return shared(p) && p.job.stage.Dusty() })
		}
	}
	return e
}

// whoIsIn is the boat whose stay fills a place, and the stage it is there for if
// one is being done.
func (s *schedule) whoIsIn(place int, span engine.Span, not string) Key {
	for i, st := range s.boats {
		if s.model.boats[i].Name == not {
			continue
		}
		for _, x := range st.stays {
			if x.place == place && x.from < span.To && x.to > span.From {
				return Key{Boat: s.model.boats[i].Name}
			}
		}
	}
	return Key{}
}

func (s *schedule) whoWorks(span engine.Span, is func(*placed) bool) Key {
	var found *placed
	for _, st := range s.boats {
		for _, p := range st.placed {
			if !is(p) {
				continue
			}
			for _, part := range p.parts {
				// The last one in the way is the one that is waited for.
				if part.From < span.To && part.To > span.From && (found == nil || p.end > found.end) {
					found = p
				}
			}
		}
	}
	if found == nil {
		return Key{}
	}
	return found.job.key
}

func (s *schedule) whoSprays(span engine.Span, is func(*placed) bool, until func(*placed) engine.Slot) Key {
	for _, st := range s.boats {
		for _, p := range st.placed {
			if p.coating && is(p) && p.start < span.To && until(p) > span.From {
				return p.job.key
			}
		}
	}
	return Key{}
}

// beforeReady is the first ledger: from the start people were first given to
// when the stage could begin. Going back from ready, each span belongs to what
// was then not done: the cure, the stage before, what that stage waited for.
func (s *schedule) beforeReady(p *placed) []Wait {
	first, ok := s.first[p.job.key]
	ready, before := s.grid.Time(p.ready), s.before(p)
	if p.ready <= s.now && !before.end.IsZero() && before.end.Before(ready) {
		// It was ready before this plan; what it waited for since then is in the plans since then.
		ready = before.end
	}
	if !ok || p.running || !first.Start.Before(ready) {
		return nil
	}
	i := s.model.areas[p.job.area].boat
	l := ledger{from: first.Start, to: ready}
	if !before.end.IsZero() {
		l.until(before.end, SlowCure, Evidence{Other: s.underKey(p)})
		worked := before.end.Sub(before.start)
		if over := worked - before.expected; before.cause == Overrun && over > 0 && before.expected > 0 {
			l.until(before.end.Add(-over), Overrun, Evidence{Other: before.key})
			l.until(before.start, EarlierMoved, Evidence{Other: before.key})
		} else {
			cause := before.cause
			if cause == Overrun {
				cause = EarlierMoved
			}
			l.until(before.start, cause, Evidence{Other: before.key, Person: before.person, Note: before.note})
		}
	}
	if b := &s.model.boats[i]; s.arrivedLate(b, first.Start) {
		arrived := s.grid.Time(b.arrives)
		if state := s.work.Place(b.Name); !state.Arrived.IsZero() {
			arrived = state.Arrived
		}
		if arrived.Before(l.to) {
			l.until(arrived, EarlierMoved, Evidence{Other: before.key})
		}
		l.until(first.Start, LateBoat, Evidence{Other: Key{Boat: b.Name}, When: arrived})
	}
	if j := p.job; j.at.Cant != "" && j.at.CantAt.After(l.from) {
		l.until(j.at.CantAt, Absent, Evidence{Person: j.at.CantBy, Note: j.at.Cant, When: j.at.CantAt})
	}
	l.until(first.Start, EarlierMoved, Evidence{Other: before.key})
	return l.waits
}

// ledger fills a span from its end with causes.
type ledger struct {
	from, to time.Time
	waits    []Wait
}

// until gives what is left of the span after t to a cause.
func (l *ledger) until(t time.Time, c Cause, e Evidence) {
	if t.Before(l.from) {
		t = l.from
	}
	if !t.Before(l.to) {
		return
	}
	l.waits = append([]Wait{{From: t, To: l.to, Cause: c, Evidence: e}}, l.waits...)
	l.to = t
}

// forerun is the stage before another: when it was or will be done, and why it
// kept the other waiting.
type forerun struct {
	key          Key
	start, end   time.Time
	expected     time.Duration
	cause        Cause
	person, note string
}

func (s *schedule) before(p *placed) forerun {
	ar := s.areas[p.job.area]
	for n, q := range ar.done {
		if q == p && n > 0 {
			q = ar.done[n-1]
			f := forerun{key: q.job.key, start: s.grid.Time(q.start), end: s.grid.Time(q.end), cause: EarlierMoved}
			switch {
			case q.job.repair || q.job.at.Rejected != "":
				f.cause, f.note = Rework, q.job.at.Rejected
			case q.job.stage.Kind == "hold" && q.job.stage.Until == "":
				f.cause, f.person = AwaitsParty, q.job.at.Held
			case q.running:
				f.cause, f.expected = Overrun, s.expected(q.job.key)
			}
			return f
		}
	}
	last := s.model.areas[p.job.area].last
	done, ok := s.work.Stage(last)
	if !ok || done.Ended.IsZero() {
		return forerun{}
	}
	f := forerun{key: last, start: done.Started, end: done.Ended, cause: Overrun, expected: s.expected(last)}
	if f.start.IsZero() {
		f.start = f.end
	}
	if done.Repair || done.Rejected != "" {
		f.cause, f.note = Rework, done.Rejected
	} else if done.Stage.Kind == "hold" {
		f.cause, f.person = AwaitsParty, done.By
	}
	return f
}

// expected is how long a stage should have taken, if people were told when the
// next one would begin after it: its own work as the yard's rates give it.
func (s *schedule) expected(k Key) time.Duration {
	for i := range s.model.areas {
		a := &s.model.areas[i]
		if a.Area.Name != k.Area || s.model.boats[a.boat].Name != k.Boat {
			continue
		}
		if done, ok := s.work.Stage(k); ok {
			j, err := s.newJob(i, a.Area, Progress{Key: k, Stage: done.Stage})
			if err == nil && !j.pauses() {
				return time.Duration(j.slots) * step
			}
		}
	}
	return 0
}

func (s *schedule) underKey(p *placed) Key {
	if p.film != nil {
		return p.film.key
	}
	return Key{}
}

func (s *schedule) arrivedLate(b *boat, first time.Time) bool {
	if !b.here {
		return s.grid.Time(b.arrives).After(first)
	}
	return s.work.Place(b.Name).Arrived.After(first)
}

// toldWhy is how far ahead a stage without a start is told why, slot by slot.
const toldWhy = 7 * 24 * perHour

// missing is the waits of a stage without a start: from when it could begin, as far
// as that is known, one cause for each slot of the first week, then what went
// deepest, to the horizon.
func (s *schedule) missing(m missed) []Wait {
	ready := max(s.now, min(m.ready, s.grid.Slots))
	if ready >= s.grid.Slots {
		ready = s.now
	}
	if m.place < 0 {
		e := Evidence{Note: m.why.note, Person: m.why.person, Other: m.why.other}
		if m.why.outcome != nil {
			e = m.why.outcome.evidence()
		}
		return []Wait{{From: s.grid.Time(ready), To: s.end(), Cause: m.why.cause, Evidence: e}}
	}
	var waits []Wait
	t := ready
	if m.why.outcome != nil && m.ready < s.grid.Slots {
		i := s.model.areas[m.job.area].boat
		at := &site{boat: i, area: m.job.area, place: m.place, way: s.boats[i].way, film: s.areas[m.job.area].film}
		if n := len(at.way); at.way[n-1].air != m.place {
			at.way = s.out.then(at.way, ready, m.place, idle)
		}
		for last := min(ready+toldWhy, s.grid.Slots); t < last; {
			_, why := s.probe(at, m.job, t)
			if !why.refused() {
				break // it is what comes after it that has no start
			}
			next := min(max(s.asked(m.job, t, why), t+1), last)
			waits = merged(waits, Wait{From: s.grid.Time(t), To: s.grid.Time(next), Cause: why.cause, Evidence: s.evidence(m.job, m.place, why)})
			t = next
		}
	}
	return merged(waits, Wait{From: s.grid.Time(t), To: s.end(), Cause: m.why.cause, Evidence: s.evidence(m.job, m.place, m.why)})
}
