package service

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// A month of which no reading is left is still drawn: an hour's mean for each hour, a
// gap where nobody measured, and the dew point by the Magnus formula (WMO-No. 8, from
// memory: 20 °C and 50 % give 9.3 °C).
func TestThePastGoesBackBeyondTheReadings(t *testing.T) {
	t.Parallel()
	r := newRig(t, yardText)
	kept, err := store.Open(r.state)
	if err != nil {
		t.Fatal(err)
	}
	from := monday.Add(-120 * 24 * time.Hour)
	c := store.Change{At: monday}
	for day := range 30 {
		for minute := 0; minute < 24*60; minute += 10 {
			now := from.Add(time.Duration(day*24*60+minute) * time.Minute)
			if day == 3 {
				continue // it was switched off
			}
			one := sensors.Reading{Source: "air", Place: "booth", At: now, Received: now, FromDevice: true,
				Values: map[conditions.Variable]float64{conditions.AirTemperature: 19 + float64(minute%60)/25, conditions.RelHumidity: 50}}
			one.Key = sensors.Key(one, "")
			c.Readings = append(c.Readings, one)
		}
	}
	if _, err := kept.Commit(t.Context(), c); err != nil {
		t.Fatal(err)
	}
	if err := kept.Close(); err != nil {
		t.Fatal(err)
	}
	r.start()
	if err := r.svc.prune(t.Context(), monday); err != nil {
		t.Fatal(err)
	}
	if left, err := r.svc.Readings(t.Context(), "booth", from, monday); err != nil || len(left) != 0 {
		t.Fatalf("%d readings left, %v", len(left), err)
	}
	past, err := r.svc.Past(t.Context(), "booth", from, from.Add(30*24*time.Hour))
	if err != nil || len(past) != 29*24 {
		t.Fatalf("%d hours, %v", len(past), err)
	}
	for _, m := range past {
		// The hour's readings are 19, 19.4, 19.8, 20.2, 20.6 and 21.
		if math.Abs(float64(m.Air)-20) > 1e-9 || math.Abs(float64(m.DewPoint-unit.Temperature(9.3))) > 0.1 || m.Sure != conditions.Measured {
			t.Fatalf("%+v", m)
		}
		if age := m.At.Sub(from); age > 74*time.Hour && age < 96*time.Hour {
			t.Fatalf("measured at %v, when it was off", m.At)
		}
	}
}
