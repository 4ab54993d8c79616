package planner

import (
	"strings"
	"testing"

	"fairwindow/conditions/unit"
)

func TestBadInput(t *testing.T) {
	cases := map[string]struct {
		change func(*Problem)
		err    string // part of the error; none: unplaced, with a cause
		stage  string
		cause  Cause
	}{
		"areas in a circle": {change: func(p *Problem) {
			b := &p.Boats[0]
			deck := b.Areas[0]
			deck.Name, deck.After, b.Areas[0].After = "deck", "topsides", "deck"
			b.Areas = append(b.Areas, deck)
		}, err: "wait for each other"},
		"no such area":   {change: func(p *Problem) { p.Boats[0].Areas[0].After = "keel" }, err: "no area \"keel\""},
		"no such system": {change: func(p *Problem) { p.Boats[0].Areas[0].System = "varnish" }, err: "no system \"varnish\""},
		"no such card":   {change: func(p *Problem) { p.Yard.Cards = p.Yard.Cards[:1] }, err: "no card \"topcoat\""},
		"no promise":     {change: func(p *Problem) { p.Boats[0].Promised = "" }, err: "promised"},
		"no horizon":     {change: func(p *Problem) { p.Horizon = 0 }, err: "horizon"},
		"a boat too big": {change: func(p *Problem) { p.Boats[0].Length = unit.Of(unit.Length(60)) }, stage: "sand", cause: PlaceTaken},
		"longer than every shift": {change: func(p *Problem) {
			p.Yard.Systems[0].Stages[3].Rate = unit.Of(unit.WorkRate(1))
		}, stage: "prime", cause: NoShift},
		"nobody can": {change: func(p *Problem) { p.Yard.Crews[1].Skills = nil }, stage: "wipe", cause: NoShift},
		"never warm enough": {change: func(p *Problem) {
			p.Yard.Cards[0].Limits.SurfaceMin = degrees(50)
		}, stage: "prime", cause: OutOfLimits},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p := problem(fleet(1)...)
			c.change(&p)
			plan, err := Solve(p)
			if c.err != "" {
				if err == nil || !strings.Contains(err.Error(), c.err) {
					t.Fatalf("error %v, want %q", err, c.err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			s := stageOf(t, plan, "boat 01", c.stage)
			if s.State != Unplaced || len(s.Waits) == 0 || s.Waits[len(s.Waits)-1].Cause != c.cause {
				t.Errorf("%s, %+v", s.State, s.Waits)
			}
			if !plan.Launches[0].Likely.IsZero() {
				t.Error("launched unfinished")
			}
			for _, b := range Check(p, plan) {
				t.Errorf("%v: %s: %s", b.Key, b.Rule, b.What)
			}
		})
	}
}
