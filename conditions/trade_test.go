package conditions

import (
	"math"
	"strings"
	"testing"

	"fairwindow/conditions/unit"
)

// given is what was read of the air: temperature with humidity, dew point or wet
// bulb, by name; NaN is not read.
func given(t testing.TB, temp float64, of string, value float64) Air {
	t.Helper()
	k := Known{Temperature: unit.Temperature(temp), Humidity: unit.NaN[unit.Humidity](), DewPoint: noTemp, WetBulb: noTemp}
	switch of {
	case "RH":
		k.Humidity = unit.Humidity(value)
	case "Td":
		k.DewPoint = unit.Temperature(value)
	case "wet bulb":
		k.WetBulb = unit.Temperature(value)
	}
	air, err := Solve(k)
	if err != nil {
		t.Fatal(err)
	}
	return air
}

// TestTradeFromReadings: the trade's cases from what is read to what would mend
// them: the air is solved, judged by the notes' default profile, and the single
// changes are those of the notes, or computed from the same limits where the
// notes give none. The notes were computed with another formulation: ±0.05 K of
// margin, ±0.1 % of humidity. Their whirled wet bulb goes by a psychrometer's
// constant, ours by the heat balance of the wick: 0.4 % of humidity, 0.08 K.
func TestTradeFromReadings(t *testing.T) {
	profile, finishes := usual(t), finish(t)
	def, fin := Strictest(&profile), Strictest(&profile, finishes)
	in5F := Strictest(&profile, Owned{"spec in F", Limits{Margin: lim[unit.TempDiff](t, "5 F")}})
	hot := Strictest(&profile, Owned{"magazine", Limits{SurfaceMax: lim[unit.Temperature](t, "105 F")}})
	wet := func(f float64) float64 { return (f - 32) / 1.8 }
	for _, c := range []struct {
		name         string
		air          Air
		cold, warm   unit.Temperature
		gust         unit.Speed
		rules        Rules
		answer       Answer
		binding      Quantity
		margin       float64 // of surface over dew point
		wet          bool
		levers       map[Lever]float64 // where each must come to rest, of the water %
		notAnyOthers bool
	}{
		{"1", given(t, 18, "RH", 84), 17, 17, 0, def, No, OfMargin, 1.7, false,
			map[Lever]float64{TheSurface: 18.3, TheWater: 77.4, ThePlace: 19.3}, true},
		{"2 default", given(t, 18, "RH", 84), 19, 19, 0, def, Yes, OfHumidity, 3.7, false, nil, true},
		{"2 finish", given(t, 18, "RH", 84), 19, 19, 0, fin, No, OfHumidity, 3.7, false,
			map[Lever]float64{TheWater: 75, TheAir: 19.83, ThePlace: 19.83}, true},
		{"3", given(t, 20, "RH", 85), 20, 20, 0, def, No, OfMargin, 2.60, false,
			map[Lever]float64{TheSurface: 20.4}, false},
		{"4 in C", given(t, 20, "RH", 83.3), 20, 20, 0, def, No, OfMargin, 2.92, false,
			map[Lever]float64{TheSurface: 20.08, TheWater: 82.9}, false},
		{"4 in F", given(t, 20, "RH", 83.3), 20, 20, 0, in5F, Yes, OfMargin, 2.92, false, nil, true},
		// 48/46/44 °F; the air is too cold as well, and the damp air would need more than
		// the hull warmed, so only air and hull together, or nothing.
		{"5", given(t, wet(48), "Td", wet(46)), unit.Temperature(wet(44)), unit.Temperature(wet(44)), 0, def, No, OfMargin, -1.1, true,
			map[Lever]float64{ThePlace: 13.0}, true},
		{"7", given(t, 20, "Td", float64(given(t, 5, "RH", 90).DewPoint)), 9, 9, 0, def, No, OfSurface, 5.5, false,
			map[Lever]float64{TheSurface: 10, ThePlace: 21}, true},
		// The hull above 18.2: with it the air, for the air is too damp of itself.
		{"8", given(t, 16, "RH", 95), 11, 11, 0, def, No, OfMargin, -4.2, true,
			map[Lever]float64{ThePlace: 16 + 18.2 - 11}, false},
		{"9 before", given(t, 12, "RH", 80), 12, 12, 0, def, Yes, OfMargin, 3.3, false, nil, true},
		{"9 heater on", given(t, 18, "RH", 85), 13, 13, 0, def, No, OfMargin, -2.4, true,
			map[Lever]float64{TheSurface: 18.4}, false},
		{"18", given(t, 20, "RH", 68.35), 20, 20, 9, def, No, OfWind, 6.0, false, map[Lever]float64{TheWind: 6.7}, true},
		{"23 the booth's sensor", given(t, 20, "RH", 61), 18, 18, 0, def, Yes, OfMargin, 5.7, false, nil, true},
		{"23 whirling, the worse", given(t, 20, "wet bulb", 17), 18, 18, 0, def, No, OfMargin, 2.75, false,
			map[Lever]float64{TheSurface: 18.25}, false},
		{"25", given(t, 24, "RH", 55), 24, 45, 0, hot, No, OfSurface, 9.6, false,
			map[Lever]float64{TheSurface: 40.6}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := still(c.air.Temperature, c.air.DewPoint, c.cold, c.warm)
			m.Gust = c.gust
			v := Judge(m, c.rules)
			if v.Answer != c.answer || v.Binding < 0 || v.Margins[v.Binding].Of != c.binding || v.Wet != c.wet {
				t.Fatalf("%+v", v)
			}
			slack := 0.0
			if strings.Contains(c.name, "whirling") {
				slack = 0.03
			}
			near(t, "margin", float64(m.Coldest-m.DewPoint), c.margin, 0.055+slack)
			got := remedies(m, c.rules)
			for lever, to := range c.levers {
				change, ok := got[lever]
				if !ok {
					t.Errorf("nothing done to the %s mends it: %+v", lever, got)
				} else if lever == TheWater {
					near(t, "humidity", change.Humidity, to, 0.1)
				} else {
					near(t, string(lever), change.To, to, 0.055+slack)
				}
			}
			if c.notAnyOthers && len(got) != len(c.levers) {
				t.Errorf("mended by %+v", got)
			}
		})
	}
}

// TestTradeRefused: case 23's two instruments do not agree, and case 24's values
// cannot be, so neither makes an air to judge.
func TestTradeRefused(t *testing.T) {
	for name, k := range map[string]Known{
		"23 both together":     {Temperature: 20, Humidity: 61, DewPoint: noTemp, WetBulb: 17},
		"24 wet bulb over dry": {Temperature: 19, Humidity: unit.NaN[unit.Humidity](), DewPoint: noTemp, WetBulb: 19.5},
		"24 humidity of 104":   {Temperature: 19, Humidity: 104, DewPoint: noTemp, WetBulb: noTemp},
	} {
		if air, err := Solve(k); err == nil {
			t.Errorf("%s: %+v", name, air)
		}
	}
	whirled := given(t, 20, "wet bulb", 17)
	near(t, "23 whirling, %", whirled.Humidity, 74.1, 0.4)
}

// TestCase9Water: the unvented heater of case 9 has added about 4.6 g of water to
// each cubic metre, by the ideal gas of 461.5 J/(kg K) (computed there, to two
// digits).
func TestCase9Water(t *testing.T) {
	grams := func(a Air) float64 {
		return 1000 * float64(a.Humidity) / 100 * saturation(a.Temperature) / (461.5 * (float64(a.Temperature) + 273.15))
	}
	near(t, "g/m³", grams(given(t, 18, "RH", 85))-grams(given(t, 12, "RH", 80)), 4.6, 0.1)
	// Where a card bounds it, the surface 5 K under the air is a no of its own.
	m := still(18, given(t, 18, "RH", 85).DewPoint, 13, 13)
	v := Judge(m, Strictest(nil, Owned{"card", Limits{BelowAir: lim[unit.TempDiff](t, "4 K")}}))
	if v.Answer != No || math.Abs(v.Margins[0].By+1) > 1e-9 {
		t.Errorf("%+v", v)
	}
}
