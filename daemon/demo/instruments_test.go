package demo

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
	"fairwindow/sensors/payload"
)

// listen decodes ten days of one instrument's messages as the daemon would.
func listen(t *testing.T, seed uint64, s config.Sensor, m measured) []sensors.Reading {
	t.Helper()
	i := newInstruments(seed, []config.Sensor{s}, spring, 10)[0]
	var readings []sensors.Reading
	for k := range 10 * 144 {
		at := spring.Add(time.Duration(k) * 10 * time.Minute)
		msg, ok, err := i.report(at, m)
		if err != nil {
			t.Fatal(err)
		}
		if ok {
			readings = append(readings, payload.Decode(s, sensors.Message{Topic: msg.Topic, Payload: msg.Payload, Received: at}, time.UTC)...)
		}
	}
	return readings
}

// What an instrument sends, read by the daemon's own decoder, is the truth but
// for bias, drift and noise: means over ten days within three deviations.
func TestInstrumentsSayNearlyTheTruth(t *testing.T) {
	yard := yardOf()
	m := measured{air: 18, dew: 9, surface: 15, wind: 4, gust: 7, rain: 1.2}
	for _, s := range yard.Sensors[:3] {
		sums, counts := map[conditions.Variable]float64{}, map[conditions.Variable]float64{}
		for _, r := range listen(t, 6, s, m) {
			for v, x := range r.Values {
				if !r.Doubtful(v) && x != 85 {
					sums[v], counts[v] = sums[v]+x, counts[v]+1
				}
			}
		}
		for v := range s.Values {
			within := 3*wrong[v].bias + wrong[v].noise + 0.1
			if v == conditions.RelHumidity {
				within++ // drift
			}
			near(t, s.Name+" "+string(v), sums[v]/counts[v], m.of(v), within)
			if counts[v] < 1300 {
				t.Errorf("%s, %s: only %g values", s.Name, v, counts[v])
			}
		}
	}
}

func TestInstrumentsFail(t *testing.T) {
	s := yardOf().Sensors[2]
	var lost, powerOn, stuck int
	for seed := range uint64(20) {
		readings := listen(t, seed, s, measured{air: 18, dew: 9, surface: 15})
		lost += 1440 - len(readings)
		same, longest := 0, 0
		for k, r := range readings {
			x := r.Values[conditions.Surface]
			if math.Abs(x-85) < 0.01 {
				powerOn++
			}
			same++
			if k > 0 && x != readings[k-1].Values[conditions.Surface] {
				same = 0
			}
			longest = max(longest, same)
		}
		if longest >= 24 { // four hours
			stuck++
		}
	}
	if lost < 20 || powerOn == 0 || stuck < 18 {
		t.Errorf("in 20 yards: %d messages lost, %d power-on values, %d instruments stuck", lost, powerOn, stuck)
	}
}

func TestPayloadFollowsTheYardFile(t *testing.T) {
	s := yardOf().Sensors[1]
	i := &instrument{Sensor: s}
	body, err := i.payload(spring, map[conditions.Variable]float64{conditions.AirTemperature: 20, conditions.RelHumidity: 67.7})
	if err != nil || string(body) != `{"air":{"F":68,"rh10":677},"at":"2026-04-06T00:00:00Z"}` {
		t.Errorf("%s %v", body, err)
	}
	body, err = i.payload(spring, map[conditions.Variable]float64{conditions.AirTemperature: math.NaN(), conditions.RelHumidity: 50})
	if err != nil || !json.Valid(body) || string(body) != `{"air":{"F":null,"rh10":500},"at":"2026-04-06T00:00:00Z"}` {
		t.Errorf("%s %v", body, err)
	}
}
