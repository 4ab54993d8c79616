package planner

import (
	"fmt"
	"slices"
	"strings"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// equipment is what the yard lends to one job after another, with when it is there.
type equipment struct {
	config.Equipment
	there []engine.Span
}

// use is how many of one equipment are wanted.
type use struct{ of, n int }

func (m *model) addEquipment() error {
	for _, e := range m.yard.Equipment {
		hours, err := m.yard.EquipmentHours(e.Name, m.grid.Origin, m.end())
		if err != nil {
			return err
		}
		one := equipment{Equipment: e}
		for _, h := range hours {
			one.there = append(one.there, engine.Span{From: m.grid.Ceil(h.From), To: m.grid.Floor(h.To)})
		}
		m.equipment = append(m.equipment, one)
	}
	return nil
}

// equipmentNamed is an index, or -1.
func (m *model) equipmentNamed(name string) int {
	return slices.IndexFunc(m.equipment, func(e equipment) bool { return e.Name == name })
}

func (e *equipment) timetable(slots engine.Slot) *engine.Timetable {
	t := engine.NewTimetable(slots, 0)
	for _, x := range e.there {
		t.Raise(x.From, x.To, e.Count)
	}
	return t
}

// equip gives a job what its stage uses. Where that has hours of its own, work that
// may pause does so at their end too: each crew's hours are cut to them.
func (m *model) equip(j *job) error {
	for _, name := range j.stage.Uses {
		i := m.equipmentNamed(name)
		if i < 0 {
			return fmt.Errorf("uses: the yard has no equipment %q", name)
		}
		if n := slices.IndexFunc(j.uses, func(u use) bool { return u.of == i }); n >= 0 {
			j.uses[n].n++
			continue
		}
		j.uses = append(j.uses, use{i, 1})
	}
	for _, c := range j.crews {
		j.there = append(j.there, m.cuts[cut{c, strings.Join(j.stage.Uses, "\x00")}])
	}
	return nil
}

// cut names a crew's hours as far as all that a stage uses is there.
type cut struct {
	crew int
	uses string
}

// addCuts works out the hours of each crew with what each stage uses there, where
// that is not there at all times.
func (m *model) addCuts() {
	m.cuts = map[cut]*engine.Timetable{}
	for _, system := range m.yard.Systems {
		for _, stage := range system.Stages {
			limited := func(name string) bool { return !m.always(name) }
			if !slices.ContainsFunc(stage.Uses, limited) {
				continue
			}
			for c := range m.crews {
				m.cuts[cut{c, strings.Join(stage.Uses, "\x00")}] = m.cut(c, stage.Uses)
			}
		}
	}
}

// always reports whether equipment is there up to the horizon.
func (m *model) always(name string) bool {
	i := m.equipmentNamed(name)
	return i >= 0 && slices.Equal(m.equipment[i].there, []engine.Span{{From: 0, To: m.grid.Slots}})
}

func (m *model) cut(c int, uses []string) *engine.Timetable {
	hours := m.crews[c].hours
	cut := engine.NewTimetable(m.grid.Slots, 0)
	for from := hours.Opens(0); from != engine.None; from = hours.Opens(hours.Closes(from)) {
		open := []engine.Span{{From: from, To: hours.Closes(from)}}
		for _, name := range uses {
			if i := m.equipmentNamed(name); i >= 0 {
				open = common(open, m.equipment[i].there)
			}
		}
		for _, x := range open {
			cut.Raise(x.From, x.To, m.crews[c].People)
		}
	}
	return cut
}

// common is what two lists of spans share.
func common(a, b []engine.Span) []engine.Span {
	var both []engine.Span
	for _, x := range a {
		for _, y := range b {
			if from, to := max(x.From, y.From), min(x.To, y.To); from < to {
				both = append(both, engine.Span{From: from, To: to})
			}
		}
	}
	return both
}

// lend takes equipment over [from, to); a negative n gives it back.
func (s *schedule) lend(uses []use, from, to engine.Slot, n int) {
	for _, u := range uses {
		s.stock[u.of].Take(from, to, n*u.n)
	}
}

// lack is the last slot of [from, to) in which some of it is not free, or None.
func (s *schedule) lack(uses []use, from, to engine.Slot) engine.Slot {
	last := engine.None
	for _, u := range uses {
		last = max(last, s.stock[u.of].Lack(from, to, u.n))
	}
	return last
}

// lacking refuses what uses equipment that is not free over [from, to).
func (s *schedule) lacking(uses []use, from, to engine.Slot, cause Cause) refusal {
	last := s.lack(uses, from, to)
	for _, u := range uses {
		if last != engine.None && s.stock[u.of].Lack(from, to, u.n) == last {
			e := &s.equipment[u.of]
			return refusal{cause: cause, next: last + 1, span: engine.Span{From: last, To: last + 1}, lacks: e, note: e.Name}
		}
	}
	return refusal{}
}

// meanwhile is how long a start at t may go on while all that the stage uses is
// there. Hours are the crew's, who are on shift.
func (s *schedule) meanwhile(there, hours *engine.Timetable, j *job, t engine.Slot) (engine.Slot, refusal) {
	end, r := s.shift(there, j, t)
	if !r.refused() {
		return end, r
	}
	// Of the next shift this says nothing.
	r = refusal{cause: EquipmentBusy, next: min(r.next, hours.Closes(t))}
	for _, u := range j.uses {
		if away := s.stock[u.of].Closes(t); r.lacks == nil || away < r.span.From {
			r.lacks, r.note, r.span = &s.equipment[u.of], s.equipment[u.of].Name, engine.Span{From: away, To: away + 1}
		}
	}
	return t + 1, r
}

// andBusy is what blocks a part of work that is laid over the hours of crew and
// equipment together: those do not tell what else the crew does.
func (s *schedule) andBusy(hours *engine.Timetable, j *job, blocked func(from, to engine.Slot) engine.Slot) func(from, to engine.Slot) engine.Slot {
	return func(from, to engine.Slot) engine.Slot {
		return max(blocked(from, to), hours.Lack(from, to, j.people))
	}
}

// tackle is what a move from one place, or from nowhere (-1), into another uses:
// the lift that takes the boat out and the one that takes it in, most often one.
func (s *schedule) tackle(from, to int) []use {
	var lifts []use
	for _, p := range []int{from, to} {
		if p < 0 || s.places[p].lift < 0 || len(lifts) > 0 && lifts[0].of == s.places[p].lift {
			continue
		}
		lifts = append(lifts, use{s.places[p].lift, 1})
	}
	return lifts
}

// whoUses is who has what a refusal lacks, and its name; if it is not there, why.
func (s *schedule) whoUses(r refusal, j *job) (Key, string) {
	of := slices.IndexFunc(s.equipment, func(e equipment) bool { return e.Name == r.lacks.Name })
	if !s.stock[of].There(r.span.From) {
		if why := s.yard.WhyOut(r.lacks.Name, s.grid.Time(r.span.From)); why != "" {
			return Key{}, r.lacks.Name + " is out of service, " + why
		}
		return Key{}, r.lacks.Name + " is out of its hours"
	}
	takes := func(u use) bool { return u.of == of }
	who := s.whoWorks(r.span, func(p *placed) bool { return p.job != j && slices.ContainsFunc(p.job.uses, takes) })
	for i, st := range s.boats {
		for _, x := range st.stays {
			moved := slices.ContainsFunc(x.lifts, takes) && x.from+x.aside < r.span.To && x.from+x.move > r.span.From
			if name := s.model.boats[i].Name; moved && who == (Key{}) && name != j.key.Boat {
				who = Key{Boat: name}
			}
		}
	}
	return who, r.lacks.Name
}
