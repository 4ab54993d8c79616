package conditions

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

// TestSolveRefuses: each error names the value that cannot be and why. Case 24
// of the trade's cases: a wet bulb over the dry bulb, or 104 %, is rejected.
func TestSolveRefuses(t *testing.T) {
	none := unit.NaN[unit.Pressure]()
	for _, c := range []struct {
		name string
		k    Known
		says []string
	}{
		{"one value", Known{20, noHumid, noTemp, noTemp, none, 0}, []string{"two of", "1 given"}},
		{"no value", Known{noTemp, noHumid, noTemp, noTemp, none, 0}, []string{"0 given"}},
		{"104 %", Known{20, 104, noTemp, noTemp, none, 0}, []string{"humidity 104 %", "up to 100 %"}},
		{"no water", Known{20, 0, noTemp, noTemp, none, 0}, []string{"humidity 0 %", "above 0"}},
		{"below nothing", Known{20, -3, noTemp, noTemp, none, 0}, []string{"humidity -3 %"}},
		{"wet over dry", Known{19, noHumid, noTemp, 19.5, none, 0}, []string{"wet bulb 19.5 C", "dry bulb at 19 C"}},
		{"dew over air", Known{10, noHumid, 12, noTemp, none, 0}, []string{"dew point 12 C", "air at 10 C"}},
		{"dew over wet", Known{noTemp, noHumid, 12, 10, none, 0}, []string{"dew point 12 C", "wet bulb at 10 C"}},
		{"thermometer at power-on gone", Known{-127, 50, noTemp, noTemp, none, 0}, []string{"air temperature -127 C", "-60", "80"}},
		{"injected heat", Known{200, 50, noTemp, noTemp, none, 0}, []string{"air temperature 200 C"}},
		{"hPa for Pa", Known{20, 50, noTemp, noTemp, 1013.25, 0}, []string{"pressure 1013.25 Pa", "50000"}},
		{"too dry a wick", Known{30, noHumid, noTemp, 2, none, 0}, []string{"wet bulb 2 C", "less than no water"}},
		{"contradiction", Known{20, 61, 15, noTemp, none, 0}, []string{"humidity 61 %", "dew point 15 C (72.9 %)", "contradict"}},
		{"ratio and its dew point", Known{noTemp, noHumid, 12, noTemp, none, 0.0087}, []string{"dew point 12 C and humidity ratio 0.0087", "its pressure", "is needed too"}},
		{"g/kg for kg/kg", Known{20, noHumid, noTemp, noTemp, none, 8.7}, []string{"humidity ratio 8.7", "kg of water to each kg of dry air"}},
		{"less than no water", Known{20, noHumid, noTemp, noTemp, none, -0.001}, []string{"humidity ratio -0.001"}},
		{"more water than air holds", Known{10, noHumid, noTemp, noTemp, none, 0.0087}, []string{"by the humidity ratio", "over the air at 10 C"}},
		{"ratio over the wet bulb", Known{noTemp, noHumid, noTemp, 10, none, 0.0087}, []string{"by the humidity ratio", "over the wet bulb at 10 C"}},
		{"ratio against humidity", Known{20, 50, noTemp, noTemp, none, 0.0087}, []string{"humidity 50 %", "humidity ratio 0.0087 kg/kg (59.8 %)", "contradict"}},
		{"a third that differs", Known{noTemp, 50, 10, 10.5, none, 0}, []string{"wet bulb 10.5 C", "contradict"}},
		{"too hot to be", Known{noTemp, 1, 60, noTemp, none, 0}, []string{"would need air at"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			air, err := Solve(c.k)
			if err == nil {
				t.Fatalf("accepted: %+v", air)
			}
			for _, part := range c.says {
				if !strings.Contains(err.Error(), part) {
					t.Errorf("%q does not say %q", err, part)
				}
			}
		})
	}
}

// TestSolveAllowsInstruments: readings that instruments give at saturation, and
// two that agree, of which the wetter counts (case 23: use the worse).
func TestSolveAllowsInstruments(t *testing.T) {
	fog, err := Solve(Known{8, 100.4, noTemp, noTemp, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "100.4 %", fog.Humidity, 100, 1e-9)
	near(t, "dew point of fog", fog.DewPoint, 8, 1e-9)
	wick, err := Solve(Known{8, noHumid, noTemp, 8.05, 0, 0})
	if err != nil || wick.DewPoint > 8 || wick.DewPoint < 7.999 {
		t.Errorf("wet bulb 0.05 K over: %+v, %v", wick, err)
	}
	both, err := Solve(Known{20, 71, 15, noTemp, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the wetter of 71 % and 72.9 %", both.Humidity, 72.9, 0.1)
}

// TestSolveBack: every pair of a state's own values that can tell leads back to
// the state. Below 0 °C a wick iced in air that is saturated over ice reads the
// dry bulb and tells no more, so wet bulbs are taken from 0.5 °C up.
func TestSolveBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		none := math.NaN()
		temp := unit.Temperature(rapid.Float64Range(-40, 60).Draw(t, "air"))
		rh := unit.Humidity(rapid.Float64Range(1, 100).Draw(t, "humidity"))
		p := unit.Pressure(rapid.Float64Range(70000, 105000).Draw(t, "pressure"))
		a, err := Solve(Known{temp, rh, noTemp, noTemp, p, none})
		if err != nil {
			t.Fatal(err)
		}
		pairs := map[string]Known{
			"air and humidity":       {temp, rh, noTemp, noTemp, p, none},
			"air and dew point":      {temp, noHumid, a.DewPoint, noTemp, p, none},
			"air and ratio":          {temp, noHumid, noTemp, noTemp, p, a.Ratio},
			"humidity and dew point": {noTemp, rh, a.DewPoint, noTemp, p, none},
			"humidity and ratio":     {noTemp, rh, noTemp, noTemp, p, a.Ratio},
		}
		if a.WetBulb > 0.5 {
			pairs["air and wet bulb"] = Known{temp, noHumid, noTemp, a.WetBulb, p, none}
			pairs["humidity and wet bulb"] = Known{noTemp, rh, noTemp, a.WetBulb, p, none}
			pairs["dew point and wet bulb"] = Known{noTemp, noHumid, a.DewPoint, a.WetBulb, p, none}
			pairs["ratio and wet bulb"] = Known{noTemp, noHumid, noTemp, a.WetBulb, p, a.Ratio}
		}
		for name, k := range pairs {
			b, err := Solve(k)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			// The wet bulb is solved to 1e-7 K, which in the coldest air that it is
			// asked of is less than 1e-3 K of its dry bulb.
			off := math.Max(math.Abs(float64(b.Temperature-a.Temperature)), math.Abs(float64(b.Humidity-a.Humidity)))
			off = math.Max(off, math.Abs(b.Enthalpy-a.Enthalpy)/1000)
			off = math.Max(off, math.Abs(b.Ratio-a.Ratio)*1000)
			if off > 1e-3 || math.Abs(b.Density-a.Density) > 1e-5 {
				t.Fatalf("%s: %+v, want %+v", name, b, a)
			}
		}
	})
}

// TestMoreHumidityLessMargin: at one temperature the wetter air has the higher
// dew point, frost point, wet bulb and ratio, so a surface has less margin; below
// 0 °C the frost point is never under the dew point.
func TestMoreHumidityLessMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp := unit.Temperature(rapid.Float64Range(-40, 60).Draw(t, "air"))
		rh := unit.Humidity(rapid.Float64Range(1, 99).Draw(t, "humidity"))
		more := rh + unit.Humidity(rapid.Float64Range(0.01, 1).Draw(t, "more"))
		dry, err := Solve(Known{temp, rh, noTemp, noTemp, seaLevel, 0})
		if err != nil {
			t.Fatal(err)
		}
		wet, err := Solve(Known{temp, more, noTemp, noTemp, seaLevel, 0})
		if err != nil {
			t.Fatal(err)
		}
		if !(wet.DewPoint > dry.DewPoint && wet.Ratio > dry.Ratio && wet.Enthalpy > dry.Enthalpy && wet.Density < dry.Density) {
			t.Fatalf("%+v after %+v", wet, dry)
		}
		if wet.WetBulb < dry.WetBulb-1e-6 {
			t.Fatalf("wet bulb %v after %v", wet.WetBulb, dry.WetBulb)
		}
		for _, a := range []Air{dry, wet} {
			// The two curves meet at the triple point, 0.01 °C.
			if unit.Known(a.FrostPoint) != (a.DewPoint < 0) && math.Abs(float64(a.DewPoint)) > 0.01 {
				t.Fatalf("dew point %v, frost point %v", a.DewPoint, a.FrostPoint)
			}
			if unit.Known(a.FrostPoint) && (a.FrostPoint < a.DewPoint-1e-4 || a.FrostPoint > 0) {
				t.Fatalf("frost point %v under the dew point %v", a.FrostPoint, a.DewPoint)
			}
		}
	})
}
