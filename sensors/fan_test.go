package sensors

import (
	"testing"
	"time"

	"fairwindow/conditions"
)

func TestFanRuns(t *testing.T) {
	now := time.Date(2026, time.April, 7, 10, 0, 0, 0, time.UTC)
	said := func(ago time.Duration, v float64) Reading {
		return Reading{Place: "booth", At: now.Add(-ago), Values: map[conditions.Variable]float64{conditions.Fan: v}}
	}
	doubted := said(time.Minute, 1)
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
		{"air alone", []Reading{{At: now, Values: map[conditions.Variable]float64{conditions.AirTemperature: 0}}}, false, false},
	} {
		runs, known := FanRuns(c.readings, now, 30*time.Minute)
		if runs != c.runs || known != c.known {
			t.Errorf("%s: runs %v, known %v", c.name, runs, known)
		}
	}
}
