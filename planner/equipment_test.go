package planner

import (
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// shared is a yard of two boats that both stand in the shed to be sanded, with two
// crews, and what the yard lends.
func shared(equipment ...config.Equipment) Problem {
	p := problem(fleet(2)...)
	p.Yard.Equipment = equipment
	sand := config.Stage{Name: "sand", Kind: config.Sand, Skill: "prep", People: 2, Takes: hours(4), Places: []config.PlaceKind{config.Shed}}
	for _, e := range equipment {
		sand.Uses = append(sand.Uses, e.Name)
	}
	only(&p, sand)
	for _, b := range p.Boats {
		p.Presses = append(p.Presses, Press{Kind: Arrived, Key: Key{Boat: b.Name}, Place: "shed", Happened: monday.Add(-time.Hour)})
	}
	return p
}

// sanded are the two boats' sandings by start.
func sanded(t *testing.T, p Problem) (first, second Planned) {
	t.Helper()
	plan := solved(t, p)
	a, b := stageOf(t, plan, "boat 01", "sand"), stageOf(t, plan, "boat 02", "sand")
	if b.Start.Before(a.Start) {
		a, b = b, a
	}
	return a, b
}

// Two boats, four people, one compressor: the second boat waits for it and the plan
// says who has it. With two of them nobody waits.
func TestTwoBoatsWantTheOneCompressor(t *testing.T) {
	for _, c := range []struct {
		count  int
		second string
	}{{1, "2026-05-04 11:00"}, {2, "2026-05-04 07:00"}} {
		first, second := sanded(t, shared(config.Equipment{Name: "compressor", Count: c.count}))
		if !first.Start.Equal(local(t, "2026-05-04 07:00")) || !second.Start.Equal(local(t, c.second)) {
			t.Errorf("of %d: %v and %v", c.count, first.Start, second.Start)
		}
		if got := waited(second, EquipmentBusy); got != second.Start.Sub(first.Start) {
			t.Errorf("of %d: waits %v for it: %+v", c.count, got, second.Waits)
		}
		for _, w := range second.Waits {
			if w.Evidence.Other != first.Key || w.Evidence.Note != "compressor" {
				t.Errorf("waits for %+v", w.Evidence)
			}
		}
	}
}

// A stage that names it twice takes two of a kind: three air lines serve one boat at
// a time then, four serve two.
func TestAStageTakesTwoOfAKind(t *testing.T) {
	for count, apart := range map[int]time.Duration{3: 4 * time.Hour, 4: 0} {
		p := shared(config.Equipment{Name: "air line", Count: count})
		p.Yard.Systems[0].Stages[0].Uses = []string{"air line", "air line"}
		if first, second := sanded(t, p); second.Start.Sub(first.Start) != apart {
			t.Errorf("of %d: %v and %v", count, first.Start, second.Start)
		}
	}
}

// Work that may pause does so when its equipment's hours end; what may not pause waits
// for hours that are long enough.
func TestEquipmentHasHours(t *testing.T) {
	morning := config.Equipment{Name: "extractor", Count: 2, Hours: week("0 7 * * 1-5", 3)}
	first, _ := sanded(t, shared(morning))
	want := []Span{{local(t, "2026-05-04 07:00"), local(t, "2026-05-04 10:00")}, {local(t, "2026-05-05 07:00"), local(t, "2026-05-05 08:00")}}
	if !slices.EqualFunc(first.Work, want, func(a, b Span) bool { return a.From.Equal(b.From) && a.To.Equal(b.To) }) {
		t.Errorf("sanded %v", first.Work)
	}
	long := config.Equipment{Name: "extractor", Count: 2, Hours: append(week("0 7 * * 1-3", 3), week("0 9 * * 4", 6)...)}
	p := shared(long)
	p.Yard.Systems[0].Stages[0].Kind = config.Wipe
	first, _ = sanded(t, p)
	if !first.Start.Equal(local(t, "2026-05-07 09:00")) {
		t.Errorf("wiped from %v, %+v", first.Start, first.Waits)
	}
	if waited(first, EquipmentBusy) == 0 || waited(first, NoShift) == 0 {
		t.Errorf("by day it waits for the extractor, by night for a shift: %+v", first.Waits)
	}
	for _, w := range first.Waits {
		if w.Cause == EquipmentBusy && !strings.Contains(w.Evidence.Note, "out of its hours") {
			t.Errorf("%+v", w.Evidence)
		}
	}
}

// An outage takes all of it away, and the wait tells why.
func TestEquipmentIsOutOfService(t *testing.T) {
	p := shared(config.Equipment{Name: "compressor", Count: 2})
	p.Yard.Closures = []config.Closure{{Equipment: "compressor", From: "2026-05-04", To: "2026-05-05 12:00", Why: "its belt is changed"}}
	first, _ := sanded(t, p)
	if !first.Start.Equal(local(t, "2026-05-05 12:00")) {
		t.Errorf("sanded from %v", first.Start)
	}
	if w := first.Waits[len(first.Waits)-1]; w.Cause != EquipmentBusy || w.Evidence.Note != "compressor is out of service, its belt is changed" {
		t.Errorf("waits %+v", w)
	}
}

// lifted is a yard whose booth and shed are reached by the one travel lift, with a
// boat on the standing that is first sanded in the shed.
func lifted(boats int, hours ...config.Shift) Problem {
	p := problem(fleet(boats)...)
	p.Yard.Equipment = []config.Equipment{{Name: "travel lift", Count: 1, Hours: hours}}
	for i := range p.Yard.Places {
		if k := p.Yard.Places[i].Kind; k == config.Booth || k == config.Shed {
			p.Yard.Places[i].Lift = "travel lift"
		}
	}
	only(&p, config.Stage{Name: "sand", Kind: config.Sand, Skill: "prep", People: 1, Takes: unit.Duration(4 * time.Hour), Places: []config.PlaceKind{config.Shed}})
	for _, b := range p.Boats {
		p.Presses = append(p.Presses, Press{Kind: Arrived, Key: Key{Boat: b.Name}, Place: "standing", Happened: monday.Add(-time.Hour)})
	}
	return p
}

// The lift is out from Monday to Tuesday noon: no boat is moved before, and the
// cause is the lift's, not the crew's.
func TestTheLiftIsOutOnTuesday(t *testing.T) {
	p := lifted(1)
	p.Yard.Closures = []config.Closure{{Equipment: "travel lift", From: "2026-05-04", To: "2026-05-05 12:00", Why: "its yearly survey"}}
	plan := solved(t, p)
	sand := stageOf(t, plan, "boat 01", "sand")
	if !sand.Start.Equal(local(t, "2026-05-05 12:30")) {
		t.Errorf("sanded from %v", sand.Start)
	}
	if waited(sand, LiftMove) == 0 || waited(sand, EquipmentBusy) != 0 {
		t.Errorf("waits %+v", sand.Waits)
	}
	if w := sand.Waits[len(sand.Waits)-1]; w.Cause != LiftMove || w.Evidence.Note != "travel lift is out of service, its yearly survey" {
		t.Errorf("waits %+v", w)
	}
}

// Two boats, four people who can move them, one lift: one after the other.
func TestOneLiftMovesOneBoat(t *testing.T) {
	p := lifted(2)
	first, second := sanded(t, p)
	if second.Start.Sub(first.Start) < p.Yard.Places[1].Move.Std() {
		t.Errorf("moved together: sanded from %v and %v", first.Start, second.Start)
	}
	if w := second.Waits[len(second.Waits)-1]; w.Cause != LiftMove || w.Evidence.Other.Boat != first.Key.Boat || w.Evidence.Note != "travel lift" {
		t.Errorf("waits %+v", second.Waits)
	}
	p.Yard.Equipment[0].Count = 2
	if first, second = sanded(t, p); !second.Start.Equal(first.Start) {
		t.Errorf("with two lifts: %v and %v", first.Start, second.Start)
	}
}

// A lift that is away up to the horizon is why nothing starts.
func TestTheLiftNeverComesBack(t *testing.T) {
	p := lifted(1)
	p.Yard.Closures = []config.Closure{{Equipment: "travel lift", From: "2026-05-01", To: "2026-12-31", Why: "sold"}}
	sand := stageOf(t, solved(t, p), "boat 01", "sand")
	if w := sand.Waits[0]; sand.State != Unplaced || w.Cause != LiftMove || w.Evidence.Note != "travel lift is out of service, sold" {
		t.Errorf("%s, %+v", sand.State, sand.Waits)
	}
}

// A stage that runs keeps its compressor, whoever is planned first, and a hold keeps
// what it uses though nobody works at it.
func TestWhatRunsKeepsItsEquipment(t *testing.T) {
	p := shared(config.Equipment{Name: "compressor", Count: 1})
	p.At = local(t, "2026-05-04 08:00")
	p.Boats[0].Promised = "2026-05-05"
	p.Presses = append(p.Presses, Press{Kind: Started, Key: Key{"boat 02", "topsides", "sand"}, Happened: local(t, "2026-05-04 07:00"), By: "one"})
	_, second := sanded(t, p)
	if second.Key.Boat != "boat 01" || !second.Start.Equal(local(t, "2026-05-04 11:00")) {
		t.Errorf("%s from %v", second.Key.Boat, second.Start)
	}
	p.Yard.Systems[0].Stages[0].Kind, p.Yard.Systems[0].Stages[0].Skill = config.Hold, ""
	_, second = sanded(t, p)
	if second.Key.Boat != "boat 01" || !second.Start.Equal(local(t, "2026-05-04 11:00")) {
		t.Errorf("held %s from %v", second.Key.Boat, second.Start)
	}
}

func TestUnknownEquipmentIsNamed(t *testing.T) {
	p := shared()
	p.Yard.Systems[0].Stages[0].Uses = []string{"compressor"}
	if _, err := Solve(p); err == nil || !strings.Contains(err.Error(), `no equipment "compressor"`) {
		t.Error(err)
	}
	p = shared()
	p.Yard.Places[0].Lift = "crane"
	if _, err := Solve(p); err == nil || !strings.Contains(err.Error(), `no equipment "crane"`) {
		t.Error(err)
	}
}

// The check finds what no search of ours should give: one compressor in two places,
// or at work while it is out.
func TestCheckCountsEquipment(t *testing.T) {
	p := shared(config.Equipment{Name: "compressor", Count: 2})
	plan := solved(t, p)
	p.Yard.Equipment[0].Count = 1
	if broken := Check(p, plan); len(broken) != 2 || broken[0].Rule != "equipment" || !strings.Contains(broken[0].What, "2 of compressor in use") {
		t.Errorf("%+v", broken)
	}
	p.Yard.Equipment[0].Count, p.Yard.Closures = 2, []config.Closure{{Equipment: "compressor", From: "2026-05-04", Why: "out"}}
	if broken := Check(p, plan); len(broken) != 2 || !strings.Contains(broken[1].What, "compressor is not there") {
		t.Errorf("%+v", broken)
	}
	p = lifted(2)
	p.Yard.Equipment[0].Count = 2
	plan = solved(t, p)
	p.Yard.Equipment[0].Count = 1
	if broken := Check(p, plan); len(broken) == 0 || !strings.Contains(broken[0].What, "2 of travel lift in use") {
		t.Errorf("%+v", broken)
	}
}

// However a yard lends what it has, no plan uses more of it than there is: a count of
// the test's own, minute by minute.
func TestCountsAreNeverExceeded(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := anyProblem(t)
		p.Horizon = 8 * 24 * time.Hour // long enough for what is lent to run short
		anyEquipment(t, &p)
		plan, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range Check(p, plan) {
			// What paint and air ask is TestEveryPlanChecks's matter.
			if slices.Contains([]string{"equipment", "crew", "shift", "place", "whole"}, b.Rule) {
				t.Errorf("%v: %s: %s", b.Key, b.Rule, b.What)
			}
		}
		ledgersAddUp(t, p, plan)
		for _, e := range p.Yard.Equipment {
			used := map[time.Time]int{}
			for _, s := range plan.Stages {
				for _, name := range s.Stage.Uses {
					if name != e.Name || s.State == Unplaced || s.State == Running {
						continue
					}
					for _, part := range s.parts(p.At) {
						for at := part.From; at.Before(part.To); at = at.Add(step) {
							if used[at]++; used[at] > e.Count {
								t.Fatalf("more than %d of %s at %v", e.Count, e.Name, at)
							}
						}
					}
				}
			}
			for _, b := range plan.Blocks {
				if place, _ := p.Yard.Place(b.Place); place.Lift == e.Name {
					for at := b.From.Add(b.Aside); at.Before(b.From.Add(b.Move)); at = at.Add(step) {
						if used[at]++; used[at] > e.Count {
							t.Fatalf("more than %d of %s at %v, moving %s", e.Count, e.Name, at, b.Boat)
						}
					}
				}
			}
		}
	})
}

// anyEquipment draws what a yard lends, and who takes it.
func anyEquipment(t *rapid.T, p *Problem) {
	for _, name := range []string{"travel lift", "compressor", "air line"} {
		e := config.Equipment{Name: name, Count: rapid.IntRange(1, 2).Draw(t, name)}
		if rapid.Bool().Draw(t, name+" has hours") {
			e.Hours = week("0 7 * * *", rapid.Float64Range(2, 9).Draw(t, name+" hours"))
		}
		p.Yard.Equipment = append(p.Yard.Equipment, e)
		if rapid.IntRange(0, 2).Draw(t, name+" is out") == 0 {
			from := p.At.Add(time.Duration(rapid.IntRange(-20, 100).Draw(t, name+" out in")) * time.Hour)
			p.Yard.Closures = append(p.Yard.Closures, config.Closure{Equipment: name, From: from.Format("2006-01-02 15:04"), To: from.Add(20 * time.Hour).Format("2006-01-02 15:04"), Why: "out"})
		}
	}
	for i := range p.Yard.Places {
		if rapid.Bool().Draw(t, "by lift") {
			p.Yard.Places[i].Lift = "travel lift"
		}
	}
	for i := range p.Yard.Systems[0].Stages {
		s := &p.Yard.Systems[0].Stages[i]
		for _, e := range p.Yard.Equipment[1:] {
			for range rapid.IntRange(0, e.Count).Draw(t, s.Name+" uses "+e.Name) {
				s.Uses = append(s.Uses, e.Name)
			}
		}
	}
}
