package planner

import "fairwindow/planner/engine"

// engaged is who goes on with a stage that runs, and when. It is settled before
// anything is planned: people who are at work are not there for others.
type engaged struct {
	crew  int
	parts []engine.Span
	end   engine.Slot
}

// engage finds, for each stage that runs, the first crew that has the hands for
// the rest of it. Where none has, the first crew that could do it is overworked:
// what is, is. Nobody says which crew is at it, so this is a guess.
func (m *model) engage() {
	m.engaged = map[*job]engaged{}
	for i := range m.areas {
		for _, j := range m.areas[i].jobs {
			if !j.at.Running || !j.worked() || len(j.crews) == 0 {
				continue
			}
			best := m.goOn(j, j.crews[0])
			for _, c := range j.crews {
				e := m.goOn(j, c)
				if len(e.parts) > 0 && m.crews[c].hours.Lack(m.now, e.end, j.people) == engine.None {
					best = e
					break
				}
			}
			m.engaged[j] = best
			m.book(j, best)
		}
	}
}

func (m *model) book(j *job, e engaged) {
	for _, part := range e.parts {
		m.crews[e.crew].hours.Take(part.From, part.To, j.people)
	}
}

// goOn is the rest of a running stage with one crew: straight on, or over its
// shifts if it may pause.
func (m *model) goOn(j *job, c int) engaged {
	e := engaged{crew: c, parts: []engine.Span{{From: m.now, To: m.now + j.slots}}, end: m.now + j.slots}
	if !j.pauses() {
		return e
	}
	hours := m.crews[c].hours
	for t := m.now; t != engine.None && t < m.grid.Slots; t = hours.Opens(t + 1) {
		if parts := hours.Spread(t, engine.Work{Slots: j.slots, Least: 1}); parts != nil {
			e.parts, e.end = parts, parts[len(parts)-1].To
			break
		}
	}
	return e
}
