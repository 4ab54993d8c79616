package planner

import (
	"math"
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
	o := newOutlook(problem, engine.Grid{Origin: start, Step: step, Slots: 5 * perHour}, Work{})
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

// TestReadingOverLearned: where the bias is out of the forecast already, a reading tells
// less of the hours to come.
func TestReadingOverLearned(t *testing.T) {
	start := time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)
	doubt := func(learned unit.Share) unit.TempDiff {
		var hours []conditions.Weather
		for h := range 12 {
			w := conditions.At(nil, start.Add(time.Duration(h)*time.Hour))
			w.Air, w.DewPoint, w.Sure, w.AirError, w.DewError, w.Learned = 15, 4, conditions.Foretold, 1, 1, learned
			hours = append(hours, w)
		}
		now := conditions.Moment{At: start, Air: 16, DewPoint: 4, Sure: conditions.Measured}
		p := Problem{At: start, Yard: smallYard(), Outdoors: hours, Measured: []PlaceNow{{Place: "slip", Moment: now}}}
		o := newOutlook(p, engine.Grid{Origin: start, Step: step, Slots: 8 * perHour}, Work{})
		return o.airs[2].tracks[idle].hours[4].AirError
	}
	if plain, learned := doubt(0), doubt(0.9); !(plain < learned && learned < 1) {
		t.Errorf("in four hours ±%.3f K, and ±%.3f K with the bias out", plain, learned)
	}
}

// The same weather is the same in every plan: air, rain and hull at one time are what
// they are at whatever minute of the hour the plan is made.
func TestTheMinuteOfThePlanChangesNoWeather(t *testing.T) {
	p := problem(fleet(1)...)
	for i := range p.Outdoors { // no straight line between any two hours
		w := &p.Outdoors[i]
		w.Air += unit.Temperature(3 * math.Sin(float64(i*i)))
		w.DewPoint = min(w.Air, w.DewPoint+unit.Temperature(2*math.Cos(float64(i*i))))
		w.Rain = unit.RainRate(i % 2)
	}
	ahead := func(after time.Duration) (all []conditions.Moment) {
		p.At = monday.Add(after)
		d, err := Open(p)
		if err != nil {
			t.Fatal(err)
		}
		for place := range d.m.out.airs {
			l := d.m.out.leg(d.m.boats[0].hull, 0, place, curing)
			for at := monday.Add(2 * time.Hour); at.Before(monday.Add(100 * time.Hour)); at = at.Add(35 * time.Minute) {
				all = append(all, d.m.out.there(&l, d.m.grid.Floor(at), 0))
			}
		}
		return all
	}
	whole := ahead(0)
	for _, minutes := range []time.Duration{5, 20, 55} {
		for n, m := range ahead(minutes * time.Minute) {
			if w := whole[n]; m.At != w.At || m.Air != w.Air || m.DewPoint != w.DewPoint || m.Rain != w.Rain || m.Coldest != w.Coldest || m.Warmest != w.Warmest || m.Wet != w.Wet {
				t.Fatalf("%d minutes past: %+v is %+v", minutes, w, m)
			}
		}
	}
}
