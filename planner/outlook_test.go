package planner

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/planner/engine"
)

// TestAround: a place in which the forecast errs in its own way has its own foretold
// hours; what is measured, pencilled or not foretold there is that outdoors, and so
// is all of the open air and of like places without a forecast of their own.
func TestAround(t *testing.T) {
	start := time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)
	series := func(air unit.Temperature, sures ...conditions.Sureness) (out []conditions.Weather) {
		for h, sure := range sures {
			w := conditions.At(nil, start.Add(time.Duration(h)*time.Hour))
			w.Air, w.DewPoint, w.Sure, w.AirError, w.DewError = air, 4, sure, 1, 1
			out = append(out, w)
		}
		return out
	}
	const m, f, p = conditions.Measured, conditions.Foretold, conditions.Pencilled
	problem := Problem{
		At: start, Yard: smallYard(), Outdoors: series(15, m, f, f, f, p, p, p),
		Around: map[string][]conditions.Weather{"slip": series(12, f, f, f, conditions.Unknown, f)},
	}
	o := newOutlook(problem, engine.Grid{Origin: start, Step: step, Slots: 5 * perHour})
	hours := func(place int) (out []unit.Temperature) {
		for _, h := range o.airs[place].tracks[idle].hours[:6] {
			out = append(out, h.Air)
		}
		return out
	}
	const slip, standing = 2, 3
	open := len(o.airs) - 1
	for place, want := range map[int][6]unit.Temperature{
		1: {15, 15, 15, 15, 15, 15}, slip: {15, 12, 12, 15, 15, 15}, standing: {15, 15, 15, 15, 15, 15}, open: {15, 15, 15, 15, 15, 15},
	} {
		if got := hours(place); [6]unit.Temperature(got) != want {
			t.Errorf("air %d: %v, want %v", place, got, want)
		}
	}
	if o.airs[standing] != o.airs[open] || o.airs[slip] == o.airs[open] {
		t.Error("like airs are not one, or unlike ones are")
	}
	if o.outdoors[1].Air != 15 {
		t.Error("the weather outdoors was changed")
	}
}
