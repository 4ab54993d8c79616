package conditions

import (
	"strings"
	"testing"

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
		{"one value", Known{20, noHumid, noTemp, noTemp, none}, []string{"two of", "1 given"}},
		{"no value", Known{noTemp, noHumid, noTemp, noTemp, none}, []string{"0 given"}},
		{"104 %", Known{20, 104, noTemp, noTemp, none}, []string{"humidity 104 %", "up to 100 %"}},
		{"no water", Known{20, 0, noTemp, noTemp, none}, []string{"humidity 0 %", "above 0"}},
		{"below nothing", Known{20, -3, noTemp, noTemp, none}, []string{"humidity -3 %"}},
		{"wet over dry", Known{19, noHumid, noTemp, 19.5, none}, []string{"wet bulb 19.5 C", "dry bulb at 19 C"}},
		{"dew over air", Known{10, noHumid, 12, noTemp, none}, []string{"dew point 12 C", "air at 10 C"}},
		{"dew over wet", Known{noTemp, noHumid, 12, 10, none}, []string{"dew point 12 C", "wet bulb at 10 C"}},
		{"thermometer at power-on gone", Known{-127, 50, noTemp, noTemp, none}, []string{"air temperature -127 C", "-60", "80"}},
		{"injected heat", Known{200, 50, noTemp, noTemp, none}, []string{"air temperature 200 C"}},
		{"hPa for Pa", Known{20, 50, noTemp, noTemp, 1013.25}, []string{"pressure 1013.25 Pa", "50000"}},
		{"too dry a wick", Known{30, noHumid, noTemp, 2, none}, []string{"wet bulb 2 C", "less than no water"}},
		{"contradiction", Known{20, 61, 15, noTemp, none}, []string{"humidity 61 %", "dew point 15 C (72.9 %)", "contradict"}},
		{"too hot to be", Known{noTemp, 1, 60, noTemp, none}, []string{"would need air at"}},
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
	fog, err := Solve(Known{8, 100.4, noTemp, noTemp, 0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "100.4 %", fog.Humidity, 100, 1e-9)
	near(t, "dew point of fog", fog.DewPoint, 8, 1e-9)
	wick, err := Solve(Known{8, noHumid, noTemp, 8.05, 0})
	if err != nil || wick.DewPoint > 8 || wick.DewPoint < 7.999 {
		t.Errorf("wet bulb 0.05 K over: %+v, %v", wick, err)
	}
	both, err := Solve(Known{20, 71, 15, noTemp, 0})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "the wetter of 71 % and 72.9 %", both.Humidity, 72.9, 0.1)
}
