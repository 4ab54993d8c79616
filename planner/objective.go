package planner

import (
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// The objective is one integer, in cost-minutes. These are its terms.
const (
	lateness = iota // weight × minutes a launch is late; a boat not done counts as done at the horizon
	spoiling        // weight × the chance that a coat is spoilt × minutes of rework
	repairs         // weight × people's minutes of planned repair work
	holding         // weight × minutes a booth is held
	moving          // weight of each move of a boat
	waiting         // weight × minutes until a boat may be launched: slack is worth something
	change          // weight × minutes a told start moves × how near it was
	unplaced        // two days' lateness for each stage without a start
	terms
)

var termNames = [terms]string{"lateness", "spoiling", "repair", "holding", "moves", "waiting", "change", "unplaced"}

// cost is the objective, term by term.
type cost [terms]float64

func (c cost) total() int64 {
	var sum int64
	for _, v := range c {
		sum += int64(math.Round(v))
	}
	return sum
}

func (c cost) table() []Term {
	table := make([]Term, terms)
	for i, v := range c {
		table[i] = Term{Name: termNames[i], Amount: int64(math.Round(v))}
	}
	return table
}

// fortnight is how far ahead people's arrangements count: a told start beyond it
// moves for nothing. Common practice, no source.
const fortnight = 14 * 24 * time.Hour

// otherPlace is what a told stage's change of place counts like, in minutes.
const otherPlace = 240

const givenUp = 2 * 24 * 60

func (s *schedule) cost() cost {
	var c cost
	w := s.yard.Weights
	for i := range s.model.boats {
		if s.model.boats[i].gone {
			continue
		}
		st := s.boats[i]
		c[lateness] += w.Lateness * s.late(i)
		c[waiting] += w.Waiting * s.untilAt(st.launch)
		for _, x := range st.stays {
			if x.move > 0 && x.to > x.from {
				c[moving] += w.Moving
			}
			if s.places[x.place].Kind == config.Booth {
				c[holding] += w.Holding * float64(max(x.to-x.from, 0)) * step.Minutes()
			}
		}
		for _, p := range st.placed {
			c[spoiling] += s.spoils(p)
			c[repairs] += s.repairCost(p)
			c[change] += s.changes(p.job.key, s.grid.Time(p.start), s.placeName(p.place))
		}
	}
	for _, m := range s.missed {
		c[change] += s.changes(m.job.key, s.end(), "")
		c[unplaced] += max(w.Lateness, 0.1) * givenUp
	}
	return c
}

// late is the minutes by which a boat misses its promised launch.
func (s *schedule) late(i int) float64 {
	launch := s.end()
	if at := s.boats[i].launch; at < s.grid.Slots {
		launch = s.grid.Time(at)
	}
	return max(0, launch.Sub(s.model.boats[i].promised).Minutes())
}

func (s *schedule) spoils(p *placed) float64 {
	if !p.coating {
		return 0
	}
	return s.yard.Weights.Spoiling * (1 - conditions.Chance(p.z)) * p.job.rework
}

func (s *schedule) repairCost(p *placed) float64 {
	if !p.job.repair {
		return 0
	}
	return s.yard.Weights.Repair * float64(p.job.slots) * step.Minutes() * float64(p.job.people)
}

// changes is what it costs that a stage starts at another time or place than people were told.
func (s *schedule) changes(k Key, start time.Time, place string) float64 {
	told, ok := s.told[k]
	if !ok {
		return 0
	}
	moved := math.Abs(start.Sub(told.Start).Minutes())
	if told.Place != "" && told.Place != place {
		moved += otherPlace
	}
	return s.changeWeight(told) * moved
}

// changeWeight is what each minute off a told start costs: the sooner it is, the more.
func (m *model) changeWeight(told Told) float64 {
	near := 1 - max(0, told.Start.Sub(m.p.At).Hours())/fortnight.Hours()
	return m.yard.Weights.Change * max(near, 0)
}

func (s *schedule) placeName(p int) string {
	if p < 0 {
		return ""
	}
	return s.places[p].Name
}
