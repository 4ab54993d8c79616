package planner

import (
	"math"
	"testing"
	"time"
)

// A wait over the night from Sunday to Monday, and one over the night in which
// Lisbon's clocks go forward, count in both weeks by elapsed time.
func TestTotals(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	local := func(day, hour int) time.Time { return time.Date(2026, 3, day, hour, 0, 0, 0, zone) }
	stage := func(boat, place string, c Cause, from, to time.Time) Planned {
		return Planned{Key: Key{Boat: boat}, Place: place, State: Firm, Waits: []Wait{{From: from, To: to, Cause: c}}}
	}
	// 29 March 2026 is a Sunday, of 23 hours.
	plan := Plan{Stages: []Planned{
		stage("Heron", "booth", NoShift, local(28, 22), local(30, 6)),
		stage("Tern", "shed", CrewBusy, local(30, 7), local(30, 10)),
		stage("Tern", "booth", NoShift, local(22, 23), local(23, 1)),
		{State: Unplaced, Waits: []Wait{{From: local(1, 0), To: local(31, 0), Cause: PlaceTaken}}},
	}}
	w := Totals(plan, zone)
	check := func(name string, rows []Hours, want ...Hours) {
		if len(rows) != len(want) {
			t.Fatalf("%s: %v, want %v", name, rows, want)
		}
		for i := range rows {
			if rows[i] != want[i] {
				t.Errorf("%s: %v, want %v", name, rows[i], want[i])
			}
		}
	}
	check("causes", w.Causes, Hours{"no shift", 33}, Hours{"crew busy", 3})
	check("places", w.Places, Hours{"booth", 33}, Hours{"shed", 3})
	check("boats", w.Boats, Hours{"Heron", 31}, Hours{"Tern", 5})
	check("weeks", w.Weeks, Hours{"2026-W12", 1}, Hours{"2026-W13", 1 + 2 + 23}, Hours{"2026-W14", 6 + 3})
	if w.Hours != 36 || w.Without != 1 {
		t.Errorf("%g hours, %d without", w.Hours, w.Without)
	}
}

// totalsAddUp: each table has all the hours of the plan's waits.
func totalsAddUp(t interface{ Errorf(string, ...any) }, plan Plan, zone *time.Location) {
	w := Totals(plan, zone)
	for name, rows := range map[string][]Hours{"causes": w.Causes, "places": w.Places, "boats": w.Boats, "weeks": w.Weeks} {
		sum := 0.0
		for _, r := range rows {
			sum += r.Hours
		}
		if math.Abs(sum-w.Hours) > 1e-6 {
			t.Errorf("%s add up to %g hours, the waits to %g", name, sum, w.Hours)
		}
	}
}
