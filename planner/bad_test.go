package planner

import (
	"strings"
	"testing"
	"time"

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
		"no such area":            {change: func(p *Problem) { p.Boats[0].Areas[0].After = "keel" }, err: "no area \"keel\""},
		"no such system":          {change: func(p *Problem) { p.Boats[0].Areas[0].System = "varnish" }, err: "no system \"varnish\""},
		"no such card":            {change: func(p *Problem) { p.Yard.Cards = p.Yard.Cards[:1] }, err: "no card \"topcoat\""},
		"no promise":              {change: func(p *Problem) { p.Boats[0].Promised = "" }, err: "promised"},
		"no horizon":              {change: func(p *Problem) { p.Horizon = 0 }, err: "horizon"},
		"ten thousand boats":      {change: func(p *Problem) { p.Boats = fleet(10_000) }, err: "10000 boats are more than the 1000"},
		"many boats over a year":  {change: func(p *Problem) { p.Boats, p.Horizon = fleet(500), 365*24*time.Hour }, err: "plan at most 84 days ahead, or at most 115 boats"},
		"a horizon of two years":  {change: func(p *Problem) { p.Horizon = 730 * 24 * time.Hour }, err: "longer than 400 days"},
		"it comes after the plan": {change: func(p *Problem) { p.Boats[0].Arrives = "2026-09-01" }, stage: "sand", cause: LateBoat},
		"lags that contradict": {change: func(p *Problem) {
			p.Yard.Systems[0].Stages[1].Life = hours(0.25) // the wipe after the mask takes half an hour
		}, stage: "mask", cause: KeptClose},
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
			t.Parallel()
			p := problem(fleet(1)...)
			p.Horizon = 9 * 24 * time.Hour
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

// TestOddButPossible: what reads as a mistake and can be planned is planned, and
// what it costs is told.
func TestOddButPossible(t *testing.T) {
	cases := map[string]struct {
		change func(*Problem)
		term   string // of the objective that it costs
	}{
		"a promise long past": {func(p *Problem) { p.Boats[0].Promised = "2025-05-01" }, "lateness"},
		"a recoat window that closes before it opens": {func(p *Problem) {
			p.Yard.Cards[0].Cure.LastRecoat, p.Yard.Cards[0].Cure.Reactivate = at(4), nil
		}, "repair"},
		"a horizon of a year": {func(p *Problem) {
			p.Horizon, p.Outdoors = 365*24*time.Hour, fair(monday.Add(-2*time.Hour), 366*24)
		}, "holding"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p := problem(fleet(1)...)
			c.change(&p)
			plan, err := Solve(p)
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range plan.Stages {
				if s.State == Unplaced {
					t.Errorf("%v has no start: %+v", s.Key, s.Waits)
				}
			}
			for _, b := range Check(p, plan) {
				t.Errorf("%v: %s: %s", b.Key, b.Rule, b.What)
			}
			for _, term := range plan.Cost {
				if term.Name == c.term && term.Amount <= 0 {
					t.Errorf("%s costs %d", term.Name, term.Amount)
				}
			}
		})
	}
}

// BenchmarkLargest is the largest problems that are not refused.
func BenchmarkLargest(b *testing.B) {
	b.Run("boats", func(b *testing.B) { largest(b, problem(fleet(mostBoats)...)) })
	b.Run("year", func(b *testing.B) {
		p := problem(fleet(mostBoatDays / 365)...)
		p.Horizon, p.Outdoors = 365*24*time.Hour, fair(monday.Add(-2*time.Hour), 366*24)
		largest(b, p)
	})
}

func largest(b *testing.B, p Problem) {
	b.ReportAllocs()
	for range b.N {
		if _, err := Solve(p); err != nil {
			b.Fatal(err)
		}
	}
}
