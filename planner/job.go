package planner

import (
	"fmt"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// job is one open stage.
type job struct {
	key    Key
	area   int
	part   int // of the hull
	stage  config.Stage
	card   *card
	repair bool
	at     Progress
	slots  engine.Slot // of the whole stage, or of the work that is left
	pass   engine.Slot
	flash  engine.Slot
	passes int
	people int
	crews  []int
	uses   []use
	there  []*engine.Timetable // per crew of crews: its hours with what it uses there; nil if they are the crew's own
	before time.Time           // running or paused: when it started
	rework float64             // minutes of work that a spoilt coat costs
	again  engine.Slot         // not before, after it was reported that it can't be done
	rules  []*conditions.Rules // per place, once asked for
}

func (j *job) worked() bool { return j.stage.Skill != "" }

func (j *job) pauses() bool { return j.worked() && j.stage.Interruptible() }

// mustBeDry is a stage that nobody does on a wet hull, whatever its limits.
func (j *job) mustBeDry() bool { return j.stage.Kind == config.Wipe || j.stage.Dusty() }

func (j *job) coats() bool { return j.stage.Kind == config.Coat }

// leastPart is the shortest part of paused work that is worth people's coming.
// Common practice, no source.
const leastPart = 30 * time.Minute

func (m *model) newJob(areaIndex int, a config.Area, p Progress) (*job, error) {
	j := &job{key: p.Key, area: areaIndex, part: partOf(a), stage: p.Stage, repair: p.Repair, at: p, people: max(p.Stage.People, 1), passes: 1}
	if j.coats() {
		if j.card = m.cards[p.Stage.Card]; j.card == nil {
			return nil, fmt.Errorf("the yard has no card %q", p.Stage.Card)
		}
		j.passes = max(p.Stage.Passes-len(p.Passes), 1)
		j.flash = m.grid.Steps(j.card.FlashOff.Least.Std())
		j.rework = (float64(a.Size.SI)/float64(abradeRate) + hoursOf(p.Stage, a)*float64(max(p.Stage.Passes, 1))) * 60
	}
	for i, c := range m.crews {
		if slices.Contains(c.Skills, p.Stage.Skill) && c.People >= j.people {
			j.crews = append(j.crews, i)
		}
	}
	if err := m.equip(j); err != nil {
		return nil, err
	}
	one := time.Duration(hoursOf(p.Stage, a) / float64(j.people) * float64(time.Hour))
	if p.Stage.Takes > 0 {
		one = p.Stage.Takes.Std()
	}
	j.pass = m.grid.Steps(one)
	j.slots = j.pass*engine.Slot(j.passes) + j.flash*engine.Slot(j.passes-1)
	if p.Running || p.Paused {
		j.before = p.Started
		spent := m.grid.Floor(m.grid.Origin.Add(p.WorkedBy(m.p.At)))
		if j.coats() {
			spent = 0
			if n := len(p.Passes); n > 0 {
				spent = m.grid.Floor(m.p.At) - m.grid.Floor(p.Passes[n-1].To)
			} else {
				spent = m.grid.Floor(m.p.At) - m.grid.Floor(p.Started)
			}
		}
		j.slots = max(j.slots-spent, 1)
	}
	if p.Cant != "" {
		var err error
		if j.again, err = m.nextShift(j); err != nil {
			return nil, err
		}
	}
	return j, nil
}

// hoursOf is the hours one person takes for one pass over the area.
func hoursOf(s config.Stage, a config.Area) float64 {
	if s.Takes > 0 {
		return s.Takes.Std().Hours() * float64(max(s.People, 1))
	}
	if s.Rate.SI <= 0 {
		return 0
	}
	return float64(a.Size.SI) / float64(s.Rate.SI)
}

// allows reports whether a job may be done in a kind of place. Without kinds,
// what nobody works at, and an inspection, may be anywhere; work may not be on a standing.
func (j *job) allows(kind config.PlaceKind) bool {
	if len(j.stage.Places) > 0 {
		return slices.Contains(j.stage.Places, kind)
	}
	return kind != config.Standing || !j.worked() || j.stage.Kind == config.Inspect
}

// anywhere is a job for which a boat is never moved.
func (j *job) anywhere() bool { return !j.worked() && len(j.stage.Places) == 0 }
