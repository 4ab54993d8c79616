package planner

import (
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// candidates are all facts that might leave a stage without a start: first what
// people would best hear of, for it is told where one of several would do. The plan's
// end is the last.
func candidates(p Problem, k Key) []candidate {
	l := &loosening{p: p, boat: p.Boats[0]}
	l.stages, l.before = l.around(k)
	l.people(k)
	l.places()
	l.limits()
	l.lives()
	l.cures()
	l.arrival()
	l.crews()
	l.closures()
	l.weather()
	l.plan()
	return l.all
}

// loosening gathers the facts about one stage.
type loosening struct {
	p      Problem
	boat   config.Boat
	stages []config.Stage // of its block that are still to do, itself among them
	before []config.Stage // all that its area and those before it do up to then
	all    []candidate
}

func (l *loosening) add(f Fact, step float64, most int, relax func(*Problem, float64)) {
	l.all = append(l.all, candidate{f, step, most, relax})
}

// around is the stage's block, and all that is done before the end of it.
func (l *loosening) around(k Key) (block, before []config.Stage) {
	work := Replay(l.p.Yard, l.p.Boats, l.p.Presses)
	for _, a := range l.boat.Areas {
		if a.Name == k.Area {
			continue
		}
		for _, s := range work.Stages(l.boat.Name, a.Name) {
			before = append(before, s.Stage)
		}
	}
	own := work.Stages(l.boat.Name, k.Area)
	at := slices.IndexFunc(own, func(s Progress) bool { return s.Key == k })
	if at < 0 {
		return nil, before
	}
	from, to := at, at+1
	same := func(i int) bool { return own[i].Stage.Block != "" && own[i].Stage.Block == own[at].Stage.Block }
	for from > 0 && same(from-1) && !own[from-1].Done {
		from--
	}
	for to < len(own) && same(to) {
		to++
	}
	for i, s := range own[:to] {
		if i >= from {
			block = append(block, s.Stage)
		}
		before = append(before, s.Stage)
	}
	return block, before
}

// plan: its horizon, with the last fortnight's weather over and over beyond it.
func (l *loosening) plan() {
	const most = 60 // days; our judgement of how far on an answer still helps
	l.add(Fact{Of: PlanEnds, Wants: l.p.Horizon.Hours() / 24, Unit: "days"}, 1, most, func(p *Problem, by float64) {
		p.Horizon += time.Duration(by*24) * time.Hour
		n := len(p.Outdoors)
		period := min(n, 14*24)
		for i := range int(by) * 24 {
			if n == 0 {
				return
			}
			w := p.Outdoors[n-period+i%period]
			w.At, w.Sure = p.Outdoors[n-1].At.Add(time.Duration(i+1)*time.Hour), conditions.Pencilled
			p.Outdoors = append(p.Outdoors, w)
		}
	})
}

// weather: rain and dew on a hull that must be dry.
func (l *loosening) weather() {
	l.add(Fact{Of: WetHull, Name: l.boat.Name}, 1, 1, func(p *Problem, _ float64) {
		for i := range p.Outdoors {
			p.Outdoors[i].Rain, p.Outdoors[i].RainChance = 0, 0
		}
	})
}

func (l *loosening) closures() {
	for _, place := range l.p.Yard.Places {
		if slices.ContainsFunc(l.p.Yard.Closures, func(c config.Closure) bool { return c.Place == place.Name }) {
			l.add(Fact{Of: Closed, Name: place.Name}, 1, 1, func(p *Problem, _ float64) {
				p.Yard.Closures = slices.DeleteFunc(p.Yard.Closures, func(c config.Closure) bool { return c.Place == place.Name })
			})
		}
	}
	if slices.ContainsFunc(l.p.Yard.Closures, func(c config.Closure) bool { return c.Place == "" }) {
		l.add(Fact{Of: Closed, Name: l.p.Yard.Name}, 1, 1, func(p *Problem, _ float64) {
			p.Yard.Closures = slices.DeleteFunc(p.Yard.Closures, func(c config.Closure) bool { return c.Place == "" })
		})
	}
}

// crews: their shifts, their number, and that somebody has the skill at all. A
// shift that lacks hours is lengthened; one as long as a day never ends.
func (l *loosening) crews() {
	skills := map[string]bool{}
	for _, s := range l.stages {
		if s.Skill == "" || skills[s.Skill] {
			continue
		}
		skills[s.Skill] = true
		people := 1
		for _, other := range l.stages {
			if other.Skill == s.Skill {
				people = max(people, other.People)
			}
		}
		skilled := slices.ContainsFunc(l.p.Yard.Crews, func(c config.Crew) bool { return slices.Contains(c.Skills, s.Skill) })
		if !skilled {
			l.add(Fact{Of: NoSkill, Name: s.Skill, Lacks: float64(people), Unit: "people"}, float64(people), 1, func(p *Problem, _ float64) {
				for i := range p.Yard.Crews {
					c := &p.Yard.Crews[i]
					c.Skills, c.People = append(slices.Clone(c.Skills), s.Skill), max(c.People, people)
				}
			})
		}
		for i, c := range l.p.Yard.Crews {
			if skilled && !slices.Contains(c.Skills, s.Skill) {
				continue
			}
			l.crew(i, c, people)
		}
	}
}

func (l *loosening) crew(i int, c config.Crew, people int) {
	if c.People < people {
		l.add(Fact{Of: TooFew, Name: c.Name, Wants: float64(c.People), Unit: "people"}, 1, people-c.People, func(p *Problem, by float64) {
			p.Yard.Crews[i].People += int(by)
		})
	}
	longest := 0.0
	for _, s := range c.Shifts {
		longest = max(longest, s.Length.Std().Hours())
	}
	l.add(Fact{Of: ShortShift, Name: c.Name, Wants: longest, Unit: "h"}, step.Hours(), int(24*perHour), func(p *Problem, by float64) {
		crew := &p.Yard.Crews[i]
		crew.Shifts = slices.Clone(crew.Shifts)
		for n := range crew.Shifts {
			crew.Shifts[n].Length += unit.Duration(by * float64(time.Hour))
		}
		if by >= 24 {
			crew.Shifts = []config.Shift{{Starts: "0 0 * * *", Length: unit.Duration(25 * time.Hour)}}
		}
	})
}

// people: what somebody said of the stage, or of one before it.
func (l *loosening) people(k Key) {
	work := Replay(l.p.Yard, l.p.Boats, l.p.Presses)
	progress, _ := work.Stage(k)
	about := func(f Fact, kinds ...PressKind) {
		f.Of = PersonsWord
		l.add(f, 1, 1, func(p *Problem, _ float64) {
			p.Presses = slices.DeleteFunc(p.Presses, func(press Press) bool { return press.Key == k && slices.Contains(kinds, press.Kind) })
		})
	}
	if progress.Held != "" {
		about(Fact{Name: progress.Held, Note: progress.HeldWhy}, Held)
	}
	if !progress.Pinned.IsZero() {
		about(Fact{Name: progress.PinnedBy, Note: "pinned", When: progress.Pinned}, Pinned)
	}
	if progress.Cant != "" {
		about(Fact{Name: progress.CantBy, Note: progress.Cant}, Cant)
	}
}

// arrival: of a boat that is still to come.
func (l *loosening) arrival() {
	at, err := l.p.Yard.Time(l.boat.Arrives)
	if err != nil || !at.After(l.p.At) {
		return
	}
	most := int(at.Sub(l.p.At)/time.Hour) + 1
	l.add(Fact{Of: ArrivesLate, Name: l.boat.Name, Unit: "h", When: at}, 1, most, func(p *Problem, by float64) {
		zone, err := p.Yard.Location()
		if err == nil {
			p.Boats[0].Arrives = at.Add(-time.Duration(by) * time.Hour).In(zone).Format("2006-01-02 15:04")
		}
	})
}

// places: those it may be done in and that the boat does not fit; or that the
// yard has none of the kind.
func (l *loosening) places() {
	if len(l.stages) == 0 {
		return
	}
	kinds := l.stages[0].Places
	for _, s := range l.stages {
		if len(kinds) == 0 {
			kinds = s.Places
		}
	}
	some := len(kinds) == 0
	for i, place := range l.p.Yard.Places {
		if len(kinds) > 0 && !slices.Contains(kinds, place.Kind) || len(kinds) == 0 && place.Kind == config.Standing {
			continue
		}
		some = true
		if note := tooSmall(place, l.boat); note != "" {
			const most = 600 // 60 m
			l.add(Fact{Of: TooSmall, Name: place.Name, Note: note, Unit: "m"}, 0.1, most, func(p *Problem, by float64) {
				p.Yard.Places[i] = larger(p.Yard.Places[i], by, by, by)
			})
		}
	}
	if !some {
		l.add(Fact{Of: NoSuchPlace, Name: string(kinds[0])}, 1, 1, func(p *Problem, _ float64) {
			for i := range p.Yard.Systems {
				for n := range p.Yard.Systems[i].Stages {
					p.Yard.Systems[i].Stages[n].Places = nil
				}
			}
		})
	}
}

// larger is a place with so many metres more of length, width and height.
func larger(p config.Place, length, width, height float64) config.Place {
	add := func(w unit.Written[unit.Length], by float64) unit.Written[unit.Length] {
		return unit.Of(w.SI + unit.Length(by))
	}
	p.Length, p.Width = add(p.Length, length), add(p.Width, width)
	if !p.Height.IsZero() {
		p.Height = add(p.Height, height)
	}
	return p
}

// tooSmall says in which measures a boat does not fit a place; empty if it does.
func tooSmall(p config.Place, b config.Boat) string {
	const vast = 1000 // m
	var says string
	for _, one := range []struct {
		says  string
		place config.Place
	}{
		{"short", larger(p, 0, vast, vast)}, {"narrow", larger(p, vast, 0, vast)}, {"low", larger(p, vast, vast, 0)},
	} {
		if !one.place.Fits(b) {
			if says != "" {
				says += " and too "
			}
			says += one.says
		}
	}
	return says
}
