package conditions

import (
	"testing"

	"fairwindow/conditions/unit"
)

func remedies(m Moment, r Rules) map[Lever]Change {
	by := map[Lever]Change{}
	for _, c := range Remedies(m, r, 0) {
		by[c.Of] = c
	}
	return by
}

// TestRemediesOfCase1, note a: hull at least 18.3 with this air, or humidity at
// most 77.4 % with the hull still at 17 (computed there, to its last digit).
func TestRemediesOfCase1(t *testing.T) {
	profile := usual(t)
	got := remedies(humid(18, 84, 17), Strictest(&profile))
	near(t, "hull", got[TheSurface].To, 18.3, 0.05)
	near(t, "hull by", got[TheSurface].By, 1.3, 0.05)
	near(t, "dew point", got[TheWater].To, 14.0, 0.001)
	near(t, "humidity", got[TheWater].Humidity, 77.4, 0.06)
	if w := got[TheWater].Water; !(w < -0.0007 && w > -0.0011) {
		t.Errorf("water to take out: %g kg/kg", w)
	}
	near(t, "air and hull", got[ThePlace].By, 1.3, 0.05)
	if _, ok := got[TheAir]; ok {
		t.Error("warming the air alone does not move the margin")
	}
}

// TestRemedies of other single faults, and none where two things are wrong.
func TestRemedies(t *testing.T) {
	profile := usual(t)
	rules := Strictest(&profile)
	gusty := humid(20, 50, 20)
	gusty.Wind, gusty.Gust = 4, 9
	got := remedies(gusty, rules)
	near(t, "gust to", got[TheWind].To, 6.7, 1e-9)
	near(t, "gust by", got[TheWind].By, -2.3, 1e-9)
	if len(got) != 1 {
		t.Errorf("a gust is mended by %+v", got)
	}

	sunny := humid(24, 55, 24)
	sunny.Warmest = 38
	near(t, "shade to", remedies(sunny, rules)[TheSurface].To, 32, 1e-9)

	cold := still(5, -5, 5, 5)
	got = remedies(cold, rules)
	if len(got) != 1 {
		t.Errorf("a cold place is mended by %+v", got)
	}
	near(t, "heat the place to", got[ThePlace].To, 10, 1e-9)

	cold.Gust = 9
	if got := remedies(cold, rules); len(got) != 0 {
		t.Errorf("cold and gusty is mended by one lever: %+v", got)
	}
	damp := humid(18, 90, 24)
	near(t, "warm the air to", remedies(damp, rules)[TheAir].Humidity, 85, 1e-6)
	if got := Remedies(humid(20, 50, 20), rules, 0); got != nil {
		t.Errorf("a yes is mended: %+v", got)
	}
	showers := humid(20, 50, 20)
	showers.RainChance, showers.Sure = 0.6, Foretold
	rain := Strictest(nil, Owned{"card", Limits{RainMax: lim[unit.Share](t, "20 %")}})
	near(t, "chance of rain to", remedies(showers, rain)[TheRain].To, 0.2, 1e-9)
}
