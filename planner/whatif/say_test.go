package whatif_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/planner/whatif"
)

// Five launches that move are worded as three and a rest; which way the rest moves is said.
func TestOtherLaunches(t *testing.T) {
	for _, c := range []struct {
		hours []int // sooner, less than zero later
		says  string
	}{
		{[]int{90, 80, 70, 20, 10}, "and 2 others sooner by less"},
		{[]int{90, 80, 70, -20, -10}, "and 2 others later by less"},
		{[]int{90, 80, 70, -20, 10}, "and 2 others by less, 1 of them later"},
		{[]int{90, 80, 70, -20}, "and Boat 3 20 hours later"},
	} {
		promised := time.Date(2026, time.May, 20, 0, 0, 0, 0, time.UTC)
		var d planner.Difference
		for i, h := range c.hours {
			before := planner.Launch{Boat: fmt.Sprint("Boat ", i), Promised: promised, Likely: promised}
			after := before
			after.Likely = promised.Add(-time.Duration(h) * time.Hour)
			d.Launches = append(d.Launches, planner.LaunchPair{Boat: before.Boat, Before: before, After: after})
		}
		d.Cost = []planner.TermPair{{Before: 100, After: 50}}
		if said := whatif.Sentence(d, config.Weights{}, []string{"With a heater"}, true); !strings.Contains(said, c.says) {
			t.Errorf("%v: %q lacks %q", c.hours, said, c.says)
		}
	}
}

// A launch that moves by minutes is no plan that stays as it is, and a gain is told by what
// people know: how long a launch is late.
func TestLittleIsNotNothing(t *testing.T) {
	promised := time.Date(2026, time.May, 20, 0, 0, 0, 0, time.UTC)
	launch := planner.Launch{Boat: "Tern", Promised: promised, Likely: promised}
	sooner := launch
	sooner.Likely = promised.Add(-20 * time.Minute)
	for _, c := range []struct {
		after           planner.Launch
		gained          int64
		says, saysNever string
	}{
		{launch, 0, "the plan stays as it is", "launch moves"},
		{sooner, 0, "no launch moves by as much as an hour", "stays as it is"},
		{launch, 2, "is better by less than an hour of one launch's delay", "0 hours"},
		{launch, 315, "is better by as much as 5 hours of one launch's delay", "cost-minute"},
		{launch, -59, "is worse by less than an hour", "cost-minute"},
	} {
		d := planner.Difference{Launches: []planner.LaunchPair{{Boat: "Tern", Before: launch, After: c.after}}, Cost: []planner.TermPair{{Before: 1000, After: 1000 - c.gained}}}
		said := whatif.Sentence(d, config.Weights{Lateness: 1}, []string{"a dehumidifier in tent"}, false)
		if !strings.Contains(said, c.says) || strings.Contains(said, c.saysNever) {
			t.Errorf("%q wants %q and not %q", said, c.says, c.saysNever)
		}
	}
}
