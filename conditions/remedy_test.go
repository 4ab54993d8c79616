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

// TestRemediesOfSeveralInstruments: what one lever is moved by keeps each bound as it is
// judged, by the instrument that is worse for it. A humidity of at least 0 % asks nothing.
func TestRemediesOfSeveralInstruments(t *testing.T) {
	limits := func(least, most string) Rules {
		return Strictest(nil, Owned{"card", Limits{
			Margin: lim[unit.TempDiff](t, "3 C"), HumidityMin: lim[unit.Humidity](t, least), HumidityMax: lim[unit.Humidity](t, most),
		}})
	}
	m := humid(20, 60, 13)
	m.Airs = Airs{Driest: unit.Some[unit.Humidity](42), Dampest: unit.Some[unit.Humidity](60)}
	if got := remedies(m, limits("40 %", "85 %")); got[TheWater].Of != "" {
		t.Errorf("drying takes the driest below its bound: %+v", got[TheWater])
	}
	m.Airs.Driest = unit.Some[unit.Humidity](58)
	if got := remedies(m, limits("40 %", "85 %")); !(got[TheWater].By < -2) {
		t.Errorf("dried by %+v", got[TheWater])
	}
	if got := remedies(m, limits("0 %", "85 %")); !(got[TheWater].By < -2) || got[TheSurface].By <= 0 {
		t.Errorf("with at least 0 %%: %+v", got)
	}
	m = humid(20, 50, 20)
	m.Airs.Driest, m.Airs.Dampest = unit.Some[unit.Humidity](50), unit.Some[unit.Humidity](90)
	got := remedies(m, limits("10 %", "85 %"))
	dry := float64(DewPoint(20, 85) - DewPoint(20, 90))
	near(t, "dry by", got[TheWater].By, dry, 1e-6)
	warm := unit.Temperature(got[TheAir].By)
	near(t, "warm until the dampest is at", RelativeHumidity(20+warm, DewPoint(20, 90)), 85, 1e-6)
}
