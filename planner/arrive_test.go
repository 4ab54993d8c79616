package planner

import (
	"testing"
	"time"
)

// TestNobodyArrivesWhereABoatIsBeingWorkedAt: a boat that is to be put into a shed
// where another is between two of its stages finds another place.
func TestNobodyArrivesWhereABoatIsBeingWorkedAt(t *testing.T) {
	boats := fleet(2)
	p := problem(boats...)
	p.Yard.Systems[0].Stages[1].Block = "prep" // sanding and masking, both in the booth
	p.Yard.Systems[0].Stages[0].Block, p.Yard.Systems[0].Stages[0].Places = "prep", p.Yard.Systems[0].Stages[1].Places
	p.At = monday.Add(3 * time.Hour)
	p.Boats[1].Arrives, p.Boats[1].Place = "2026-05-04 11:00", "booth 1"
	p.Presses = append(p.Presses,
		Press{Kind: Arrived, Key: Key{Boat: boats[0].Name}, Place: "booth 1", Happened: monday.Add(-time.Hour), By: "one"},
		Press{Kind: Finished, Key: Key{Boat: boats[0].Name, Area: "topsides", Stage: "sand"}, Happened: monday.Add(2 * time.Hour), By: "one"})
	plan := solved(t, p)
	if mask := stageOf(t, plan, boats[0].Name, "mask"); mask.State == Unplaced || mask.Start.After(monday.Add(6*time.Hour)) {
		t.Errorf("the masking that comes next is planned %v (%s): %+v", mask.Start, mask.State, mask.Waits)
	}
}
