package service

import (
	"cmp"

	"fairwindow/planner"
)

// aloud words a cause of waiting for one who hears that a stage of a boat has another start:
// a whole clause, and of the figures behind it none.
func aloud(w planner.Wait, boat string) string {
	e := w.Evidence
	other := nameTo(e.Other, boat)
	switch w.Cause {
	case planner.LateBoat:
		return cmp.Or(e.Other.Boat, "the boat") + " is late"
	case planner.SlowCure:
		return "the coat beneath cures more slowly than planned"
	case planner.Overrun:
		return cmp.Or(other, "an earlier stage") + " took longer than planned"
	case planner.Rework:
		return cmp.Or(other, "work") + " must be done again"
	case planner.AwaitsParty:
		return "it waits for " + cmp.Or(e.Person, "a named party")
	case planner.Absent:
		return cmp.Or(e.Person, "somebody") + " is away"
	case planner.EarlierMoved:
		return cmp.Or(other, "an earlier stage") + " has moved"
	case planner.HeldBy:
		if other != "" {
			return "it goes after " + other
		}
		return "it is held or pinned by " + cmp.Or(e.Person, "a person")
	case planner.PlaceTaken:
		return cmp.Or(other, "another boat") + " is in its place"
	case planner.PlaceClosed:
		return "its place is closed"
	case planner.LiftMove:
		switch {
		case e.Other.Boat != "" && e.Other.Boat != boat:
			return cmp.Or(e.Note, "the lift") + " is moving " + e.Other.Boat
		case e.Note != "":
			return e.Note // such as that the lift is out of service
		}
		return "the boat must be moved there first"
	case planner.NoShift:
		if e.Note == "" {
			return "nobody is on shift for it before"
		}
		return "no shift before is long enough"
	case planner.CrewBusy:
		if other == "" && e.Note != "" {
			return "the crew is busy " + e.Note
		}
		return "the crew is busy with " + cmp.Or(other, "another boat")
	case planner.EquipmentBusy:
		if other == "" {
			return cmp.Or(e.Note, "what it needs is not free")
		}
		return cmp.Or(e.Note, "what it needs") + " is in use for " + other
	case planner.Clearance:
		return "the booth is closed to people until it has cleared"
	case planner.Dust:
		if other != "" {
			return "dust and wet paint must not share an air, and " + other + " is there"
		}
		return "dust and wet paint must not share an air"
	case planner.GaveWay:
		return "it gives way to " + cmp.Or(other, "another boat")
	case planner.KeptClose:
		return "it is kept close to " + cmp.Or(other, "the next stage") + ", or it would be too old for that"
	case planner.ShorterHold:
		return "that way it keeps its place for a shorter time"
	case planner.LaterCalmer:
		return "then there is less risk of spoiling it"
	case planner.OutOfLimits:
		return "its conditions before are not known well enough"
	}
	return string(w.Cause)
}

// nameTo names a stage for one who has just heard its boat's name, or has not.
func nameTo(k planner.Key, boat string) string {
	switch {
	case k.Boat == "":
		return ""
	case k.Stage == "":
		return k.Boat
	case k.Boat == boat:
		return "its " + k.Stage
	}
	return k.Stage + " on " + k.Boat
}
