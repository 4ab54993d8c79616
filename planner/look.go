package planner

import (
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// View is what lies ahead, as the plan of the same problem sees it.
type View struct {
	// Ahead is the outlook of each place, hour by hour, with the surface of a
	// hull that stands there.
	Ahead map[string][]conditions.Moment
	// Windows are the next ones of each coat asked for. Holds are the same with the
	// lesser chance that is enough for one that was announced, so that a forecast
	// a little better or worse does not open and shut it.
	Windows, Holds map[Key][]Window
	// Closes is when the last coat of an area, by that coat's key, may no longer
	// be overcoated as it is; it is missing where that is not within the plan.
	Closes map[Key]time.Time
}

// Window is a run of time in which a coat may start: from its first drop to the
// end of its protection every limit holds with the chance asked for.
type Window struct {
	From   time.Time        `json:"from"`
	To     time.Time        `json:"to"` // the last start
	Place  string           `json:"place"`
	Chance float64          `json:"chance"` // of a start at From
	Closes conditions.Bound `json:"closes"` // what ends it; empty if it is still open at the end of the look
	Value  float64          `json:"value"`  // the value that meets Closes, in its SI unit
	When   time.Time        `json:"when"`   // where it meets it
}

// lookAhead is how far windows are looked for.
const lookAhead = 72 * time.Hour

// Look works out what lies ahead. A coat's windows are those of the place where
// its boat stands, with the least chance given to open and to hold; what is only
// pencilled opens none.
func (d *Desk) Look(coats []Key, chance, holds float64) (View, error) {
	m := *d.m // whose confidence is another here
	// Nothing is as great as NaN, not even a limit that is kept without a doubt.
	pencil := math.NaN()
	var err error
	v := View{Ahead: map[string][]conditions.Moment{}, Windows: map[Key][]Window{}, Holds: map[Key][]Window{}, Closes: map[Key]time.Time{}}
	for i, place := range m.places {
		if v.Ahead[place.Name], err = m.ahead(i); err != nil {
			return View{}, err
		}
	}
	for i := range m.areas {
		a := &m.areas[i]
		boat := &m.boats[a.boat]
		if boat.place < 0 || !boat.here {
			continue
		}
		w := m.out.begin(boat.hull, boat.place, idle, boat.surface)
		if a.film != nil {
			if s := m.out.closes(a.film, w); s < m.grid.Slots {
				v.Closes[a.film.key] = m.grid.Time(s)
			}
		}
		for _, j := range a.jobs {
			for _, k := range coats {
				if j.key == k && j.coats() {
					m.trust(conditions.Deviations(chance), pencil)
					v.Windows[k] = m.windows(j, a.film, boat.place, w, lookAhead)
					m.trust(conditions.Deviations(holds), pencil)
					v.Holds[k] = m.windows(j, a.film, boat.place, w, lookAhead)
				}
			}
		}
	}
	return v, nil
}

// ahead is a place's outlook at whole hours, with the surface of the boat that
// stands there, or of a light laminate hull where none does.
func (m *model) ahead(place int) ([]conditions.Moment, error) {
	stands, err := m.out.hull(config.Boat{Areas: []config.Area{{Name: "topsides"}}})
	if err != nil {
		return nil, err
	}
	part := 0
	var now [parts]*conditions.Moment
	for i := range m.areas {
		if b := &m.boats[m.areas[i].boat]; b.here && b.place == place {
			stands, part, now = b.hull, partOf(m.areas[i].Area), b.surface
			break
		}
	}
	w := m.out.begin(stands, place, idle, now)
	var all []conditions.Moment
	for s := engine.Slot(0); s < m.grid.Slots; s += perHour {
		all = append(all, m.out.there(&w[0], s, part))
	}
	return all, nil
}
