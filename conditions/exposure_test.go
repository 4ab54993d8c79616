package conditions

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// moisture is a card that cures faster in damp air: 0.5 at 40 %, 1 at 60, 1.5 at
// 80. The figures are made up.
func moisture() Cure {
	c := Cure{Recoat: at(10, 16, 30, 4), LastRecoat: at(10, 96, 30, 24)}
	for _, p := range [][2]float64{{40, 0.5}, {60, 1}, {80, 1.5}} {
		c.Humidity = append(c.Humidity, HumidityPoint{unit.Of(unit.Humidity(p[0])), p[1]})
	}
	return c
}

// TestHumidityFactor: linear between the points; beyond them an opening stands
// still, and it is said, and a closing goes by the nearer end; of an unknown
// humidity the opening is the slowest and the closing the fastest.
func TestHumidityFactor(t *testing.T) {
	c := moisture()
	nan := math.NaN()
	for _, p := range []struct {
		rh, opens, closes float64
		silent            bool
	}{
		{40, 0.5, 0.5, false}, {50, 0.75, 0.75, false}, {60, 1, 1, false}, {75, 1.375, 1.375, false}, {80, 1.5, 1.5, false},
		{39.9, 0, 0.5, true}, {81, 0, 1.5, true}, {100.2, 0, 1.5, true},
		{nan, 0.5, 1.5, false}, {0, 0.5, 1.5, false},
	} {
		e := Exposure{Coldest: 10, Warmest: 10, Humidity: unit.Humidity(p.rh)}
		k := c.Run(c.Start(monday), after(4), e)
		near(t, "opening", k.Slow[Recoat], p.opens*4/16, 1e-12)
		near(t, "closing", k.Fast[LastRecoat], p.closes*4/96, 1e-12)
		if (k.Silent == 4*time.Hour) != p.silent || !p.silent && k.Silent != 0 {
			t.Errorf("%v %%: silent %v", p.rh, k.Silent)
		}
	}
	none := c
	none.Humidity = nil
	k := none.Run(none.Start(monday), after(4), Exposure{Coldest: 10, Warmest: 10, Humidity: 3})
	near(t, "a card that does not mind", k.Slow[Recoat], 4.0/16, 1e-12)
	// Over water the air may be saturated by a rounding more.
	c.Humidity[2].At = unit.Of(unit.Humidity(100))
	k = c.Run(c.Start(monday), after(4), Exposure{Coldest: 10, Warmest: 10, Humidity: 100.0000001})
	near(t, "saturated", k.Slow[Recoat], 1.5*4/16, 1e-12)
}

// TestBadHumidityFactor: what a check would have refused never turns the clock
// back and never opens.
func TestBadHumidityFactor(t *testing.T) {
	for _, factors := range [][2]float64{{-1, -2}, {0, 0}, {math.NaN(), 1}, {math.NaN(), math.NaN()}} {
		c := moisture()
		c.Humidity = []HumidityPoint{{unit.Of(unit.Humidity(40)), factors[0]}, {unit.Of(unit.Humidity(40)), factors[1]}}
		for _, rh := range []unit.Humidity{40, unit.NaN[unit.Humidity]()} {
			k := c.Run(c.Start(monday), after(400), Exposure{Coldest: 10, Warmest: 10, Humidity: rh})
			if math.IsNaN(k.Fast[LastRecoat]) || k.Slow[Recoat] < 0 || k.Fast[LastRecoat] < 0 || c.Reached(k, Recoat) && !(factors[1] > 0) {
				t.Errorf("%v at %v %%: %+v", factors, rh, k)
			}
		}
	}
}

// TestCautious: the table at an unknown humidity runs as the clock does, and no
// known humidity of the card opens later or closes earlier.
func TestCautious(t *testing.T) {
	c := moisture()
	rapid.Check(t, func(t *rapid.T) {
		temp := unit.Temperature(rapid.Float64Range(10, 30).Draw(t, "temperature"))
		e := Exposure{Coldest: temp, Warmest: temp, Humidity: unit.Humidity(rapid.Float64Range(40, 80).Draw(t, "humidity"))}
		known := c.Run(c.Start(monday), after(4), e)
		e.Humidity = unit.NaN[unit.Humidity]()
		unknown := c.Run(c.Start(monday), after(4), e)
		for _, m := range []Milestone{Recoat, LastRecoat} {
			rate, ok := c.Cautious(m).Rate(temp)
			if !ok || math.Abs(4*rate-unknown.Progress(m)) > 1e-9 {
				t.Fatalf("%s: table %v, clock %v", m, 4*rate, unknown.Progress(m))
			}
		}
		if unknown.Slow[Recoat] > known.Slow[Recoat]+1e-12 || unknown.Fast[LastRecoat] < known.Fast[LastRecoat]-1e-12 {
			t.Fatalf("known %+v, unknown %+v", known, unknown)
		}
	})
	plain := Cure{Recoat: at(10, 16, 30, 4)}
	if got := plain.Cautious(Recoat); &got[0] != &plain.Recoat[0] {
		t.Error("a card that does not mind humidity has another table")
	}
	if got := c.Cautious(Launch); got != nil {
		t.Errorf("a table of which the card is silent: %v", got)
	}
}

// TestMomentExposure is the moment's surface and humidity.
func TestMomentExposure(t *testing.T) {
	m := humid(20, 65, 18)
	m.Warmest = 21
	e := m.Exposure()
	near(t, "humidity", e.Humidity, 65, 1e-9)
	if e.Coldest != 18 || e.Warmest != 21 {
		t.Errorf("%+v", e)
	}
	if e := (&Moment{Air: noTemp, DewPoint: noTemp}).Exposure(); unit.Known(e.Humidity) {
		t.Errorf("a humidity of nothing: %v", e.Humidity)
	}
}
