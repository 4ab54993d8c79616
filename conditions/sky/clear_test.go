package sky

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

// TestClearAsPrinted: pvlib's test_clearsky, of the apparent elevation.
func TestClearAsPrinted(t *testing.T) {
	for elevation, want := range map[float64]float64{-20: 0, 0: 0, 10: 135.74175, 30: 487.89413, 50: 778.76669, 90: 1035.09203} {
		near(t, "Haurwitz", haurwitz(math.Sin(elevation*degree)), want, 5e-6)
	}
}

// TestClearReference: SunAt (0.012°) and refraction (0.13°, but only at the horizon,
// where a clear sky sends next to nothing) part us from pvlib. A degree is at most
// 18.2 W/m², so 0.012° and another 0.01° are 0.4; at 1830 m the reference's thinner
// air bends the light of a low sun by some 0.03° less, 0.6 more.
func TestClearReference(t *testing.T) {
	off := worst{}
	for _, r := range shared(t, "solar_reference.csv") {
		sun := SunAt(Site{number(t, r["lat"]), number(t, r["lon"])}, instant(t, r["utc"]))
		what, tolerance := "clear sky at sea level", 0.4
		if number(t, r["alt_m"]) > 0 {
			what, tolerance = "clear sky at 1830 m", 1.0
		}
		off.near(t, what, r["site"]+" "+r["utc"], sun.Clear(), number(t, r["ghi_haurwitz"]), tolerance)
	}
	off.log(t)
}

// TestThrough: the ends are the paper's; half cover is its formula, computed.
func TestThrough(t *testing.T) {
	for cover, want := range map[unit.Share]float64{-0.1: 1, 0: 1, 0.5: 0.92895, 1: 0.25, 1.1: 0.25} {
		near(t, "Kasten and Czeplak", Through(cover), want, 1e-5)
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := unit.Share(rapid.Float64Range(0, 1).Draw(t, "a")), unit.Share(rapid.Float64Range(0, 1).Draw(t, "b"))
		if Through(min(a, b)) < Through(max(a, b)) {
			t.Fatal("more cloud lets more through")
		}
	})
}
