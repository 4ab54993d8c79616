package planner

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// TestFallback: a coat on a slip whose chance is less than is asked of a start names
// another start after its window, with enough chance, that nothing forbids.
func TestFallback(t *testing.T) {
	p := problem(fleet(1)...)
	for i := range p.Yard.Systems[0].Stages {
		if s := &p.Yard.Systems[0].Stages[i]; s.Block != "" {
			s.Places = []config.PlaceKind{config.Slip}
		}
	}
	for i := range p.Outdoors { // damp enough that no start is sure, dry enough that it may do
		p.Outdoors[i].DewPoint = p.Outdoors[i].Air - 5.2
	}
	named := 0
	for _, s := range solved(t, p).Stages {
		if s.Kind != config.Coat || s.Start.IsZero() {
			continue
		}
		sure := conditions.Deviations(s.Chance) >= conditions.Deviations(float64(p.Yard.WithDefaults().Confidence.Start.SI))
		if f := s.Fallback; f != nil {
			named++
			if sure || !f.Start.After(s.Until) || f.Start.After(s.Until.Add(15*24*time.Hour)) || f.Chance < float64(p.Yard.WithDefaults().Confidence.Pencil.SI) {
				t.Errorf("%s: chance %.2f until %v, instead %v with %.2f", s.Key, s.Chance, s.Until, f.Start, f.Chance)
			}
		}
	}
	if named == 0 {
		t.Error("no coat names another start")
	}
}
