package pages

import (
	"fmt"
	"math"
	"time"

	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// CauseName is what people call a cause of waiting, without its evidence.
func CauseName(c planner.Cause) string {
	switch c {
	case planner.LateBoat:
		return "the boat came late"
	case planner.SlowCure:
		return "the coat before cured slowly"
	case planner.Overrun:
		return "an earlier stage took longer"
	case planner.Rework:
		return "work was done again"
	case planner.AwaitsParty:
		return "waited for somebody's word"
	case planner.Absent:
		return "somebody was away or could not"
	case planner.EarlierMoved:
		return "a stage before it moved"
	case planner.HeldBy:
		return "held back by a person"
	case planner.PlaceTaken:
		return "no place was free"
	case planner.PlaceClosed:
		return "the place was closed"
	case planner.LiftMove:
		return "waited for the lift or a move"
	case planner.NoShift:
		return "nobody was on shift"
	case planner.CrewBusy:
		return "the crew was busy"
	case planner.EquipmentBusy:
		return "the equipment was in use"
	case planner.Clearance:
		return "the booth had to clear"
	case planner.Dust:
		return "dust beside wet paint"
	case planner.OutOfLimits:
		return "weather or air outside the limits"
	case planner.GaveWay:
		return "made room for another boat"
	case planner.KeptClose:
		return "kept close to the stage after it"
	case planner.ShorterHold:
		return "holds its place for less time"
	case planner.LaterCalmer:
		return "a later start risked less"
	case planner.AsTold:
		return "kept as people had been told"
	case waits.Unreported:
		return "nobody reported a start"
	}
	return string(c)
}

// because words a cause with its evidence for somebody outside the yard: the planner's own
// weights are left out.
func (c clock) because(k planner.Key, w planner.Wait) string {
	w = own(k, w)
	w.Evidence.Amount = 0
	return c.cause(w)
}

// termName names a term of the yard's weights for who has not read the yard file.
func termName(name string) string {
	switch name {
	case "lateness":
		return "launches later than promised"
	case "spoiling":
		return "risk of spoilt coats"
	case "repair":
		return "coats sanded or wiped again because a recoat window lapsed"
	case "holding":
		return "booths held"
	case "moves":
		return "boats moved"
	case "waiting":
		return "time until boats may be launched"
	case "change":
		return "starts told anew"
	case "unplaced":
		return "stages without a start"
	}
	return name
}

// byTheRule stands where a plan was let out as soon as it was made, by the yard file's word.
const byTheRule = "rule"

// alike joins waits that follow on one another and differ only in how far a figure was from
// one limit by one forecast; the figure worst for it is told.
func alike(all []planner.Wait) []planner.Wait {
	var out []planner.Wait
	for _, w := range all {
		if n := len(out); n > 0 && out[n-1].To.Equal(w.From) && w.Evidence.Bound.Of != "" && likeness(out[n-1]) == likeness(w) {
			last := &out[n-1]
			if b := w.Evidence.Bound; b.Least == (w.Evidence.Value < last.Evidence.Value) {
				last.Evidence = w.Evidence
			}
			last.To = w.To
			continue
		}
		out = append(out, w)
	}
	return out
}

// likeness is a wait without its span, its figure and when that is found.
func likeness(w planner.Wait) planner.Wait {
	w.From, w.To = time.Time{}, time.Time{}
	w.Evidence.Value, w.Evidence.When, w.Evidence.Note, w.Evidence.Amount = 0, time.Time{}, "", 0
	w.Evidence.Issued = w.Evidence.Issued.UTC()
	return w
}

// deferral words one deferral as it is read aloud.
func (c clock) deferral(e waits.Entry) string {
	s := e.Key.Boat + " " + e.Key.Area + ", " + e.Key.Stage + ": "
	switch {
	case e.Plan == 0:
		s += "begun " + length(e.To.Sub(e.From)) + " later than told, " + c.moment(e.To) + " instead of " + c.moment(e.From)
	case e.To.IsZero():
		s += "told for " + c.moment(e.From) + ", then without a start"
	default:
		s += "put off " + length(e.To.Sub(e.From)) + ", from " + c.moment(e.From) + " to " + c.moment(e.To)
	}
	return s + ". " + capital(c.because(e.Key, e.Wait)) + "."
}

// Deferral words one deferral in the yard's zone, for the command.
func Deferral(e waits.Entry, zone *time.Location) string { return clock{zone: zone}.deferral(e) }

// inHoursWhole words a number of hours that somebody is held to: half of 8.5 h is 4.25 h.
func inHoursWhole(h float64) string {
	if h = math.Round(h*100) / 100; math.Round(h*10)/10 == h {
		return inHours(h)
	}
	return fmt.Sprintf("%.2f h", h)
}

// inHours words a number of hours, with their decimal only where there are few.
func inHours(h float64) string {
	if h < 10 {
		return fmt.Sprintf("%.1f h", h)
	}
	return fmt.Sprintf("%.0f h", h)
}
