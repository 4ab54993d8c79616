package demo

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// Before a coat is sprayed, what is still owed about that boat is entered, in
// the order in which it happened; another boat's late report stays late.
func TestPeopleCatchUpBeforeACoat(t *testing.T) {
	w := newWorld(1, yardOf(), Invent(1, spring, 3, harbour), spring)
	c, err := newCrews(1, yardOf(), nil, w)
	if err != nil {
		t.Fatal(err)
	}
	key := func(boat, stage string) planner.Key { return planner.Key{Boat: boat, Area: "topsides", Stage: stage} }
	late := spring.Add(3 * time.Hour)
	for _, boat := range []string{"Heron", "Egret"} {
		c.queue = append(c.queue, planner.Press{Kind: planner.Finished, Key: key(boat, "wipe"), Happened: spring, Entered: late})
		c.entered[boat] = late
	}
	at := spring.Add(time.Hour)
	c.report(planner.Press{Kind: planner.Started, Key: key("Heron", "finish coat"), Happened: at}, true)
	got := c.enter(at.Add(10 * time.Minute))
	if len(got) != 2 || got[0].Kind != planner.Finished || got[1].Kind != planner.Started || got[1].Entered.After(at.Add(5*time.Minute)) {
		t.Errorf("entered %+v", got)
	}
	if rest := c.enter(late); len(rest) != 1 || rest[0].Key.Boat != "Egret" {
		t.Errorf("then %+v", rest)
	}
}

func tableOf(pairs ...float64) conditions.Table {
	var table conditions.Table
	for i := 0; i < len(pairs); i += 2 {
		table = append(table, conditions.Point{
			At:    unit.Of(unit.Temperature(pairs[i])),
			Takes: unit.Duration(pairs[i+1] * float64(time.Hour)),
		})
	}
	return table
}

func written[T ~float64](v T) *unit.Written[T] {
	w := unit.Of(v)
	return &w
}

func weatherStation() config.Sensor {
	return config.Sensor{Name: "station", Place: config.Outdoors, Topic: "yard/station", Values: map[conditions.Variable]config.Field{
		conditions.AirTemperature: {Path: "temperature"}, conditions.RelHumidity: {Path: "humidity"},
		conditions.WindSpeed: {Path: "wind"}, conditions.Rain: {Path: "rain"},
	}}
}

// yardOf is a yard with a booth, a slip, a standing and one crew.
func yardOf() config.Yard {
	place := func(name string, kind config.PlaceKind, boats int) config.Place {
		return config.Place{Name: name, Kind: kind, Length: unit.Of[unit.Length](30), Width: unit.Of[unit.Length](10), Boats: boats, Move: unit.Duration(40 * time.Minute)}
	}
	b := booth(400, 60000)
	b.Move = unit.Duration(40 * time.Minute)
	return config.Yard{
		Name: "test yard", Zone: "Europe/Lisbon", Latitude: harbour.Latitude, Longitude: harbour.Longitude,
		Places: []config.Place{b, place("slip", config.Slip, 1), place("hard", config.Standing, 3)},
		Crews: []config.Crew{{Name: "painters", Skills: []string{"paint"}, People: 2, Shifts: []config.Shift{
			{Starts: "0 8 * * 1-5", Length: unit.Duration(9 * time.Hour)},
		}}},
		Cards: []config.Card{{
			Name: "finish", Revision: 1, Illustrative: true,
			Limits:       config.Limits{Margin: written[unit.TempDiff](3), HumidityMax: written[unit.Humidity](85)},
			Cure:         conditions.Cure{Protected: tableOf(10, 10, 20, 5, 30, 2.5)},
			ProtectUntil: conditions.Protected,
		}},
		Systems: []config.System{{Name: "repaint", Stages: []config.Stage{
			{Name: "sand back", Kind: config.Sand, Skill: "paint"},
			{Name: "finish coat", Kind: config.Coat, Skill: "paint", Card: "finish", Passes: 2},
			{Name: "look over", Kind: config.Inspect, Skill: "paint"},
		}}},
		Sensors: []config.Sensor{
			weatherStation(),
			{Name: "booth air", Place: "booth", Topic: "yard/booth", Time: "at", Values: map[conditions.Variable]config.Field{
				conditions.AirTemperature: {Path: "air.F", Unit: "F"}, conditions.RelHumidity: {Path: "air.rh10", Scale: 0.1},
			}},
			{Name: "booth hull", Place: "booth", Topic: "yard/booth/hull", Values: map[conditions.Variable]config.Field{conditions.Surface: {}}},
			{Name: "typed in", Place: "slip", Values: map[conditions.Variable]config.Field{conditions.Surface: {}}},
		},
	}
}

func boatOf(name, arrives string) config.Boat {
	return config.Boat{
		Name: name, Length: unit.Of[unit.Length](14), Beam: unit.Of[unit.Length](4), Build: "laminate", Colour: "white",
		Arrives: arrives, Promised: "2026-04-20", Place: "hard", Areas: []config.Area{{Name: "topsides", System: "repaint"}},
	}
}
