package config

import (
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

func topcoat(t *testing.T) Card {
	return Card{
		Name: "Topcoat", Revision: 3, Illustrative: true, Cautions: []string{"mind the air"},
		Mix: Mix{Base: 2, Hardener: 1, Reducer: written[unit.Share](t, "25 %")}, // common practice, no source
		Variants: []Variant{
			{Name: "cold", Reducer: "fast", From: written[unit.Temperature](t, "10 C"), To: written[unit.Temperature](t, "18 C")},
			{Name: "warm", Reducer: "slow", From: written[unit.Temperature](t, "18 C"), To: written[unit.Temperature](t, "35 C"), Method: Roll},
		},
		Spread:  Spread{Solids: written[unit.Share](t, "50 %"), Dry: written[unit.Film](t, "25 um"), Loss: written[unit.Share](t, "40 %")},
		PotLife: PotLife{Lasts: hours(2), At: written[unit.Temperature](t, "21 C")},
		// NAVFAC MO-124, p. 70: 2 h at 50-60 F, 1-1.5 h at 60-70 F, 0.5-1 h above.
		Induct: []Induction{
			{From: written[unit.Temperature](t, "50 F"), To: written[unit.Temperature](t, "60 F"), Stands: hours(2)},
			{From: written[unit.Temperature](t, "60 F"), To: written[unit.Temperature](t, "70 F"), Stands: unit.Duration(90 * time.Minute)},
		},
	}
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(1, math.Abs(b)) }

// 24 m² at 50 % solids and 25 µm: 20 m²/L, of which 12 are left after the loss: 2 L
// mixed, and a quarter of that as reducer.
func TestSheet(t *testing.T) {
	s, err := topcoat(t).Sheet(24, 20)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"covers, m²/L", s.Covers, 20},
		{"base, L", float64(s.Litres.Base), 4.0 / 3},
		{"hardener, L", float64(s.Litres.Hardener), 2.0 / 3},
		{"reducer, L", float64(s.Litres.Reducer), 0.5},
		{"wet film, µm", float64(s.Wet), 62.5}, // 25 / 0.5 × 1.25
	} {
		if !near(c.got, c.want) {
			t.Errorf("%s: got %g, want %g", c.what, c.got, c.want)
		}
	}
	if s.Variant != "warm" || s.Reducer != "slow" || s.Method != Roll || s.Revision != 3 || !s.Illustrative || len(s.Cautions) != 1 {
		t.Errorf("got %+v", s)
	}
	if cold, err := topcoat(t).Sheet(24, 12); err != nil || cold.Method != Spray || cold.Reducer != "fast" {
		t.Errorf("a cold hull: %+v, %v", cold, err)
	}
}

// SSPC epoxy polyamide paint specification: 65 % at 2.5 mil covers 10.2 m²/L
// (printed with three digits).
func TestSheetCoversAsPrinted(t *testing.T) {
	card := topcoat(t)
	card.Spread.Solids, card.Spread.Dry = written[unit.Share](t, "65 %"), written[unit.Film](t, "2.5 mil")
	s, err := card.Sheet(1, 20)
	if err != nil || math.Abs(s.Covers-10.2) > 0.05 {
		t.Errorf("got %g m²/L, %v, want 10.2", s.Covers, err)
	}
}

// Cases 15 and 16: at 31 °C a pot lasts half as long as at 21, and a mix at 14 °C
// stands 2 h; the pot is taken to be as warm as the surface.
func TestSheetGoesByTheMix(t *testing.T) {
	card := topcoat(t)
	for at, want := range map[unit.Temperature][2]time.Duration{31: {time.Hour, 90 * time.Minute}, 21: {2 * time.Hour, 90 * time.Minute}, 11: {4 * time.Hour, 2 * time.Hour}} {
		s, err := card.Sheet(24, at)
		if err != nil || s.PotLife != want[0] || s.Stands != want[1] {
			t.Errorf("at %v: lasts %v, stands %v, %v; want %v", at, s.PotLife, s.Stands, err, want)
		}
	}
}

func TestSheetRefuses(t *testing.T) {
	for why, c := range map[string]struct {
		change  func(*Card)
		area    unit.Area
		surface unit.Temperature
		says    string
	}{
		"no area":            {nil, 0, 20, "area"},
		"unknown area":       {nil, unit.NaN[unit.Area](), 20, "area"},
		"unknown surface":    {nil, 10, unit.NaN[unit.Temperature](), "measure"},
		"no variant, ranges": {nil, 10, 40, "cold 10 C to 18 C, warm 18 C to 35 C"},
		"no solids":          {func(c *Card) { c.Spread.Solids.SI = 0 }, 10, 20, "solids"},
		"all lost":           {func(c *Card) { c.Spread.Loss.SI = 1 }, 10, 20, "loss"},
		"no base":            {func(c *Card) { c.Mix.Base = 0 }, 10, 20, "base"},
	} {
		card := topcoat(t)
		if c.change != nil {
			c.change(&card)
		}
		if _, err := card.Sheet(c.area, c.surface); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want a word of %q", why, err, c.says)
		}
	}
}

// However a pass is parted into pots: all paint is in them, none outlives its pot
// life before it is used up, and none is used before it has stood.
func TestPots(t *testing.T) {
	card := topcoat(t)
	rapid.Check(t, func(r *rapid.T) {
		surface := unit.Temperature(rapid.Float64Range(10, 35).Draw(r, "surface"))
		takes := time.Duration(rapid.Int64Range(1, 600).Draw(r, "minutes")) * time.Minute
		s, err := card.Sheet(unit.Area(rapid.Float64Range(1, 200).Draw(r, "area")), surface)
		if err != nil {
			r.Fatal(err)
		}
		pots, err := s.Pots(takes)
		if s.PotLife-s.Stands < 5*time.Minute {
			if err == nil {
				r.Fatalf("a pot of %v that stands %v can be laid", s.PotLife, s.Stands)
			}
			return
		}
		if err != nil {
			r.Fatal(err)
		}
		sum, used := Parts{}, time.Duration(0)
		for _, p := range pots {
			sum.Base, sum.Hardener, sum.Reducer = sum.Base+p.Litres.Base, sum.Hardener+p.Litres.Hardener, sum.Reducer+p.Litres.Reducer
			if p.Use != used || p.Use-p.Mix < s.Stands || p.Until-p.Mix > s.PotLife+time.Nanosecond {
				r.Fatalf("pot life %v, stands %v: %+v", s.PotLife, s.Stands, p)
			}
			used = p.Until
		}
		if used != takes || !near(float64(sum.Base), float64(s.Litres.Base)) || !near(float64(sum.Hardener), float64(s.Litres.Hardener)) || !near(float64(sum.Reducer), float64(s.Litres.Reducer)) {
			r.Fatalf("%d pots last %v of %v and hold %+v of %+v", len(pots), used, takes, sum, s.Litres)
		}
	})
}
