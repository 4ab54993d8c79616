package service

import (
	"math"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// noon is of an invented clear June day.
var noon = time.Date(2026, 6, 22, 12, 40, 0, 0, time.UTC)

// ashore are facts of one boat in a place since yesterday, with the station's and
// the place's air read every half hour, and a forecast of sun.
func ashore(kind config.PlaceKind, colour string) *facts {
	k := planner.Key{Boat: "Teal", Area: "topsides"}
	y := config.Yard{
		Name: "test yard", Zone: "Europe/Lisbon", Latitude: 38.7, Longitude: -9.1,
		Places: []config.Place{{Name: "here", Kind: kind, Heading: 270}},
	}
	f := &facts{yard: y.WithDefaults(), zone: time.UTC, boats: []config.Boat{{
		Name: k.Boat, Colour: colour, Areas: []config.Area{{Name: k.Area}},
	}}}
	f.presses = []planner.Press{{ID: 1, Kind: planner.Arrived, Key: planner.Key{Boat: k.Boat}, Place: "here", Happened: noon.Add(-30 * time.Hour)}}
	f.work = planner.Replay(f.yard, f.boats, f.presses)
	fore := sensors.Forecast{Source: "test", Issued: noon.Add(-6 * time.Hour)}
	for at := noon.Truncate(time.Hour).Add(-30 * time.Hour); at.Before(noon.Add(12 * time.Hour)); at = at.Add(time.Hour) {
		w := conditions.At(nil, at)
		w.Sure, w.Air, w.DewPoint, w.Wind, w.Cloud = conditions.Foretold, 22, 12, 2, 0
		fore.Points = append(fore.Points, w)
	}
	f.forecasts = []sensors.Forecast{fore}
	for at := noon.Add(-28 * time.Hour); !at.After(noon); at = at.Add(30 * time.Minute) {
		for _, place := range []string{config.Outdoors, "here"} {
			f.add(sensors.Reading{Source: place + " air", Place: place, At: at, Received: at, Values: map[conditions.Variable]float64{
				conditions.AirTemperature: 22, conditions.RelHumidity: 55, conditions.WindSpeed: 2,
			}}, noon)
		}
	}
	f.followHulls(noon)
	return f
}

func (f *facts) surfaceReads(at time.Time, surface float64) {
	f.add(sensors.Reading{Source: "gun", Place: "here", Boat: "Teal", At: at, Received: at, Values: map[conditions.Variable]float64{conditions.Surface: surface}}, at)
}

var teal = planner.Key{Boat: "Teal", Area: "topsides"}

// Where nobody reads it a hull in the sun is not as warm as the air: a recoat window
// would close too late.
func TestUnreadHullIsWorkedOut(t *testing.T) {
	dark, white := ashore(config.Slip, "dark").surface(teal, noon), ashore(config.Slip, "white").surface(teal, noon)
	if !(dark.Warmest > 32) || !(white.Warmest > 22 && white.Warmest < dark.Warmest-5) {
		t.Errorf("at noon dark topsides are %v °C, white ones %v °C", dark.Warmest, white.Warmest)
	}
	if shed := ashore(config.Shed, "dark").surface(teal, noon); math.Abs(float64(shed.Warmest-22)) > 0.2 || shed.Coldest != shed.Warmest {
		t.Errorf("in a shed they are %v to %v °C in air of 22 °C", shed.Coldest, shed.Warmest)
	}
	if dark.Humidity < 54 || dark.Humidity > 56 {
		t.Errorf("humidity %v", dark.Humidity)
	}
}

// The model goes on from the last reading, which fades; while the reading is not
// stale it counts too, each where it is the more cautious.
func TestHullGoesOnFromItsLastReading(t *testing.T) {
	f := ashore(config.Shed, "white")
	f.surfaceReads(noon.Add(-3*time.Hour), 14)
	e := f.surface(teal, noon)
	if e.Coldest != 14 {
		t.Errorf("coldest %v °C, want the 14 °C that were read", e.Coldest)
	}
	if !(e.Warmest > 18 && e.Warmest < 22) {
		t.Errorf("warmest %v °C, want it on its way from 14 to 22 °C", e.Warmest)
	}
	f.surfaceReads(noon.Add(-5*time.Minute), 25)
	if e = f.surface(teal, noon); e.Warmest < 24 {
		t.Errorf("warmest %v °C just after 25 °C were read", e.Warmest)
	}
}

// A probe that lies in the sun itself opens nothing.
func TestProbeInTheSunIsDoubted(t *testing.T) {
	f := ashore(config.Shed, "white")
	f.surfaceReads(noon, 41)
	m := f.hull("Teal", noon)
	if m.Sure != conditions.Unknown || !strings.Contains(m.Why, "in the sun") {
		t.Errorf("%s: %q", m.Sure, m.Why)
	}
	rules := conditions.Rules{{Of: conditions.OfMargin, Least: true, At: 3}}
	if v := conditions.Judge(m, rules); v.Answer != conditions.Undecided {
		t.Errorf("the answer is %s", v.Answer)
	}
	if e := f.surface(teal, noon); e.Coldest > 23 || e.Warmest < 41 {
		t.Errorf("clocks take %v to %v °C: openings by the model, closings by the reading", e.Coldest, e.Warmest)
	}
	// A dark hull on a slip may well be that warm.
	f = ashore(config.Slip, "dark")
	f.surfaceReads(noon, 44)
	if m = f.hull("Teal", noon); m.Sure != conditions.Measured {
		t.Errorf("a dark hull in the sun: %s, %s", m.Sure, m.Why)
	}
}

// Without a word from the place's instruments nothing is worked out: a guess starts
// no cure.
func TestSilentPlaceCuresNothing(t *testing.T) {
	f := ashore(config.Shed, "white")
	later := noon.Add(9 * time.Hour)
	f.followHulls(later)
	if e := f.surface(teal, later); unit.Known(e.Coldest) {
		t.Errorf("nine hours after the last reading the hull is %v °C", e.Coldest)
	}
}
