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
	if under != nil {
		from = max(from, m.out.opens(under, j.stage.Needs(), w))
		last = min(last, m.out.closes(under, w))
	}
	var all []Window
	var open *Window
	for t := from; t < last; {
		o := m.coating(j, place, w, t)
		switch {
		case o.ok && open == nil:
			open = &Window{From: m.grid.Time(t), To: m.grid.Time(t), Place: m.places[place].Name, Chance: conditions.Chance(o.z)}
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
