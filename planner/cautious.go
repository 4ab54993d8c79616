package planner

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner/engine"
)

// A cautious launch is the one that a yard may promise: work that can pause takes a
// fifth longer than it should, and no coat goes on unless nine of ten such spans would
// do. Our judgement, no source.
const (
	slowWork    = 1.2
	sureOfCoats = 0.9
)

func (p *Plan) caution(boat string, at time.Time) {
	for i := range p.Launches {
		if p.Launches[i].Boat == boat {
			p.Launches[i].Cautious = at
		}
	}
}

// cautious is when each boat is ready if the turns of a schedule are laid again with
// less luck; the zero time if that is beyond the horizon. Less luck never launches sooner.
func (m *model) cautious(s *schedule) []time.Time {
	c := *m
	sure := conditions.Deviations(sureOfCoats)
	c.trust(max(m.firm, sure), max(m.pencil, sure))
	c.told = map[Key]Told{}
	c.areas = slices.Clone(m.areas)
	for i := range c.areas {
		c.areas[i].jobs = slices.Clone(c.areas[i].jobs)
		for n, j := range c.areas[i].jobs {
			if j.pauses() && !j.at.Running {
				slow := *j
				slow.pass = engine.Slot(math.Ceil(float64(j.pass) * slowWork))
				slow.slots += (slow.pass - j.pass) * engine.Slot(j.passes)
				c.areas[i].jobs[n] = &slow
			}
		}
	}
	unlucky := c.lay(s.turns, false)
	all := make([]time.Time, len(m.boats))
	for i, b := range s.boats {
		if at := max(b.launch, unlucky.boats[i].launch); at < m.grid.Slots {
			all[i] = m.grid.Time(at)
		}
	}
	return all
}
