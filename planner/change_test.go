package planner

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// anyChange draws a change, most often one that can be made.
func anyChange(t *rapid.T, p Problem) Change {
	place := rapid.SampledFrom([]string{"booth 1", "shed", "slip", "standing", "dock"}).Draw(t, "place")
	boat := rapid.SampledFrom([]string{"boat 01", "02", "boat 03", "boat 99"}).Draw(t, "boat")
	crew := rapid.SampledFrom([]string{"prep", "paint", "painter", "riggers"}).Draw(t, "crew")
	return rapid.SampledFrom([]Change{
		{Kind: Heat, Place: place, SetPoint: celsius(rapid.Float64Range(15, 70).Draw(t, "set point"))},
		{Kind: Heat, Place: place, Heater: unit.Of(unit.Power(500))},
		{Kind: Dry, Place: place},
		{Kind: Dry, Place: place, DownTo: unit.Of(unit.Humidity(55)), Leaks: unit.Of(unit.Flow(4000))},
		{Kind: Cover, Place: place},
		{Kind: Staff, Crew: crew, People: rapid.IntRange(-3, 3).Draw(t, "people")},
		{Kind: WorkOn, Crew: crew, Weekday: time.Weekday(rapid.IntRange(0, 6).Draw(t, "weekday"))},
		{Kind: Promise, Boat: boat, Day: "2026-05-25"},
		{Kind: SwapPlaces, Boat: boat, Other: "boat 01"},
		{Kind: SwapTurns, Boat: boat, Other: "boat 01"},
		{Kind: PutOff, Boat: boat, By: hours(72)},
		{Kind: TakeOut, Boat: boat},
	}).Draw(t, "change")
}

// A change leaves the problem it is made from as it is, and what it gives can be
// planned by the rules.
func TestChangesLeaveTheirProblemAlone(t *testing.T) {
	made := map[ChangeKind]int{}
	rapid.Check(t, func(t *rapid.T) {
		p := anyProblem(t)
		c := anyChange(t, p)
		was, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		changed, err := c.Apply(p)
		if is, _ := json.Marshal(p); string(is) != string(was) {
			t.Fatalf("%+v changed the problem it was given", c)
		}
		if err != nil {
			return
		}
		made[c.Kind]++
		if is, _ := json.Marshal(changed); string(is) == string(was) {
			t.Fatalf("%+v changed nothing and did not say so", c)
		}
		if rapid.IntRange(0, 4).Draw(t, "planned") > 0 {
			return // most are only looked at: plans take their time
		}
		plan, err := Solve(changed)
		if err != nil {
			t.Fatalf("%+v: %v", c, err)
		}
		for _, b := range Check(changed, plan) {
			t.Errorf("%+v: %v: %s: %s", c, b.Key, b.Rule, b.What)
		}
	})
	if len(made) < 3 && !testing.Short() {
		t.Errorf("too few kinds of change could be made to tell: %v", made)
	}
}

// A change that changes nothing says so, and a plan beside itself differs in nothing.
func TestIdentityChangesNothing(t *testing.T) {
	p := problem(fleet(2)...)
	for name, c := range map[string]Change{
		"the set point it has":     {Kind: Heat, Place: "booth 1", SetPoint: celsius(22)},
		"a set point below it":     {Kind: Heat, Place: "booth 1", SetPoint: celsius(20)},
		"the same set point in F":  {Kind: Heat, Place: "Booth 1", SetPoint: unit.Written[unit.Temperature]{SI: 22, Value: 71.6, Unit: "F"}},
		"a smaller heater":         {Kind: Heat, Place: "booth 1", Heater: unit.Of(unit.Power(100))},
		"nobody more":              {Kind: Staff, Crew: "paint"},
		"a day they work":          {Kind: WorkOn, Crew: "painters", Weekday: time.Monday},
		"the promise it has":       {Kind: Promise, Boat: "02", Day: "2026-06-01"},
		"two in no place":          {Kind: SwapPlaces, Boat: "01", Other: "02"},
		"two of one turn":          {Kind: SwapTurns, Boat: "01", Other: "02"},
		"put off to when it comes": {Kind: PutOff, Boat: "01", Day: "2026-05-04"},
	} {
		var none NoChange
		if _, err := c.Apply(p); !errors.As(err, &none) || none.Why == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	plan := solved(t, p)
	d := Compare(plan, plan)
	if len(d.Moved) > 0 || d.Gained() != 0 || d.Compared != len(plan.Stages) || len(d.Waits) == 0 {
		t.Errorf("%+v", d)
	}
	for _, w := range d.Waits {
		if w.Before != w.After || w.Before <= 0 {
			t.Errorf("%+v", w)
		}
	}
}

func TestChangesSayWhatIsWrong(t *testing.T) {
	p := problem(fleet(3)...)
	p.Boats[1].Name = "Kestrel"
	p.Presses = []Press{{Kind: Arrived, Key: Key{Boat: "Kestrel"}, Place: "shed", Happened: monday}}
	big := p
	big.Yard = smallYard()
	big.Yard.Crews = append(big.Yard.Crews, config.Crew{Name: "paint B", Skills: []string{"paint"}, People: 1, Shifts: week("0 7 * * 1-5", 8)})
	for _, c := range []struct {
		p      Problem
		change Change
		want   string
	}{
		{p, Change{Kind: Heat, Place: "boot 1", SetPoint: celsius(24)}, "no place \"boot 1\": did you mean booth 1? There are booth 1, shed, slip and standing"},
		{p, Change{Kind: Heat, Place: "shed", SetPoint: celsius(24)}, "shed is a shed: a heater needs a booth, which has air of its own; name booth 1"},
		{p, Change{Kind: Heat, Place: "booth 1"}, "needs a set point or a power"},
		{p, Change{Kind: Heat, Place: "booth 1", SetPoint: celsius(90)}, "write a temperature from 5 C to 60 C"},
		{p, Change{Kind: Dry, Place: "slip"}, "only the air under a roof can be dried; name booth 1 or shed"},
		{p, Change{Kind: Dry, Place: "shed"}, "nobody wrote how high shed is"},
		{p, Change{Kind: Dry, Place: "booth 1", DownTo: unit.Of(unit.Humidity(120))}, "no dehumidifier stops at 120 %"},
		{p, Change{Kind: Cover, Place: "shed"}, "shed is a shed: a tent goes over a slip; name slip"},
		{p, Change{Kind: Staff, Crew: "sander", People: 1}, "no crew \"sander\"; there are prep and paint"},
		{big, Change{Kind: Staff, Crew: "painter", People: 1}, "there is a painter in each of paint, paint B: name the crew, like \"crew paint\""},
		{p, Change{Kind: Staff, Crew: "paint", People: -2}, "paint has 2 people"},
		{p, Change{Kind: WorkOn, Crew: "paint", Weekday: time.Saturday, Starts: "25:00"}, "is not a recurring time"},
		{p, Change{Kind: Promise, Boat: "Kestral", Day: "2026-06-01"}, "no boat \"Kestral\": did you mean Kestrel?"},
		{p, Change{Kind: Promise, Boat: "boat", Day: "2026-06-01"}, "\"boat\" may be boat 01 or boat 03: write its whole name"},
		{p, Change{Kind: Promise, Boat: "01", Day: "2026-05-01"}, "promised no later than the boat comes (2026-05-04); promise a later day"},
		{p, Change{Kind: Promise, Boat: "01", Day: "soon"}, "soon"},
		{p, Change{Kind: PutOff, Boat: "kestrel", By: hours(24)}, "Kestrel is in the yard already and can't come later"},
		{p, Change{Kind: PutOff, Boat: "01", Day: "2026-05-01"}, "it comes on 2026-05-04, which is later"},
		{p, Change{Kind: SwapPlaces, Boat: "01", Other: "01"}, "can't be swapped with itself"},
		{p, Change{Kind: SwapPlaces, Boat: "01", Other: "Kestrel"}, "nobody wrote where boat 01 is put on arrival"},
		{p, Change{Kind: SwapTurns, Boat: "01", Other: "Kestrel"}, "Kestrel is in the yard and boat 01 is still to come"},
		{p, Change{Kind: "paint it black"}, "nobody knows a change called"},
	} {
		if _, err := c.change.Apply(c.p); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got %v, want %q", c.change, err, c.want)
		}
	}
}

func TestChangesDoWhatTheySay(t *testing.T) {
	p := problem(fleet(2)...)
	p.Yard.Places[1].Height = unit.Of(unit.Length(10))
	p.Boats[0].Place, p.Boats[1].Arrives, p.Boats[1].Promised = "slip", "2026-05-06", "2026-06-08"
	p.Measured = []PlaceNow{{Place: "booth 1"}, {Place: "shed"}}
	p.Presses = []Press{{Kind: Arrived, Key: Key{Boat: "boat 02"}, Place: "shed", Happened: monday.Add(-time.Hour)}}
	apply := func(c Change) Problem {
		t.Helper()
		changed, err := c.Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		return changed
	}
	if q := apply(Change{Kind: Dry, Place: "shed"}); len(q.Measured) != 1 || q.Yard.Places[1].Dehumidifier.Leaks.SI != 2700 {
		t.Errorf("a shed of 30 by 9 by 10 m changes 2700 m3/h: %+v, measured %v", q.Yard.Places[1].Dehumidifier, q.Measured)
	}
	if q := apply(Change{Kind: Heat, Place: "booth 1", SetPoint: celsius(24)}); q.Yard.Places[0].Booth.SetPoint.SI != 24 || p.Yard.Places[0].Booth.SetPoint.SI != 22 {
		t.Error("the set point")
	}
	if q := apply(Change{Kind: Cover, Place: "slip"}); !q.Yard.Places[2].Roofed() {
		t.Error("no tent")
	}
	if q := apply(Change{Kind: Staff, Crew: "painter", People: 1}); q.Yard.Crews[1].People != 3 || p.Yard.Crews[1].People != 2 {
		t.Error("the painters")
	}
	q := apply(Change{Kind: WorkOn, Crew: "prep", Weekday: time.Saturday, Starts: "08:00", Length: hours(5)})
	saturday := local(t, "2026-05-09 00:00")
	if spans, err := q.Yard.ShiftsOf("prep", saturday, saturday.Add(24*time.Hour)); err != nil || len(spans) != 1 || !spans[0].From.Equal(saturday.Add(8*time.Hour)) || spans[0].To.Sub(spans[0].From) != 5*time.Hour {
		t.Errorf("Saturday's shift: %v, %v", spans, err)
	}
	q = apply(Change{Kind: SwapPlaces, Boat: "boat 01", Other: "boat 02"})
	if q.Boats[0].Place != "shed" || Replay(q.Yard, q.Boats, q.Presses).Place("boat 02").Place != "slip" {
		t.Errorf("swapped: %+v", q.Presses)
	}
	if q := apply(Change{Kind: TakeOut, Boat: "boat 02"}); len(q.Boats) != 1 || len(q.Presses) != 0 || len(p.Boats) != 2 {
		t.Error("taken out")
	}
	if q := apply(Change{Kind: PutOff, Boat: "boat 01", By: hours(48)}); q.Boats[0].Arrives != "2026-05-06 00:00" {
		t.Error(q.Boats[0].Arrives)
	}
	p.Presses = nil
	if q := apply(Change{Kind: SwapTurns, Boat: "boat 01", Other: "boat 02"}); q.Boats[0].Promised != "2026-06-08" || q.Boats[0].Arrives != "2026-05-06" || q.Boats[1].Arrives != "2026-05-04" {
		t.Errorf("%+v", q.Boats)
	}
}

// Wet weather, 18 °C by 16: the card's 3 K are never kept in a shed. One that takes
// 20 kg/h out of 2700 m³/h of leaking air (3240 kg/h) takes 6.2 g/kg out of 11.5, far
// enough.
func TestDehumidifierOpensAShed(t *testing.T) {
	p := problem(fleet(1)...)
	p.Yard.Places[1].Height = unit.Of(unit.Length(10))
	only(&p, coatIn(config.Shed, "prime", "primer"))
	for i := range p.Outdoors {
		p.Outdoors[i].Air, p.Outdoors[i].DewPoint = 18, 16
	}
	before := solved(t, p)
	dried, err := Change{Kind: Dry, Place: "shed"}.Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	after := solved(t, dried)
	d := Compare(before, after)
	if len(d.NoStart.Before) != 1 || len(d.NoStart.After) != 0 || d.Gained() <= 0 {
		t.Errorf("%+v", d)
	}
	if d.Launches[0].After.Likely.IsZero() {
		t.Error("not launched")
	}
}
