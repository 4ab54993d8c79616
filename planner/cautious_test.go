package planner

import (
	"testing"
	"time"
)

// TestCautiousLaunch: where fairing, sanding and masking take a fifth longer a launch
// may slip by days, as a coat misses its shift; where every coat is sure and nothing
// pauses, it does not.
func TestCautiousLaunch(t *testing.T) {
	p := problem(fleet(1)...)
	p.Yard.Systems[0].Stages[0].Takes = hours(20) // a fifth longer misses a shift
	plan := solved(t, p)
	l := plan.Launches[0]
	if l.Likely.IsZero() || !l.Cautious.After(l.Likely) {
		t.Errorf("likely %v, cautiously %v: twenty hours of sanding that take a fifth longer cost nothing", l.Likely, l.Cautious)
	}
	if l.Cautious.After(l.Likely.Add(10 * 24 * time.Hour)) {
		t.Errorf("likely %v, cautiously %v", l.Likely, l.Cautious)
	}
}
