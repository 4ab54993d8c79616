package planner

import (
	"time"

	"fairwindow/conditions"
)

// windows are the runs of starts within ahead that a coat's conditions and the
// coat under it allow: they begin with the recoat opening and end with its closing.
func (m *model) windows(j *job, under *film, place int, w way, ahead time.Duration) []Window {
	last := min(m.now+m.grid.Steps(ahead), m.grid.Slots)
	from := m.now
	begins := m.p.At // what is open at the first slot is open now, though now lies between two
	if under != nil {
		opens := m.out.opens(under, j.stage.Needs(), w)
		if opens >= m.now {
			begins = m.grid.Time(opens)
		}
		from = max(from, opens)
		last = min(last, m.out.closes(under, w))
	}
	var all []Window
	var open *Window
	for t := from; t < last; {
		o := m.coating(j, place, w, t)
		switch {
		case o.ok && open == nil:
			if t > from {
				begins = m.grid.Time(t)
			}
			open = &Window{From: begins, To: m.grid.Time(t), Place: m.places[place].Name, Chance: conditions.Chance(o.z)}
		case o.ok:
			open.To = m.grid.Time(t)
		case open != nil:
			e := o.evidence()
			open.Closes, open.Value, open.When = e.Bound, e.Value, e.When
			all, open = append(all, *open), nil
		}
		if o.ok {
			t++
		} else {
			t = max(t+1, o.again(j, t))
		}
	}
	if open != nil {
		all = append(all, *open)
	}
	return all
}
