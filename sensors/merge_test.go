package sensors

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

var booth = Spot{Place: "booth 1", Boat: "B"}

func by(source string, ago time.Duration, v values, flags ...Flag) Reading {
	r := reading(noon.Add(-ago), v)
	r.Source, r.Flags = source, flags
	return r
}

func onHull(source string, ago time.Duration, x float64) Reading {
	r := by(source, ago, values{surface: x})
	r.Boat = "B"
	return r
}

// TestTheWorseRules is TRADE.md 7, case 23: a booth sensor says 61 % at 20 °C,
// a whirling psychrometer 20/17, which is 74.1 %; the hull is at 18: margins
// 5.7 and 2.75 K.
func TestTheWorseRules(t *testing.T) {
	sensor := by("booth sensor", time.Minute, values{air: 20, rh: 61})
	whirled := by("psychrometer", 10*time.Minute, values{air: 20, wet: 17})
	hull := onHull("probe", time.Minute, 18)
	margin := func(rs ...Reading) float64 {
		m := Merge(rs, booth, noon, Stale)
		if m.Sure != conditions.Measured {
			t.Fatalf("%+v", m)
		}
		return float64(m.Coldest.Over(m.DewPoint))
	}
	// The case prints 5.7 and 2.75: half a unit of the last place.
	if got := margin(sensor, hull); math.Abs(got-5.7) > 0.05 {
		t.Errorf("sensor alone: %.3f", got)
	}
	// It takes the WMO's psychrometer constant; conditions.Solve takes the
	// thermodynamic wet bulb, which is 0.4 % damper: 0.08 K of dew point.
	if got := margin(whirled, hull); math.Abs(got-2.75) > 0.1 {
		t.Errorf("psychrometer alone: %.3f", got)
	}
	if got := margin(sensor, whirled, hull); math.Abs(got-2.75) > 0.1 {
		t.Errorf("both: %.3f", got)
	}
	m := Merge([]Reading{sensor, whirled}, booth, noon, Stale)
	if m.Doubt != "booth sensor says 61 %, psychrometer 74 %" {
		t.Errorf("which two disagree is not said: %q", m.Doubt)
	}
	if alone := Merge([]Reading{sensor, hull}, booth, noon, Stale); alone.Doubt != "" {
		t.Errorf("one alone disagrees with nobody: %q", alone.Doubt)
	}
	if got := float64(conditions.RelativeHumidity(m.Air, m.DewPoint)); math.Abs(got-74.1) > 0.5 {
		t.Errorf("humidity %.2f", got)
	}
}

func TestUnknownIsShut(t *testing.T) {
	expired := Check(by("old one", time.Minute, values{air: 20, rh: 61}), nil, config.Sensor{Due: "2026-03-25"}, noon)
	wick := Check(by("wick", time.Minute, values{air: 19, wet: 19.5}), nil, config.Sensor{}, noon)
	tests := []struct {
		name string
		rs   []Reading
		why  []string
	}{
		{"nothing", nil, []string{"no air temperature was measured", "no humidity was measured"}},
		// TRADE.md 7, case 22: the last reading is 5 h 10 min old.
		{"5 h 10 min old", []Reading{by("meter", 5*time.Hour+10*time.Minute, values{air: 20, rh: 61})}, []string{"meter", "5 h 10 min", "4 h"}},
		// Case 24.
		{"calibration expired", []Reading{expired}, []string{"old one", "calibration expired"}},
		{"wet bulb over dry", []Reading{wick}, []string{"wick", "its values contradict each other"}},
		{"no humidity", []Reading{by("meter", time.Minute, values{air: 20})}, []string{"no humidity was measured"}},
		{"a doubtful value silences its source", []Reading{
			by("meter", 5*time.Minute, values{air: 20, rh: 61}),
			by("meter", time.Minute, values{air: 20, rh: 104}, Flag{Of: rh, Fault: OutOfRange}),
		}, []string{"meter", "out of range"}},
		{"two instruments that cannot both be right", []Reading{by("a", 0, values{air: 10}), by("b", 0, values{dew: 15})}, []string{"contradict"}},
		{"another place", []Reading{func() Reading {
			r := by("meter", 0, values{air: 20, rh: 61})
			r.Place = "booth 2"
			return r
		}()}, []string{"no air temperature was measured"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := Merge(tt.rs, booth, noon, Stale)
			if m.Sure != conditions.Unknown || !math.IsNaN(float64(m.Air)) || !math.IsNaN(float64(m.DewPoint)) {
				t.Errorf("%+v", m)
			}
			for _, w := range tt.why {
				if !strings.Contains(m.Why, w) {
					t.Errorf("why %q does not say %q", m.Why, w)
				}
			}
		})
	}
}

func TestMerge(t *testing.T) {
	other := onHull("probe of C", 0, 5)
	other.Boat = "C"
	elsewhere := onHull("probe", 0, 6)
	elsewhere.Place = "booth 2"
	carried := onHull("carried", 0, 17.5)
	carried.Place = "" // goes with the boat
	rs := []Reading{
		by("t only", 0, values{air: 21}), by("h only", 0, values{rh: 50}),
		by("alternating", 2*time.Minute, values{air: 20}, Flag{Of: rh, Fault: Missing}),
		by("alternating", time.Minute, values{rh: 60}, Flag{Of: air, Fault: Missing}),
		onHull("ir", 3*time.Hour, 3), onHull("ir", 12*time.Minute, 16), onHull("ir", 5*time.Minute, 19),
		carried, other, elsewhere,
		by("mast", 0, values{conditions.WindSpeed: 3, conditions.GustSpeed: 6, conditions.Rain: 0}),
	}
	m := Merge(rs, booth, noon, Stale)
	// The dampest of 20 °C with 60 % (12.0) and 21 °C with 50 % (10.2).
	if m.Air != 20 || math.Abs(float64(m.DewPoint)-12.0) > 0.05 {
		t.Errorf("air %v dew point %v: %s", m.Air, m.DewPoint, m.Why)
	}
	// One walk around the hull counts whole; the walk of three hours ago does not.
	if m.Coldest != 16 || m.Warmest != 19 {
		t.Errorf("coldest %v warmest %v", m.Coldest, m.Warmest)
	}
	if m.Wind != 3 || m.Gust != 6 || m.Rain != 0 || m.RainChance != 0 {
		t.Errorf("%+v", m)
	}
}

// TestDoubtNeverHelps: to flag a value never makes the margin larger, unless
// its source falls silent while another speaks.
func TestDoubtNeverHelps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := by("meter", 0, values{
			air: rapid.Float64Range(1, 40).Draw(t, "air"), rh: rapid.Float64Range(2, 100).Draw(t, "rh"),
			surface: rapid.Float64Range(0, 40).Draw(t, "surface"),
		})
		if m := Merge([]Reading{r}, booth, noon, Stale); m.Sure != conditions.Measured || m.DewPoint > m.Air+1e-6 {
			t.Fatalf("%+v", m)
		}
		f := Flag{Of: rapid.SampledFrom([]conditions.Variable{"", air, rh}).Draw(t, "of"), Fault: rapid.SampledFrom([]Fault{Spike, Stuck, NoZone, Old}).Draw(t, "fault")}
		r.Flags = []Flag{f}
		if m := Merge([]Reading{r}, booth, noon, Stale); m.Sure != conditions.Unknown || m.Why == "" {
			t.Fatalf("%+v", m)
		}
	})
}

// TestMoreSourcesAreWorse: another good instrument only lowers the margin, and
// the order of readings does not matter.
func TestMoreSourcesAreWorse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := func(source string) Reading {
			return by(source, time.Duration(rapid.IntRange(0, 200).Draw(t, source))*time.Minute, values{
				air: rapid.Float64Range(1, 40).Draw(t, "air"), rh: rapid.Float64Range(2, 100).Draw(t, "rh"),
				surface: rapid.Float64Range(0, 40).Draw(t, "surface"),
			})
		}
		a, b := one("a"), one("b")
		alone := Merge([]Reading{a}, booth, noon, Stale)
		both, swapped := Merge([]Reading{a, b}, booth, noon, Stale), Merge([]Reading{b, a}, booth, noon, Stale)
		if both.Coldest.Over(both.DewPoint) > alone.Coldest.Over(alone.DewPoint) {
			t.Fatal("a second instrument made the margin larger")
		}
		if fmt.Sprint(both) != fmt.Sprint(swapped) { // as text: NaN is not NaN
			t.Fatalf("%+v %+v", both, swapped)
		}
	})
}

// TestWarmestSpot: one value counts for both ends of the hull; a warmest spot that is
// read besides counts for the warmest alone, and for a margin not at all. Surfaces are
// read at both ends: MIL-HDBK-1110, 9.6.6.2.
func TestWarmestSpot(t *testing.T) {
	air := by("booth sensor", time.Minute, values{air: 20, rh: 61})
	walk := func(ago time.Duration, v values) Reading {
		r := by("Ines with probe", ago, v)
		r.Boat = "B"
		return r
	}
	for _, c := range []struct {
		name       string
		rs         []Reading
		cold, warm float64
	}{
		{"one spot", []Reading{walk(0, values{surface: 16})}, 16, 16},
		{"both", []Reading{walk(0, values{surface: 16, conditions.SurfaceWarmest: 31})}, 16, 31},
		{"the warmest alone", []Reading{walk(0, values{conditions.SurfaceWarmest: 31})}, math.NaN(), 31},
		{"a colder one after it", []Reading{walk(time.Hour, values{surface: 17, conditions.SurfaceWarmest: 31}), walk(0, values{surface: 16})}, 16, 31},
		{"too old", []Reading{walk(Stale+time.Hour, values{conditions.SurfaceWarmest: 31}), walk(0, values{surface: 16})}, 16, 16},
		{"another probe is warmer", []Reading{walk(0, values{surface: 16, conditions.SurfaceWarmest: 25}), onHull("puck", 0, 27)}, 16, 27},
		{"exchanged", []Reading{Check(walk(0, values{surface: 31, conditions.SurfaceWarmest: 16}), nil, config.Sensor{}, noon)}, math.NaN(), math.NaN()},
	} {
		m := Merge(append(c.rs, air), booth, noon, Stale)
		same := func(a unit.Temperature, b float64) bool { return float64(a) == b || !unit.Known(a) && math.IsNaN(b) }
		if !same(m.Coldest, c.cold) || !same(m.Warmest, c.warm) {
			t.Errorf("%s: %g to %g, want %g to %g", c.name, m.Coldest, m.Warmest, c.cold, c.warm)
		}
	}
}
