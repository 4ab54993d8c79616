package planner

import (
	"fmt"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// The yards and cards here are invented, and only for tests.

// monday is a working Monday in spring, 06:00 UTC, 07:00 in the yard.
var monday = time.Date(2026, 5, 4, 6, 0, 0, 0, time.UTC)

func hours(h float64) unit.Duration { return unit.Duration(h * float64(time.Hour)) }

func celsius(v float64) unit.Written[unit.Temperature] { return unit.Of(unit.Temperature(v)) }

// at is a table with the same time at every temperature: cure by the stopwatch.
func at(h float64) conditions.Table {
	return conditions.Table{{At: celsius(-20), Takes: hours(h)}, {At: celsius(60), Takes: hours(h)}}
}

func least(k float64) *unit.Written[unit.TempDiff] {
	w := unit.Of(unit.TempDiff(k))
	return &w
}

func wind(v float64) *unit.Written[unit.Speed] {
	w := unit.Of(unit.Speed(v))
	return &w
}

func degrees(v float64) *unit.Written[unit.Temperature] {
	w := celsius(v)
	return &w
}

// primer and topcoat cure by the stopwatch, so that a test can count hours.
func primer() config.Card {
	return config.Card{
		Name: "primer", Revision: 1, Illustrative: true, ProtectUntil: conditions.Protected,
		Cure: conditions.Cure{
			DustFree: at(1), TouchDry: at(3), Protected: at(4), Taped: at(6), Recoat: at(8),
			Sandable: at(16), Movable: at(12), LastRecoat: at(48), Reactivate: at(96), Launch: at(72),
		},
		FlashOff: config.Interval{Least: hours(0.5)},
		Limits:   config.Limits{Margin: least(3)},
	}
}

func topcoat() config.Card {
	c := primer()
	c.Name = "topcoat"
	c.Cure.Launch = at(120)
	return c
}

func week(starts string, length float64) []config.Shift {
	return []config.Shift{{Starts: starts, Length: hours(length)}}
}

// smallYard has one booth, a shed, a slip and standings for six.
func smallYard() config.Yard {
	size := func(l, w float64) (unit.Written[unit.Length], unit.Written[unit.Length]) {
		return unit.Of(unit.Length(l)), unit.Of(unit.Length(w))
	}
	l, w := size(30, 9)
	place := func(name string, kind config.PlaceKind, boats int) config.Place {
		return config.Place{Name: name, Kind: kind, Length: l, Width: w, Boats: boats, Move: hours(0.5)}
	}
	booth := place("booth 1", config.Booth, 1)
	booth.Booth = &config.BoothAir{
		Heater: unit.Of(unit.Power(400)), Spraying: unit.Of(unit.Flow(60000)), Curing: unit.Of(unit.Flow(6000)),
		SetPoint: celsius(22), Clearance: hours(4.0 / 60),
	}
	return config.Yard{
		Name: "test yard", Zone: "Europe/Lisbon", Latitude: 38.7, Longitude: -9.1,
		Places: []config.Place{booth, place("shed", config.Shed, 2), place("slip", config.Slip, 1), place("standing", config.Standing, 6)},
		Crews: []config.Crew{
			{Name: "prep", Skills: []string{"prep", "move"}, People: 4, Shifts: week("0 7 * * 1-5", 8.5)},
			{Name: "paint", Skills: []string{"paint"}, People: 2, Shifts: week("0 7 * * 1-5", 8.5)},
		},
		Cards: []config.Card{primer(), topcoat()},
		Systems: []config.System{{Name: "repaint", Stages: []config.Stage{
			{Name: "sand", Kind: config.Sand, Skill: "prep", People: 2, Rate: unit.Of(unit.WorkRate(4)), Places: []config.PlaceKind{config.Shed, config.Slip}},
			{Name: "mask", Kind: config.Mask, Skill: "prep", People: 2, Takes: hours(2), Block: "paint", Places: []config.PlaceKind{config.Booth}},
			{Name: "wipe", Kind: config.Wipe, Skill: "paint", People: 1, Takes: hours(0.5), Life: hours(2), Block: "paint", Places: []config.PlaceKind{config.Booth}},
			{Name: "prime", Kind: config.Coat, Skill: "paint", People: 2, Rate: unit.Of(unit.WorkRate(40)), Passes: 2, Card: "primer", Block: "paint", Places: []config.PlaceKind{config.Booth}},
			{Name: "wipe again", Kind: config.Wipe, Skill: "paint", People: 1, Takes: hours(0.5), Life: hours(2), Block: "paint", Places: []config.PlaceKind{config.Booth}},
			{Name: "finish", Kind: config.Coat, Skill: "paint", People: 2, Rate: unit.Of(unit.WorkRate(40)), Passes: 2, Card: "topcoat", Block: "paint", Places: []config.PlaceKind{config.Booth}},
			{Name: "unmask", Kind: config.Unmask, Skill: "prep", People: 2, Takes: hours(1), Block: "paint", Places: []config.PlaceKind{config.Booth}},
			{Name: "inspect", Kind: config.Inspect, Skill: "paint", People: 1, Takes: hours(0.5)},
		}}},
	}
}

func vessel(name string, promised string) config.Boat {
	return config.Boat{
		Name: name, Length: unit.Of(unit.Length(15)), Beam: unit.Of(unit.Length(4.5)), Arrives: "2026-05-04", Promised: promised,
		Areas: []config.Area{{Name: "topsides", System: "repaint", Size: unit.Of(unit.Area(60))}},
	}
}

// fair is n hours of fair weather from t on: 12 to 20 °C, dew point 8, forecast
// for ten days, then pencilled.
func fair(t time.Time, n int) []conditions.Weather {
	usual := conditions.Usual{Air: 16, Swing: 8, DewPoint: 8, Scatter: 1, Wind: 2, RainHours: 0}
	all := make([]conditions.Weather, n)
	for i := range all {
		at := t.Add(time.Duration(i) * time.Hour)
		w := usual.Weather(at, float64(at.Hour()+1))
		if w.Sure = conditions.Pencilled; i < 240 {
			w.Sure = conditions.Foretold
		}
		w.Gust, w.Rain = 3, 0
		w.AirError, w.DewError = 1, 1
		all[i] = w
	}
	return all
}

// problem is the small yard with boats, over three weeks of fair weather.
func problem(boats ...config.Boat) Problem {
	return Problem{At: monday, Horizon: 21 * 24 * time.Hour, Yard: smallYard(), Boats: boats, Outdoors: fair(monday.Add(-2*time.Hour), 21*24+6)}
}

func fleet(n int) []config.Boat {
	var all []config.Boat
	for i := range n {
		b := vessel(fmt.Sprintf("boat %02d", i+1), "2026-06-01")
		b.Areas[0].Size = unit.Of(unit.Area(40 + 5*float64(i%5)))
		all = append(all, b)
	}
	return all
}

func TestOneBoatOneBooth(t *testing.T) {
	plan := solved(t, problem(fleet(1)...))
	var last time.Time
	for _, s := range plan.Stages {
		if s.Start.Before(last) || s.State != Firm {
			t.Errorf("%s starts %v, %s", s.Key.Stage, s.Start, s.State)
		}
		last = s.End
	}
	if got := plan.Launches[0].Likely; got.IsZero() || got.Before(stageOf(t, plan, "boat 01", "finish").End.Add(120*time.Hour)) {
		t.Errorf("launched %v, before the finish has cured for 120 h", got)
	}
}
