package demo

import (
	"math"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"
)

var (
	harbour = Site{Latitude: 41.2, Longitude: -8.7} // nowhere in particular on a west coast
	spring  = time.Date(2026, 4, 6, 0, 0, 0, 0, time.UTC)
)

func TestDewPointNeverAboveAir(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		site := Site{rapid.Float64Range(-60, 60).Draw(t, "latitude"), rapid.Float64Range(-180, 180).Draw(t, "longitude")}
		for _, h := range Invent(seed, spring, 6, site) {
			if h.DewPoint > h.Air || h.Gust < h.Wind || h.Rain < 0 || h.Cloud < 0 || h.Cloud > 1 || h.Shortwave < 0 {
				t.Fatalf("impossible hour %+v", h)
			}
		}
	})
}

func TestSameSeedSameSky(t *testing.T) {
	if !reflect.DeepEqual(Invent(7, spring, 20, harbour), Invent(7, spring, 20, harbour)) {
		t.Error("one seed gave two skies")
	}
	if reflect.DeepEqual(Invent(7, spring, 20, harbour), Invent(8, spring, 20, harbour)) {
		t.Error("two seeds gave one sky")
	}
}

// What makes the invented weather a coast's spring: the bounds are common
// knowledge of such coasts, wide, no source.
func TestSkyIsACoastsSpring(t *testing.T) {
	var all climateSeen
	for seed := range uint64(12) {
		all.see(Invent(seed, spring, 60, harbour))
	}
	for _, c := range []struct {
		what        string
		got         float64
		least, most float64
	}{
		{"mean air, °C", all.air / all.hours, 10, 17},
		{"daily swing, K", all.swing / all.days, 4.5, 10},
		{"dew-point depression, K", all.dry / all.hours, 2.5, 6.5},
		{"share of hours with rain", all.rain / all.hours, 0.03, 0.12},
		{"mean wind, m/s", all.wind / all.hours, 3, 6.5},
		{"mean cloud", all.cloud / all.hours, 0.35, 0.65},
		{"damp mornings (depression below 1.5 K at 6 h), share", all.damp / all.days, 0.15, 0.7},
		{"afternoons dry (depression above 5 K at 15 h), share", all.dryDays / all.days, 0.3, 0.95},
	} {
		if c.got < c.least || c.got > c.most {
			t.Errorf("%s = %.3g, not within %g..%g", c.what, c.got, c.least, c.most)
		}
		t.Logf("%s = %.3g", c.what, c.got)
	}
}

type climateSeen struct{ hours, days, air, swing, dry, rain, wind, cloud, damp, dryDays float64 }

func (c *climateSeen) see(hours []Hour) {
	for d := 0; d+24 < len(hours); d += 24 {
		low, high := math.Inf(1), math.Inf(-1)
		for i, h := range hours[d : d+24] {
			low, high = math.Min(low, h.Air), math.Max(high, h.Air)
			depression := h.Air - h.DewPoint
			c.hours++
			c.air, c.dry, c.wind, c.cloud = c.air+h.Air, c.dry+depression, c.wind+h.Wind, c.cloud+h.Cloud
			if h.Rain > 0 {
				c.rain++
			}
			if i == 6 && depression < 1.5 {
				c.damp++
			}
			if i == 15 && depression > 5 {
				c.dryDays++
			}
		}
		c.swing += high - low
		c.days++
	}
}

// CHECKS.md 3: the worked example of NREL's SPA (Reda & Andreas 2004), 0.03°
// for a low-accuracy theory without parallax.
func TestSunAgainstSPA(t *testing.T) {
	at := time.Date(2003, 10, 17, 19, 30, 30, 0, time.UTC)
	elevation, azimuth := sun(Site{39.742476, -105.1786}, at)
	// SPA's zenith of 50.11162° holds the air's refraction, 0.0163° there.
	near(t, "zenith", 90-elevation, 50.11162+0.0163, 0.03)
	near(t, "azimuth", azimuth, 194.34024, 0.03)
}

// CHECKS.md 3: Haurwitz as printed in pvlib's test_clearsky.
func TestClearSky(t *testing.T) {
	for elevation, want := range map[float64]float64{10: 135.74175, 30: 487.89413, 50: 778.76669, 90: 1035.09203} {
		near(t, "GHI", clearSky(elevation), want, 0.001)
	}
	if clearSky(-3) != 0 {
		t.Error("sun at night")
	}
}

// CHECKS.md 1: relative humidity with the WMO coefficients, printed in
// pvlib's test_atmosphere.
func TestHumidityAgainstWMO(t *testing.T) {
	for _, c := range [][3]float64{{20, 15, 72.951853}, {25, 20, 73.815000}, {30, 25, 74.640127}, {15, 12, 82.270639}, {10, 8, 87.390179}} {
		near(t, "RH", humidityOf(c[0], c[1]), c[2], 2e-4)
		near(t, "dew point", dewAt(c[0], c[2]), c[1], 1e-4)
	}
	// psychrolib, 20 °C and 50 %: dew point 9.2724, wet bulb 13.783. Formulas
	// differ by 0.05 K; psychrometers by more.
	near(t, "dew point", dewAt(20, 50), 9.2724, 0.05)
	near(t, "wet bulb", wetBulb(20, dewAt(20, 50)), 13.783, 0.15)
	rapid.Check(t, func(t *rapid.T) {
		dew := rapid.Float64Range(-30, 35).Draw(t, "dew")
		if back := dewFrom(mixing(dew)); math.Abs(back-dew) > 1e-6 {
			t.Fatalf("dew point %g came back as %g", dew, back)
		}
	})
}

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > within {
		t.Errorf("%s = %.6g, want %.6g ± %g", what, got, want, within)
	}
}

// dewAt is the dew point of air at a relative humidity in %, °C.
func dewAt(air, humidity float64) float64 { return dewOf(humidity / 100 * saturation(air)) }
