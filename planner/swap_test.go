package planner

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// crossed is a yard of one booth and one shed and nowhere else to stand, in which two
// boats need each other's places: the one in the shed is to be coated, the one in the
// booth to be sanded. One man moves boats.
func crossed() Problem {
	p := problem(fleet(2)...)
	p.Yard.Places = p.Yard.Places[:2]
	p.Yard.Places[1].Boats, p.Yard.Places[1].Move = 1, hours(0.75)
	p.Yard.Crews[0].Skills = []string{"prep"}
	p.Yard.Crews = append(p.Yard.Crews, config.Crew{Name: "lift", Skills: []string{"move"}, People: 1, Shifts: week("0 7 * * 1-5", 8.5)})
	p.Yard.Systems = []config.System{
		{Name: "coat", Stages: []config.Stage{coatIn(config.Booth, "coat", "topcoat")}},
		{Name: "sand", Stages: []config.Stage{{Name: "sand", Kind: config.Sand, Skill: "prep", People: 2, Takes: hours(4), Places: []config.PlaceKind{config.Shed}}}},
	}
	for i, place := range []string{"shed", "booth 1"} {
		p.Boats[i].Areas[0].System = p.Yard.Systems[i].Name
		p.Presses = append(p.Presses, Press{Kind: Arrived, Key: Key{Boat: p.Boats[i].Name}, Place: place, Happened: monday.Add(-time.Hour)})
	}
	return p
}

// into is a boat's block in a place, if it is brought in there.
func into(plan Plan, boat, place string) (Block, bool) {
	n := slices.IndexFunc(plan.Blocks, func(b Block) bool { return b.Boat == boat && b.Place == place && b.Move > 0 })
	if n < 0 {
		return Block{}, false
	}
	return plan.Blocks[n], true
}

// kept asks the rulebook too, which knows nothing of the planner.
func kept(t *testing.T, p Problem) Plan {
	t.Helper()
	plan := solved(t, p)
	for _, f := range faults(p, plan) {
		t.Error(f)
	}
	return plan
}

// Two boats that stand in each other's way change places in one joint move, one after
// the other, by the one man and with the one lift that the yard has.
func TestTwoBoatsChangePlaces(t *testing.T) {
	for _, lift := range []string{"", "travel lift"} {
		p := crossed()
		if lift != "" {
			p.Yard.Equipment = []config.Equipment{{Name: lift, Count: 1}}
			p.Yard.Places[0].Lift, p.Yard.Places[1].Lift = lift, lift
		}
		plan := kept(t, p)
		for _, s := range plan.Stages {
			if s.State == Unplaced {
				t.Errorf("with lift %q: %s has no start: %s", lift, s.Key, s.Binds)
			}
		}
		a, okA := into(plan, "boat 01", "booth 1")
		b, okB := into(plan, "boat 02", "shed")
		if !okA || !okB || a.Swap != "boat 02" || b.Swap != "boat 01" || !a.From.Equal(b.From) || a.Mover != "lift" || b.Mover != "lift" {
			t.Fatalf("with lift %q: %+v and %+v", lift, a, b)
		}
		if both := 75 * time.Minute; max(a.Move, b.Move) != both || a.Aside+b.Aside != min(a.Move, b.Move) {
			t.Errorf("with lift %q: moves of %v and %v, aside for %v and %v", lift, a.Move, b.Move, a.Aside, b.Aside)
		}
		if got := plan.Cost[moving]; got.Amount != 2*int64(p.Yard.WithDefaults().Weights.Moving) {
			t.Errorf("with lift %q: %+v for two moves", lift, got)
		}
	}
}

// Nobody is there for the second half of the joint move, or the lift is out: no swap.
func TestNoSwapWithoutTimeForBothMoves(t *testing.T) {
	hour := crossed()
	hour.Yard.Crews[2].Shifts = week("0 7 * * 1-5", 1)
	out := crossed()
	out.Yard.Equipment = []config.Equipment{{Name: "travel lift", Count: 1, Hours: week("0 7 * * 1-5", 1)}}
	out.Yard.Places[1].Lift = "travel lift"
	small := crossed()
	small.Yard.Places[1].Length = unit.Of(unit.Length(10)) // the shed takes in no other boat
	for name, p := range map[string]Problem{"an hour's shift": hour, "an hour of the lift": out, "a small shed": small} {
		plan := solved(t, p)
		if b, ok := into(plan, "boat 01", "booth 1"); ok {
			t.Errorf("%s: %+v", name, b)
		}
		if s := stageOf(t, plan, "boat 01", "coat"); s.State != Unplaced || s.Binds != string(PlaceTaken) {
			t.Errorf("%s: %s, %s", name, s.State, s.Binds)
		}
	}
}

// Check takes no swap for one that is none.
func TestCheckKnowsASwap(t *testing.T) {
	p := crossed()
	whole := solved(t, p)
	for name, spoil := range map[string]func(a, b *Block){
		"moved at once":      func(a, b *Block) { a.Aside, b.Aside = 0, 0 },
		"with nobody":        func(a, b *Block) { a.Swap, b.Swap = "", "" },
		"with itself":        func(a, _ *Block) { a.Swap = a.Boat },
		"only one says so":   func(_, b *Block) { b.Swap = "" },
		"by different crews": func(a, _ *Block) { a.Mover = "prep" },
		"too quick":          func(a, _ *Block) { a.Move -= 10 * time.Minute },
		"aside for too long": func(a, _ *Block) { a.Aside += 10 * time.Minute; a.Move += 10 * time.Minute },
	} {
		plan := whole
		plan.Blocks = slices.Clone(whole.Blocks)
		var both []*Block
		for i := range plan.Blocks {
			if plan.Blocks[i].Swap != "" {
				both = append(both, &plan.Blocks[i])
			}
		}
		if len(both) != 2 {
			t.Fatalf("%d boats change places", len(both))
		}
		if both[0].Aside == 0 {
			slices.Reverse(both)
		}
		spoil(both[0], both[1])
		if len(Check(p, plan)) == 0 {
			t.Errorf("%s: nothing is broken", name)
		}
	}
}

// A boat that only waits in the shed goes to the standing, once that is free, for a boat
// that has work there. Neither fits the slip, so that no swap would do.
func TestAWaitingBoatIsSentAway(t *testing.T) {
	p := problem(fleet(3)...)
	p.Yard.Places = p.Yard.Places[1:]
	for i := range p.Yard.Places {
		p.Yard.Places[i].Boats = 1
	}
	p.Yard.Places[1].Length = unit.Of(unit.Length(17))
	p.Boats[0].Length, p.Boats[2].Length = unit.Of(unit.Length(20)), unit.Of(unit.Length(20))
	sand := config.Stage{Name: "sand", Kind: config.Sand, Skill: "prep", People: 2, Takes: hours(4), Places: []config.PlaceKind{config.Shed}}
	p.Yard.Systems = []config.System{
		{Name: "sand", Stages: []config.Stage{sand}},
		{Name: "cure", Stages: []config.Stage{coatIn(config.Booth, "coat", "topcoat"), {Name: "cure", Kind: config.Hold, Until: conditions.Launch}}},
	}
	p.Boats[2].Areas[0].System = "cure"
	for i, place := range []string{"shed", "slip", "standing"} {
		if i < 2 {
			p.Boats[i].Areas[0].System = "sand"
		}
		p.Presses = append(p.Presses, Press{Kind: Arrived, Key: Key{Boat: p.Boats[i].Name}, Place: place, Happened: monday.Add(-100 * time.Hour)})
	}
	p.Presses = append(p.Presses, Press{Kind: Finished, Key: Key{"boat 03", "topsides", "coat"}, Happened: monday.Add(-50 * time.Hour), By: "one"})
	p.Presses = append(p.Presses, Press{Kind: Held, Key: Key{"boat 01", "topsides", "sand"}, Happened: monday, By: "one", Note: "the owner decides"})
	plan := kept(t, p)
	out, gone := into(plan, "boat 01", "standing")
	in, came := into(plan, "boat 02", "shed")
	if !gone || !came || in.From.Before(out.From) || out.Swap != "" || out.From.Before(stageOf(t, plan, "boat 03", "cure").End) {
		t.Errorf("out %+v, in %+v", out, in)
	}
	if s := stageOf(t, plan, "boat 02", "sand"); s.State == Unplaced {
		t.Errorf("no start: %s", s.Binds)
	}
}

// TestEveryPlanOfAFullYardChecks: where the standings hold no more boats than stand
// there, boats change places and are sent away, and every plan keeps the rules.
func TestEveryPlanOfAFullYardChecks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := anyProblem(t)
		full := map[string]int{}
		for _, x := range p.Presses {
			if x.Kind == Arrived {
				full[x.Place]++
			}
		}
		for i := range p.Yard.Places {
			if place := &p.Yard.Places[i]; place.Kind != config.Booth {
				place.Boats = max(1, full[place.Name])
			}
		}
		plan, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range Check(p, plan) {
			t.Errorf("%v: %s: %s", b.Key, b.Rule, b.What)
		}
		ledgersAddUp(t, p, plan)
	})
}
