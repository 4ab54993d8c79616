package sensors

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

func TestFanRuns(t *testing.T) {
	now := time.Date(2026, time.April, 7, 10, 0, 0, 0, time.UTC)
	said := func(ago time.Duration, v float64) Reading {
		return Reading{Place: "booth", At: now.Add(-ago), Values: map[conditions.Variable]float64{conditions.Fan: v}}
	}
	doubted := said(time.Minute, 1)
	twice, other := said(time.Minute, 1), said(0, 1)
	twice.Flags, other.Source = []Flag{{Fault: Repeated}}, "other"
	stood := said(time.Minute, 0)
	stood.Flags = twice.Flags
	ines, rui := said(5*time.Minute, 0), said(time.Minute, 1)
	ines.Source, rui.Source = "Ines"+ByEye, "Rui"+ByEye
	doubted.Flags = []Flag{{Of: conditions.Fan, Fault: Stuck}}
	for _, c := range []struct {
		name        string
		readings    []Reading
		runs, known bool
	}{
		{"nothing", nil, false, false},
		{"runs", []Reading{said(5*time.Minute, 1)}, true, true},
		{"stands since", []Reading{said(5*time.Minute, 1), said(time.Minute, 0)}, false, true},
		{"stale", []Reading{said(31*time.Minute, 0)}, false, false},
		{"doubted", []Reading{said(5*time.Minute, 0), doubted}, false, true},
		{"ran, and doubted since", []Reading{said(5*time.Minute, 1), doubted}, false, false},
		{"ran, doubted, runs", []Reading{said(5*time.Minute, 1), doubted, said(0, 1)}, true, true},
		{"said twice", []Reading{said(5*time.Minute, 1), twice}, true, true},
		{"ran, and perhaps stood once more", []Reading{said(5*time.Minute, 1), stood}, false, false},
		{"stands, and perhaps said twice", []Reading{said(5*time.Minute, 0), stood}, false, true},
		{"one of two stands", []Reading{said(time.Minute, 0), other}, false, true},
		{"one saw it stand, then another saw it run", []Reading{ines, rui}, true, true},
		{"still to come", []Reading{said(-10*time.Minute, 1)}, false, false},
		{"air alone", []Reading{{At: now, Values: map[conditions.Variable]float64{conditions.AirTemperature: 0}}}, false, false},
	} {
		runs, known := fanRuns(c.readings, now, 30*time.Minute)
		if runs != c.runs || known != c.known {
			t.Errorf("%s: runs %v, known %v", c.name, runs, known)
		}
	}
}

// TestStopped: the gravest of what a booth's own signals say, and nothing of one
// that has no such sensor.
func TestStopped(t *testing.T) {
	y := config.Yard{Sensors: []config.Sensor{{Name: "plant", Place: "booth", Every: unit.Duration(10 * time.Minute), Values: map[conditions.Variable]config.Field{conditions.Fan: {}}}}}
	place := config.Place{Name: "booth", Kind: config.Booth, Booth: &config.BoothAir{Filters: unit.Of(unit.Pressure(250))}}
	said := func(ago time.Duration, v values) Reading {
		return Reading{Source: "plant", Place: "booth", At: noon.Add(-ago), Received: noon.Add(-ago), Values: v}
	}
	fan := func(ago time.Duration) Reading { return said(ago, values{conditions.Fan: 1}) }
	for _, c := range []struct {
		name     string
		readings []Reading
		want     string
	}{
		{"runs", []Reading{fan(30 * time.Minute)}, ""},
		{"three intervals old", []Reading{fan(31 * time.Minute)}, "whether its fan runs is not known, the last word is 31 min old"},
		{"never heard", nil, "whether its fan runs is not known"},
		{"stands, heater on", []Reading{said(0, values{conditions.Fan: 0, conditions.Heater: 1, conditions.Door: 1})}, "its fan stands and its heater is on"},
		{"stands, heater off", []Reading{said(0, values{conditions.Fan: 0, conditions.Heater: 0})}, "its fan stands"},
		{"door open", []Reading{fan(0), said(0, values{conditions.Door: 1})}, "its door is open"},
		{"door open while it sprays", []Reading{fan(0), said(0, values{conditions.Door: 1, conditions.BoothMode: 1})}, "its door is open"},
		{"door open while it cures", []Reading{fan(0), said(0, values{conditions.Door: 1, conditions.BoothMode: 2})}, ""},
		{"door shut since", []Reading{fan(0), said(time.Minute, values{conditions.Door: 1}), said(0, values{conditions.Door: 0})}, ""},
		{"filters clogged", []Reading{fan(0), said(0, values{conditions.FilterPressure: 251})}, "its filters stand at 251 Pa, at most 250 Pa allowed"},
		{"filters at their limit", []Reading{fan(0), said(0, values{conditions.FilterPressure: 250})}, ""},
	} {
		if got, _ := Stopped(y, place, c.readings, noon, Stale); got.Text != c.want {
			t.Errorf("%s: %q, want %q", c.name, got.Text, c.want)
		}
	}
	if got, is := Stopped(config.Yard{}, place, nil, noon, Stale); is {
		t.Errorf("a booth without such a sensor: %q", got.Text)
	}
	place.Booth.Filters = unit.Written[unit.Pressure]{}
	if got, is := Stopped(y, place, []Reading{fan(0), said(0, values{conditions.FilterPressure: 900})}, noon, Stale); is {
		t.Errorf("filters without a limit: %q", got.Text)
	}
}
