package planner

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// TestNoSprayingOverACoatNotProtected: the second coat may go on after an hour, by its
// card, and the first is protected after some four, sooner where it is warm. While the
// booth sprays, a great deal of fresh air comes in at 6 °C. A heater that keeps up makes
// no difference to the first coat; under one that does not it would cure more slowly than
// was planned, so the second waits, at most until the first is protected. That the first
// is protected when the plan says so, the rulebook finds by following the hull.
func TestNoSprayingOverACoatNotProtected(t *testing.T) {
	for name, c := range map[string]struct {
		heater unit.Power
		waits  bool
	}{
		"the heater keeps up": {400, false},
		"it does not":         {150, true},
	} {
		t.Run(name, func(t *testing.T) {
			p := problem(fleet(1)...)
			p.Horizon = 10 * 24 * time.Hour
			for i := range p.Outdoors {
				p.Outdoors[i].Air, p.Outdoors[i].DewPoint = 6, 0
			}
			p.Yard.Places[0].Booth.Heater = unit.Of(c.heater)
			p.Yard.Crews[1].Shifts = week("0 0 * * *", 24)
			p.Yard.Cards[0].Cure.Recoat = at(1)
			p.Yard.Cards[0].Cure.Protected = conditions.Table{{At: celsius(5), Takes: hours(12)}, {At: celsius(20), Takes: hours(4)}, {At: celsius(35), Takes: hours(2)}}
			p.Yard.Systems[0].Stages = []config.Stage{coatIn(config.Booth, "prime", "primer"), coatIn(config.Booth, "finish", "topcoat")}
			for i := range p.Yard.Systems[0].Stages {
				p.Yard.Systems[0].Stages[i].Block = "paint"
			}
			p.Presses = []Press{{Kind: Arrived, Key: Key{Boat: "boat 01"}, Place: "booth 1", Happened: monday.Add(-100 * time.Hour)}}
			plan := kept(t, p)
			prime, finish := stageOf(t, plan, "boat 01", "prime"), stageOf(t, plan, "boat 01", "finish")
			waited := finish.Start.Sub(prime.End.Add(time.Hour)) >= step
			if waited != c.waits || finish.Start.After(prime.Protected) || finish.State == AtRisk {
				t.Errorf("primed until %v, protected %v, finished from %v (%s)", prime.End, prime.Protected, finish.Start, finish.State)
			}
		})
	}
}
