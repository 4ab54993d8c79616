package service

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors"
)

// wander draws readings of a few sources in the order of time: values that stand still
// and jump, faults, silences, clocks ahead.
func wander(t *rapid.T) []sensors.Reading {
	var all []sensors.Reading
	now := noon.Add(-20 * time.Hour)
	air, surface := 20.0, 20.0
	for i := range rapid.IntRange(1, 150).Draw(t, "readings") {
		now = now.Add(rapid.SampledFrom([]time.Duration{0, time.Second, 7 * time.Minute, 40 * time.Minute}).Draw(t, "after"))
		air += rapid.SampledFrom([]float64{0, 0, 0, 0.3, -0.3, 12}).Draw(t, "air")
		surface += rapid.SampledFrom([]float64{0, 0, 0, 0, 0, 0.2}).Draw(t, "surface")
		r := sensors.Reading{
			Source: rapid.SampledFrom([]string{"a", "a", "a", "b"}).Draw(t, "source"), Place: "here", At: now, Received: now,
			FromDevice: rapid.Bool().Draw(t, "its own clock"), Values: map[conditions.Variable]float64{}, Key: fmt.Sprint(i),
		}
		if r.FromDevice {
			r.Received = now.Add(rapid.SampledFrom([]time.Duration{0, time.Second, -4 * time.Minute, -time.Hour}).Draw(t, "late"))
		}
		if rapid.IntRange(0, 9).Draw(t, "says its air") > 0 {
			r.Values[conditions.AirTemperature] = air
			r.Values[conditions.RelHumidity] = 50 + air/10
		}
		if rapid.IntRange(0, 3).Draw(t, "says its surface") == 0 {
			r.Values[conditions.Surface] = surface
		}
		all = append(all, r)
	}
	return all
}

// A few of a source's readings tell Check all that a day of them would.
func TestAFewTellWhatADayWould(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := facts{}
		day := map[string][]sensors.Reading{} // of each source: beside another it is held when its air is asked for
		for _, r := range wander(t) {
			want := sensors.Check(r, day[r.Source], config.Sensor{}, noon)
			if got := sensors.Check(r, f.before(r), config.Sensor{}, noon); !reflect.DeepEqual(got, want) {
				t.Fatalf("flags %v of %v; a day's readings give %v", got.Flags, r, want.Flags)
			}
			f.add(want, noon)
			day[r.Source] = append(day[r.Source], want)
		}
	})
}

// What is held of late gives the same air and surface, in the same words, as all of it.
func TestLatelyIsEnough(t *testing.T) {
	yard := config.Yard{Notice: config.Noticing{}}.WithDefaults()
	rapid.Check(t, func(t *rapid.T) {
		f := facts{yard: yard, zone: time.UTC}
		for _, r := range wander(t) {
			f.add(sensors.Check(r, f.before(r), config.Sensor{}, r.At), noon)
		}
		now := noon.Add(-time.Duration(rapid.IntRange(0, 20*60).Draw(t, "minutes ago")) * time.Minute)
		got := f.measured("here", now)
		want := sensors.Merge(f.readings["here"], sensors.Spot{Place: "here", Pressure: conditions.StandardPressure(0)}, now, yard.Notice.Stale.Std())
		want.Paint = got.Paint
		if fmt.Sprint(got) != fmt.Sprint(want) { // as text: what is unknown equals itself
			t.Fatalf("%+v\nof all that is held it is\n%+v", got, want)
		}
	})
}

// However fast a source speaks, what is held of it stays within bounds; the last
// minutes, another that speaks each minute, and the order stay whole.
func TestAFastSourceIsHeldThin(t *testing.T) {
	f := facts{}
	hour := 2 * time.Hour
	for at := noon.Add(-hour); at.Before(noon); at = at.Add(200 * time.Millisecond) {
		f.add(sensors.Reading{Source: "fast", Place: "here", At: at, Received: at}, at)
		if at.Second() == 0 && at.Nanosecond() == 0 {
			f.add(sensors.Reading{Source: "slow", Place: "here", At: at, Received: at}, at)
			for v := range map[conditions.Variable]bool{conditions.Surface: true, conditions.AirTemperature: true} { // each by itself
				f.add(sensors.Reading{Source: "turns", Place: "here", At: at, Received: at, Values: map[conditions.Variable]float64{v: 20}}, at)
			}
		}
	}
	held, slow, latest, turns := f.readings["here"], 0, 0, 0
	for i, r := range held {
		if i > 0 && r.At.Before(held[i-1].At) {
			t.Fatalf("%v stands after %v", r.At, held[i-1].At)
		}
		if r.Source == "slow" {
			slow++
		} else if r.Source == "turns" {
			turns++
		} else if noon.Sub(r.At) <= wholeFor {
			latest++
		}
	}
	if slow != 120 || turns != 240 || latest != 600 || len(held) > 60+360+600+120+240+thinAfter {
		t.Errorf("held %d: %d of the slow one, %d of the last minutes", len(held), slow, latest)
	}
}
