package service

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// vapour is the account of the booth's one sensor.
func (r *rig) vapour() sensors.Account {
	r.t.Helper()
	all, err := r.svc.Accounts(r.t.Context(), "booth")
	if err != nil || len(all) == 0 || all[0].Exposed == nil {
		r.t.Fatalf("%+v, %v", all, err)
	}
	return all[0]
}

func (r *rig) wantVapour(hours float64) {
	r.t.Helper()
	if got := r.vapour().Exposed.Hours; math.Abs(got-hours) > 0.01 {
		r.t.Errorf("%s: %.2f h, want %.2f", r.clock.Now().Format("Mon 15:04"), got, hours)
	}
}

// TestVapour: a humidity sensor's hours count while a coat goes on and until it is
// dust-free, an hour by the card; they outlive a restart and the boat, a press that
// comes late counts, and a humidity read by hand begins them anew.
func TestVapour(t *testing.T) {
	t.Parallel()
	r := playEvery(t, time.Hour, "two coats", "    every: 10 min", "    every: 10 min\n    check_after: 2.5 h")
	r.wantVapour(0)
	r.until(at(0, 7, 0))
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.until(at(0, 8, 30))
	r.wantVapour(1.5) // it goes on
	r.press(planner.Press{Kind: planner.PassDone, Key: first, Pass: 1})
	r.wantVapour(1.5) // and is wet from here on
	r.until(at(0, 9, 0))
	r.wantVapour(2)
	r.until(at(0, 12, 0))
	r.wantVapour(2.5)
	if a := r.vapour(); len(a.Asks) == 0 || a.Asks[len(a.Asks)-1].Fault != sensors.Unchecked {
		t.Errorf("no check is asked for: %+v", a.Asks)
	}
	r.restart()
	r.wantVapour(2.5)
	// The second coat was on from 17:00 to 18:00 and is told of a day later.
	r.until(at(1, 18, 0))
	r.coat(second, at(0, 17, 0), at(0, 18, 0))
	r.wantVapour(4.5)
	r.until(at(3, 0, 0)) // counted for good
	r.press(planner.Press{Kind: planner.Launched, Key: planner.Key{Boat: "Boat One"}})
	r.restart()
	r.wantVapour(4.5)
	kept, err := r.svc.store.Memory(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if is, err := Exposed(r.svc.facts.yard, kept, planner.Work{}, r.clock.Now()); err != nil || math.Abs(is["air"].Hours-4.5) > 0.01 {
		t.Errorf("with the boat gone: %+v, %v", is, err)
	}
	// A surface is no check of a humidity, nor is a doubtful instrument.
	hand := func(values map[conditions.Variable]float64, flags ...sensors.Flag) {
		now := r.clock.Now()
		err := r.svc.TakeReading(t.Context(), sensors.Reading{
			Source: "P with meter", Place: "booth", At: now, Received: now, Key: fmt.Sprint(values, len(flags)), Values: values, Flags: flags,
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	hand(map[conditions.Variable]float64{conditions.Surface: 20})
	hand(map[conditions.Variable]float64{conditions.AirTemperature: 20, conditions.RelHumidity: 41}, sensors.Flag{Fault: sensors.Uncalibrated})
	r.wantVapour(4.5)
	hand(map[conditions.Variable]float64{conditions.AirTemperature: 20, conditions.RelHumidity: 42})
	r.wantVapour(0)
	r.restart()
	if a := r.vapour(); a.Exposed.Hours != 0 || !a.Exposed.Since.Equal(r.clock.Now()) || strings.Contains(fmt.Sprint(a.Asks), string(sensors.Unchecked)) {
		t.Errorf("checked by hand: %+v %+v", a.Exposed, a.Asks)
	}
}
