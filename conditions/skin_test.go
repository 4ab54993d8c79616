package conditions

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

func TestDecay(t *testing.T) {
	for _, c := range []struct {
		lag, dt time.Duration
		want    float64
	}{
		{time.Hour, 0, 1}, {time.Hour, time.Hour, 1 / math.E}, {time.Hour, 3 * time.Hour, math.Exp(-3)},
		{0, time.Minute, 0}, {0, 0, 1}, {time.Hour, -time.Minute, 1},
	} {
		near(t, "decay", Decay(c.lag, c.dt), c.want, 1e-12)
	}
}

// TestColdHullInWarmShed: a hull at 5 °C carried into 22 °C, 50 % (dew point
// 11.1 °C). Lumped, 8 mm of glass laminate (1700 kg/m³, 1200 J/(kg·K)) with
// h 8 W/(m²·K) on one side has a lag of ρ·d·c/h = 34 min: it stops condensing
// after about 14 min and is 3 K over the dew point after 24 min (computed from
// the exact slab with properties in the range 1440–1740, 1080–1270; ±3 min).
func TestColdHullInWarmShed(t *testing.T) {
	lag := time.Duration(1700 * 0.008 * 1200 / 8 * float64(time.Second))
	room := make([]unit.Temperature, 61)
	for i := range room {
		room[i] = 22
	}
	hull := Follow(room, 5, time.Minute, lag)
	dew := DewPoint(22, 50)
	for over, want := range map[unit.TempDiff]float64{0: 14, 3: 24} {
		minute := 0
		for hull[minute].Over(dew) < over {
			minute++
		}
		near(t, "minutes", float64(minute), want, 3)
	}
}

// TestFollowASlope: after the start has faded a steady slope is trailed by slope
// times lag, whatever the step: the first-order equation's own solution.
func TestFollowASlope(t *testing.T) {
	for _, step := range []time.Duration{5 * time.Minute, 30 * time.Minute, time.Hour, 3 * time.Hour} {
		lag, slope := 2*time.Hour, 0.8 // K/h
		air := make([]unit.Temperature, int(48*time.Hour/step)+1)
		for i := range air {
			air[i] = unit.Temperature(slope * float64(i) * step.Hours())
		}
		hull := Follow(air, 0, step, lag)
		near(t, step.String(), air[len(air)-1].Over(hull[len(hull)-1]), slope*lag.Hours(), 1e-6)
	}
}

// TestSteadyDay: a day's sine is followed smaller by 1/√(1+(ωτ)²) and later by
// atan(ωτ)/ω, as the first-order equation has it.
func TestSteadyDay(t *testing.T) {
	step, lag := 10*time.Minute, 3*time.Hour
	omega := 2 * math.Pi / 24
	air := make([]unit.Temperature, 3*144)
	for i := range air {
		air[i] = unit.Temperature(14 + 6*math.Sin(omega*float64(i)/6))
	}
	hull := Steady(air, step, lag)
	damped := 6 / math.Sqrt(1+omega*3*omega*3)
	for i := range hull {
		want := 14 + damped*math.Sin(omega*float64(i)/6-math.Atan(omega*3))
		near(t, "hull", hull[i], want, 0.01)
	}
}

// TestGap: in a gap nothing is known, nor until three lags after it.
func TestGap(t *testing.T) {
	air := []unit.Temperature{10, 10, noTemp, 12, 12, 12, 12, 12, 12}
	hull := Follow(air, 10, time.Hour, time.Hour)
	for i, want := range []bool{true, true, false, false, false, false, true, true, true} {
		if unit.Known(hull[i]) != want {
			t.Errorf("hour %d: %v", i, hull[i])
		}
	}
	if from := Follow([]unit.Temperature{10, 10}, noTemp, time.Hour, time.Hour); unit.Known(from[0]) {
		t.Errorf("an unknown start gave %v", from)
	}
	if none := Steady(nil, time.Hour, time.Hour); len(none) != 0 {
		t.Errorf("no air gave %v", none)
	}
	if all := Steady([]unit.Temperature{noTemp, noTemp}, time.Hour, time.Hour); unit.Known(all[1]) {
		t.Errorf("unknown air gave %v", all)
	}
}

// TestHullStaysBetween the extremes of its air, and at once follows without a lag.
func TestHullStaysBetween(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		air := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) unit.Temperature {
			return unit.Temperature(rapid.Float64Range(-10, 35).Draw(t, "air"))
		}), 1, 60).Draw(t, "series")
		lag := time.Duration(rapid.IntRange(0, 600).Draw(t, "lag")) * time.Minute
		step := time.Duration(rapid.IntRange(1, 120).Draw(t, "step")) * time.Minute
		low, high := air[0], air[0]
		for i, hull := range Steady(air, step, lag) {
			low, high = min(low, air[i]), max(high, air[i])
			if lag == 0 && math.Abs(float64(hull-air[i])) > 1e-9 {
				t.Fatalf("without a lag %v in %v", hull, air[i])
			}
		}
		for _, hull := range Steady(air, step, lag) {
			if hull < low-1e-9 || hull > high+1e-9 {
				t.Fatalf("%v outside %v to %v", hull, low, high)
			}
		}
	})
}
