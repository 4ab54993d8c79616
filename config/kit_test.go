package config

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

func kitted(t *testing.T) Card {
	c := topcoat(t)
	c.Mix.Kit = Kit{written[unit.Volume](t, "1 L"), written[unit.Volume](t, "0.5 L")}
	c.Induct = nil
	return c
}

// 24 m² take 4/3 L and 2/3 L (TestSheet): 2 L of mix, so two kits of 1.5 L and 1 L of
// mix left over, with a quarter of that as reducer. Worked by hand.
func TestKitPots(t *testing.T) {
	c := kitted(t)
	s, err := c.Sheet(24, 21)
	if err != nil {
		t.Fatal(err)
	}
	pots, left, err := c.KitPots(s, time.Hour)
	if err != nil || len(pots) != 1 || pots[0].Kits != 2 || !near(float64(pots[0].Litres.Base), 2) || !near(float64(pots[0].Litres.Reducer), 0.75) {
		t.Fatalf("%+v, %v", pots, err)
	}
	if !near(float64(left.Base), 2.0/3) || !near(float64(left.Hardener), 1.0/3) || !near(float64(left.Reducer), 0.25) {
		t.Errorf("left over %+v", left)
	}
	// Laid in 2 h 40 min one kit takes 2 h, which is the whole life of a pot at 21 °C.
	if pots, _, err = c.KitPots(s, 160*time.Minute); err != nil || len(pots) != 2 || pots[0].Kits != 1 || pots[1].Use != 2*time.Hour || pots[1].Until != 160*time.Minute {
		t.Errorf("%+v, %v", pots, err)
	}
	if _, _, err = c.KitPots(s, 4*time.Hour); err == nil || !strings.Contains(err.Error(), "takes 3 h to lay here, and lasts 2 h") {
		t.Errorf("a kit that outlives its pot: %v", err)
	}
	c.Mix.Kit = Kit{}
	if _, _, err = c.KitPots(s, time.Hour); err == nil {
		t.Error("a card without kits gave some")
	}
}

// TestKitPotsHoldTheSheet: whatever the size and the pace, what is in the pots is what
// the sheet asks for and what is left, less than a kit; no pot is laid beyond its life.
func TestKitPotsHoldTheSheet(t *testing.T) {
	c := kitted(t)
	rapid.Check(t, func(t *rapid.T) {
		s, err := c.Sheet(unit.Area(rapid.Float64Range(1, 400).Draw(t, "area")), unit.Temperature(rapid.Float64Range(11, 34).Draw(t, "hull")))
		if err != nil {
			t.Fatal(err)
		}
		pots, left, err := c.KitPots(s, time.Duration(rapid.IntRange(1, 400).Draw(t, "minutes"))*time.Minute)
		if err != nil {
			return
		}
		var base, reducer float64
		for _, p := range pots {
			base, reducer = base+float64(p.Litres.Base), reducer+float64(p.Litres.Reducer)
			if p.Kits < 1 || p.Until-p.Use > s.PotLife-s.Stands {
				t.Fatalf("%+v lasts %v", p, s.PotLife)
			}
		}
		if math.Abs(base-float64(s.Litres.Base+left.Base)) > 1e-5*base || math.Abs(reducer-float64(s.Litres.Reducer+left.Reducer)) > 1e-5*reducer {
			t.Fatalf("%g L of base in the pots, %+v on the sheet, %+v left", base, s.Litres, left)
		}
		if left.Base >= c.Mix.Kit.Base.SI {
			t.Fatalf("a whole kit is left over: %+v", left)
		}
	})
}

// 10 lb/gal are 1.198 kg/L: 10 × 0.45359237 / 3.785411784 (NIST Handbook 44, appendix C).
func TestDensityWeighs(t *testing.T) {
	d := Density{Base: written[unit.Density](t, "10 lb/gal"), Reducer: written[unit.Density](t, "0.87 kg/L")}
	base, hardener, reducer := d.Weighs(Parts{Base: 2, Hardener: 1, Reducer: 0.5})
	if !near(float64(base), 0.002*4.5359237/3.785411784) || unit.Known(hardener) || !near(float64(reducer), 0.000435) {
		t.Errorf("%v, %v, %v", base, hardener, reducer)
	}
}
