package service

import (
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/notify"
	"fairwindow/planner"
)

// TestAloud: why a stage moved is a clause that people say, whatever the cause, and what stands in
// the way of the start they were told comes before what else it waits for.
func TestAloud(t *testing.T) {
	other := planner.Key{Boat: "Boat Two", Area: "deck", Stage: "topcoat"}
	own := planner.Key{Boat: "Boat One", Area: "topsides", Stage: "sand"}
	for _, tt := range []struct {
		cause planner.Cause
		e     planner.Evidence
		want  string
	}{
		{planner.LateBoat, planner.Evidence{Other: planner.Key{Boat: "Boat One"}}, "Boat One is late"},
		{planner.SlowCure, planner.Evidence{}, "the coat beneath cures more slowly than planned"},
		{planner.Overrun, planner.Evidence{Other: own}, "its sand took longer than planned"},
		{planner.Rework, planner.Evidence{Other: own}, "its sand must be done again"},
		{planner.AwaitsParty, planner.Evidence{Person: "the owner"}, "it waits for the owner"},
		{planner.Absent, planner.Evidence{Person: "Rui"}, "Rui is away"},
		{planner.EarlierMoved, planner.Evidence{}, "an earlier stage has moved"},
		{planner.HeldBy, planner.Evidence{Person: "Ana"}, "it is held or pinned by Ana"},
		{planner.HeldBy, planner.Evidence{Person: "Ana", Other: other}, "it goes after topcoat on Boat Two"},
		{planner.PlaceTaken, planner.Evidence{Other: planner.Key{Boat: "Boat Two"}}, "Boat Two is in its place"},
		{planner.PlaceClosed, planner.Evidence{}, "its place is closed"},
		{planner.LiftMove, planner.Evidence{}, "the boat must be moved there first"},
		{planner.LiftMove, planner.Evidence{Other: planner.Key{Boat: "Boat Two"}, Note: "the lift"}, "the lift is moving Boat Two"},
		{planner.LiftMove, planner.Evidence{Note: "the lift is out of service, brake"}, "the lift is out of service, brake"},
		{planner.NoShift, planner.Evidence{}, "nobody is on shift for it before"},
		{planner.NoShift, planner.Evidence{Note: "too little of the shift is left"}, "no shift before is long enough"},
		{planner.CrewBusy, planner.Evidence{Note: "moving a boat"}, "the crew is busy moving a boat"},
		{planner.CrewBusy, planner.Evidence{Other: other}, "the crew is busy with topcoat on Boat Two"},
		{planner.EquipmentBusy, planner.Evidence{Note: "the pump", Other: other}, "the pump is in use for topcoat on Boat Two"},
		{planner.Clearance, planner.Evidence{}, "the booth is closed to people until it has cleared"},
		{planner.Dust, planner.Evidence{Other: other}, "dust and wet paint must not share an air, and topcoat on Boat Two is there"},
		{planner.GaveWay, planner.Evidence{Other: planner.Key{Boat: "Boat Two"}}, "it gives way to Boat Two"},
		{planner.KeptClose, planner.Evidence{Other: planner.Key{Boat: "Boat One", Area: "topsides", Stage: "topcoat"}}, "it is kept close to its topcoat, or it would be too old for that"},
		{planner.ShorterHold, planner.Evidence{}, "that way it keeps its place for a shorter time"},
		{planner.LaterCalmer, planner.Evidence{}, "then there is less risk of spoiling it"},
		{planner.OutOfLimits, planner.Evidence{Sure: conditions.Unknown}, "its conditions before are not known well enough"},
	} {
		told := planner.Wait{Cause: tt.cause, Evidence: tt.e}
		later := []planner.Wait{{Cause: planner.ShorterHold}}
		c := moved(planner.Planned{Key: planner.Key{Boat: "Boat One", Area: "topsides", Stage: "wipe"}, Waits: later}, told)
		if c.Text != tt.want || strings.Contains(c.Text, ": ") {
			t.Errorf("%s: %q, want %q", tt.cause, c.Text, tt.want)
		}
	}
	none := moved(planner.Planned{}, planner.Wait{Cause: planner.AsTold})
	n := notify.Notice{Kind: notify.StageMoved, Boat: "Boat One", Stage: "wipe", At: monday, From: monday.Add(time.Hour), Cause: none}
	if got, want := notify.Sentence(n, notify.Style{}), "Wipe on Boat One is moved, now planned from 07:00: so it fits better with the other work; go by the new time and place."; got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
}
