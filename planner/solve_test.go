package planner

import (
	"fmt"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// bigYard grows the small yard with its fleet: a booth, a shed place and a slip
// for every three boats, and crews to match.
func bigYard(boats int) Problem {
	p := problem(fleet(boats)...)
	p.Horizon = 6 * 7 * 24 * time.Hour
	p.Outdoors = fair(monday.Add(-2*time.Hour), 6*7*24+6)
	for i := 1; i < (boats+2)/3; i++ {
		for _, like := range p.Yard.Places[:3] {
			like.Name = fmt.Sprintf("%s %d", like.Kind, i+1)
			p.Yard.Places = append(p.Yard.Places, like)
		}
	}
	p.Yard.Places[3].Boats = boats
	for i := range p.Yard.Crews {
		p.Yard.Crews[i].People *= (boats + 2) / 3
	}
	for i := range p.Boats {
		b := &p.Boats[i]
		b.Arrives = monday.Add(time.Duration(i%10) * 48 * time.Hour).Format("2006-01-02")
		b.Promised = monday.Add(time.Duration(14+i%20) * 24 * time.Hour).Format("2006-01-02")
		if i%3 == 0 {
			b.Areas = append(b.Areas, b.Areas[0], b.Areas[0])
			b.Areas[1].Name, b.Areas[1].Size = "deck", unit.Of(unit.Area(30))
			b.Areas[2].Name, b.Areas[2].Size, b.Areas[2].After = "house", unit.Of(unit.Area(20)), "deck"
		} else if i%3 == 1 {
			b.Areas = append(b.Areas, b.Areas[0])
			b.Areas[1].Name, b.Areas[1].Size = "deck", unit.Of(unit.Area(30))
		}
	}
	return p
}

// Everything of a fleet that the yard has room and time for gets a start.
func TestFleet(t *testing.T) {
	t.Parallel()
	p := bigYard(6)
	plan := solved(t, p)
	for _, s := range plan.Stages {
		if s.State == Unplaced {
			t.Errorf("%v has no start: %+v", s.Key, s.Waits)
		}
	}
	for _, l := range plan.Launches {
		if l.Likely.IsZero() {
			t.Errorf("%s is not launched", l.Boat)
		}
	}
}

// Who is promised first goes first, when both want one booth.
func TestThePromiseDecides(t *testing.T) {
	p := problem(fleet(2)...)
	p.Boats[0].Promised, p.Boats[1].Promised = "2026-05-24", "2026-05-11"
	plan := solved(t, p)
	if a, b := stageOf(t, plan, "boat 01", "prime"), stageOf(t, plan, "boat 02", "prime"); !b.Start.Before(a.Start) {
		t.Errorf("the boat promised later is primed %v, the other %v", a.Start, b.Start)
	}
}

// No stage that is done in one go can start earlier, all else as planned, by the
// judgement of Check alone, unless it costs more.
func TestSettled(t *testing.T) {
	t.Parallel()
	p := problem(fleet(2)...)
	plan := solved(t, p)
	tried := 0
	for i, s := range plan.Stages {
		if len(s.Work) > 0 || s.Kind == config.Hold {
			continue
		}
		for at := s.Start.Add(-step); !at.Before(s.Ready); at = at.Add(-5 * step) {
			earlier := plan
			earlier.Stages = append([]Planned(nil), plan.Stages...)
			moved := &earlier.Stages[i]
			by := s.Start.Sub(at)
			moved.Start, moved.End, moved.Protected = s.Start.Add(-by), s.End.Add(-by), s.Protected
			moved.Passes = nil
			tried++
			if costsMore(s, at) || len(Check(p, earlier)) > 0 {
				continue
			}
			t.Errorf("%v is planned %v and could start %v", s.Key, s.Start, at)
			break
		}
	}
	if tried < 20 {
		t.Errorf("only %d earlier starts to try", tried)
	}
}

// costsMore reports that the plan itself says an earlier start costs something.
func costsMore(s Planned, at time.Time) bool {
	for _, w := range s.Waits {
		if !at.Before(w.From) && at.Before(w.To) && w.Evidence.Amount > 0 {
			return true
		}
	}
	return false
}

// Check finds what it is there to find: each change to a good plan breaks its rule.
func TestCheckFinds(t *testing.T) {
	p := problem(fleet(2)...)
	at := func(plan *Plan, stage string) *Planned {
		for i := range plan.Stages {
			if s := &plan.Stages[i]; s.Key.Boat == "boat 01" && s.Key.Stage == stage {
				return s
			}
		}
		return nil
	}
	shift := func(s *Planned, by time.Duration) {
		s.Start, s.End, s.Protected = s.Start.Add(by), s.End.Add(by), s.Protected.Add(by)
		for i := range s.Work {
			s.Work[i] = Span{s.Work[i].From.Add(by), s.Work[i].To.Add(by)}
		}
	}
	cases := map[string]func(*Plan){
		"whole":      func(plan *Plan) { plan.Stages = plan.Stages[1:] },
		"place":      func(plan *Plan) { at(plan, "mask").Place = "shed" },
		"crew":       func(plan *Plan) { at(plan, "prime").People = 3 },
		"shift":      func(plan *Plan) { shift(at(plan, "sand"), 12*time.Hour) },
		"order":      func(plan *Plan) { shift(at(plan, "finish"), -48*time.Hour) },
		"cure":       func(plan *Plan) { shift(at(plan, "unmask"), -5*time.Hour) },
		"recoat":     func(plan *Plan) { shift(at(plan, "finish"), 7*24*time.Hour) },
		"life":       func(plan *Plan) { shift(at(plan, "wipe"), -5*time.Hour) },
		"clearance":  func(plan *Plan) { *at(plan, "wipe again") = begun(*at(plan, "wipe again"), at(plan, "prime").End) },
		"conditions": func(plan *Plan) { plan.Blocks = nil },
	}
	for rule, change := range cases {
		t.Run(rule, func(t *testing.T) {
			plan := solved(t, p)
			change(&plan)
			if rule == "conditions" { // a coat outdoors in the dew
				q := p
				q.Outdoors = nil
				plan = solved(t, p)
				p := q
				if !breaks(Check(p, plan), rule) {
					t.Error("a coat without weather passes")
				}
				return
			}
			if broken := Check(p, plan); !breaks(broken, rule) {
				t.Errorf("found only %v", broken)
			}
		})
	}
}

func begun(s Planned, at time.Time) Planned {
	s.Start, s.End = at, at.Add(s.End.Sub(s.Start))
	return s
}

func breaks(all []Broken, rule string) bool {
	for _, b := range all {
		if b.Rule == rule {
			return true
		}
	}
	return false
}
