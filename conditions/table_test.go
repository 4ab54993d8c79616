package conditions

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// at is a table of hours at temperatures in °C, in pairs.
func at(pairs ...float64) Table {
	var t Table
	for i := 0; i < len(pairs); i += 2 {
		t = append(t, Point{
			At:    unit.Of(unit.Temperature(pairs[i])),
			Takes: unit.Duration(math.Round(pairs[i+1] * float64(time.Hour))),
		})
	}
	return t
}

// arrhenius is a table of two points, 0 and 60 °C, with an activation energy in
// J/mol, that takes hours at 20 °C.
func arrhenius(energy, hours float64) Table {
	takes := func(t float64) float64 { return hours * math.Exp(-energy/8.314462618*(1/293.15-1/(t+273.15))) }
	return at(0, takes(0), 60, takes(60))
}

// TestRateIsArrhenius against factors computed from the formula with the energy
// named; their last digit.
func TestRateIsArrhenius(t *testing.T) {
	for column, energy := range map[string]float64{"E40": 40000, "E50": 50000, "E60": 60000, "E80": 80000} {
		table20 := arrhenius(energy, 100)
		for _, r := range table(t, "arrhenius_factors.csv") {
			temp, want := number(t, r["T_C"]), number(t, r[column])
			rate, ok := table20.Rate(unit.Temperature(temp))
			if temp < 0 {
				if ok || rate != 0 {
					t.Errorf("a rate beyond the table: %v", rate)
				}
				continue
			}
			near(t, column+" at "+r["T_C"], rate*100/want, 1, 1e-4)
		}
	}
}

// TestRateOfCoating: the opening and closing of UFGS 09971 have different
// energies: double the rate from 20 to 30 °C needs 51.2 kJ/mol (published), so a
// table that halves its time there follows E 51.2 between.
func TestRateOfCoating(t *testing.T) {
	rate, ok := at(20, 8, 30, 4).Rate(25)
	if !ok {
		t.Fatal("silent within")
	}
	near(t, "at 25", rate*8, math.Exp(51200/8.314462618*(1/293.15-1/298.15)), 0.001)
}

func TestRateBeyond(t *testing.T) {
	table20 := at(10, 16, 20, 8, 30, 4)
	for temp, want := range map[unit.Temperature]float64{10: 1.0 / 16, 20: 1.0 / 8, 30: 1.0 / 4} {
		rate, ok := table20.Rate(temp)
		if !ok {
			t.Errorf("silent at its point %v", temp)
		}
		near(t, "rate", rate, want, 1e-12)
	}
	for _, temp := range []unit.Temperature{9.99, 30.01, noTemp} {
		if rate, ok := table20.Rate(temp); ok || rate != 0 {
			t.Errorf("%v: %v, %t", temp, rate, ok)
		}
	}
	if _, ok := (Table{}).Rate(20); ok {
		t.Error("an empty table has a rate")
	}
	if _, ok := at(20, 0).Rate(20); ok {
		t.Error("no time at all has a rate")
	}
	if rate, ok := at(20, 8).Rate(20); !ok || rate != 1.0/8 {
		t.Errorf("a single point at its own temperature: %v, %t", rate, ok)
	}
	if _, ok := at(20, 8).Rate(21); ok {
		t.Error("a single point tells of 21 °C")
	}
	for temp, want := range map[unit.Temperature]float64{5: 1.0 / 16, 40: 1.0 / 4} {
		near(t, "closing beyond the table", table20.fastest(temp), want, 1e-12)
	}
	near(t, "closing of an unknown", table20.fastest(noTemp), 1.0/4, 1e-12)
}

// TestRateRises with temperature over any falling table.
func TestRateRises(t *testing.T) {
	table20 := at(5, 40, 10, 16, 20, 8, 30, 4, 45, 1)
	rapid.Check(t, func(t *rapid.T) {
		a := unit.Temperature(rapid.Float64Range(5, 45).Draw(t, "a"))
		b := unit.Temperature(rapid.Float64Range(5, 45).Draw(t, "b"))
		ra, _ := table20.Rate(min(a, b))
		rb, _ := table20.Rate(max(a, b))
		if ra > rb+1e-15 {
			t.Fatalf("%v at %v, %v at %v", ra, min(a, b), rb, max(a, b))
		}
	})
}
