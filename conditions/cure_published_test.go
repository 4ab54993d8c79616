package conditions

import (
	"fmt"
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// follows is a table of two points, −10 and 70 °C, of any law of the rate over
// the rate at 20 °C; it takes 100 h there.
func follows(law func(celsius float64) float64) Table {
	return at(-10, 100/law(-10), 70, 100/law(70))
}

// TestPublishedFactors: two points of each law of published/arrhenius_factors.csv
// bring back all of its column, −5 to 60 °C, to the last of its five decimals. MC90
// (from memory) counts from 273 K, from which straight lines over 1/(T + 273.15)
// bend by 0.012 %. Doubling with each 10 °C is no Arrhenius: two points of it, 80 °C
// apart, would be 31 % off between; TestDoubling has it.
func TestPublishedFactors(t *testing.T) {
	type law struct {
		column string
		at     func(float64) float64
		off    float64 // relative, besides half of the last digit
	}
	var laws []law
	for _, energy := range []float64{40, 45, 50, 55, 60, 65, 70, 80} {
		laws = append(laws, law{fmt.Sprintf("k_rel20_Ea%g", energy), func(c float64) float64 {
			return math.Exp(1000 * energy / 8.314462618 * (1/293.15 - 1/(c+273.15)))
		}, 1e-9})
	}
	laws = append(laws,
		law{"MC90_EC2_4000K", func(c float64) float64 { return math.Exp(13.65 - 4000/(273+c)) }, 1.2e-4},
		law{"C1074_Q5000K", func(c float64) float64 { return math.Exp(-5000 * (1/(273.15+c) - 1/293.15)) }, 1e-9},
	)
	for _, l := range laws {
		table := follows(l.at)
		for _, r := range shared(t, "arrhenius_factors.csv") {
			want := number(t, r[l.column])
			rate, ok := table.Rate(unit.Temperature(number(t, r["T_C"])))
			if !ok {
				t.Fatalf("%s is silent at %s", l.column, r["T_C"])
			}
			near(t, l.column+" at "+r["T_C"], 100*rate, want, 0.5e-5+l.off*want)
		}
	}
}

// TestDoubling: the building code's rule, double the time at 10 °C and half at
// 30, as three points. Seven days at 20 °C are 8.0 at 18, 9.9 at 15, 14 at 10
// (TRADE.md 3.4, computed there as 2^((20−T)/10)), each to half of its last digit;
// Arrhenius between the same points takes up to 0.6 % less. The column Q10_2 is
// met at its points, and halfway to 0.63 %.
func TestDoubling(t *testing.T) {
	days := at(10, 14*24, 20, 7*24, 30, 3.5*24)
	for temp, want := range map[unit.Temperature]float64{20: 7, 18: 8.0, 15: 9.9, 10: 14} {
		rate, _ := days.Rate(temp)
		near(t, fmt.Sprintf("days at %v", temp), 1/rate/24, want, 0.05+0.006*want)
	}
	every10 := at(0, 400, 10, 200, 20, 100, 30, 50, 40, 25, 50, 12.5, 60, 6.25)
	for _, r := range shared(t, "arrhenius_factors.csv") {
		temp, want := number(t, r["T_C"]), number(t, r["Q10_2"])
		if rate, ok := every10.Rate(unit.Temperature(temp)); ok {
			off := 0.5e-5
			if math.Mod(temp, 10) != 0 {
				off = 0.0063 * want
			}
			near(t, fmt.Sprintf("Q10 2 at %v", temp), 100*rate, want, off)
		}
	}
}

// TestEnergiesOfTheBands: the openings of UFGS 09971 over the middles of its
// columns fit 55.3 kJ/mol (25 to 35 °C: Q10 2.06), its closings 79.8, as
// computed in CHECKS.md 5; half of the last digit. So
// the two ends of a recoat window need tables of their own.
func TestEnergiesOfTheBands(t *testing.T) {
	var opening, closing Table
	var middles []unit.Temperature
	for _, b := range ufgs(t).Bands {
		middle := (b.From.SI + b.To.SI) / 2
		middles = append(middles, middle)
		opening = append(opening, Point{unit.Of(middle), b.Opens})
		closing = append(closing, Point{unit.Of(middle), b.Closes})
	}
	near(t, "opening, kJ/mol", energy(opening, middles), 55.3, 0.05)
	near(t, "closing, kJ/mol", energy(closing, middles), 79.8, 0.05)
	fitted := arrhenius(1000*energy(opening, middles), 8)
	cool, _ := fitted.Rate(25)
	warm, _ := fitted.Rate(35)
	near(t, "Q10", warm/cool, 2.06, 0.005)
}

// energy is the least-squares slope of a table's log rate over −1/RT, kJ/mol.
func energy(table Table, at []unit.Temperature) float64 {
	var x, y, xx, xy float64
	n := float64(len(at))
	for _, temp := range at {
		rate, _ := table.Rate(temp)
		u, v := -1000/(8.314462618*(float64(temp)+273.15)), math.Log(rate)
		x, y, xx, xy = x+u, y+v, xx+u*u, xy+u*v
	}
	return (n*xy - x*y) / (n*xx - x*x)
}

// TestWarmerIsNeverSlower, within the tables, over any course of temperatures:
// each opening and each closing comes no later.
func TestWarmerIsNeverSlower(t *testing.T) {
	c := card(t)
	c.Bands = nil // by the hottest hour a warmer day opens no later, but by columns
	c.DustFree, c.Sandable, c.LastRecoat = at(5, 2, 45, 0.5), at(5, 48, 20, 24, 45, 12), at(5, 90, 45, 9)
	rapid.Check(t, func(t *rapid.T) {
		cool, warm := c.Start(monday), c.Start(monday)
		for range rapid.IntRange(1, 20).Draw(t, "spells") {
			until := cool.At.Add(time.Duration(rapid.IntRange(1, 300).Draw(t, "minutes")) * time.Minute)
			temp := unit.Temperature(rapid.Float64Range(5, 40).Draw(t, "temperature"))
			more := unit.Temperature(rapid.Float64Range(0, float64(40-temp)).Draw(t, "warmer"))
			cool, warm = c.Run(cool, until, spots(temp, temp)), c.Run(warm, until, spots(temp+more, temp+more))
		}
		for _, m := range milestones() {
			if warm.Progress(m) < cool.Progress(m)-1e-12 {
				t.Fatalf("%s: warm %v, cool %v", m, warm.Progress(m), cool.Progress(m))
			}
		}
	})
}
