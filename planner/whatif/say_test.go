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
