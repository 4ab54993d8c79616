package sensors

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fairwindow/conditions"
)

func TestConvert(t *testing.T) {
	tests := []struct {
		v    conditions.Variable
		x    float64
		unit string
		want float64 // NaN: an error
	}{
		{air, 18, "", 18}, {air, 64.4, "F", 18}, {air, 291.15, "K", 18}, {air, 18, "Cel", 18}, {dew, 18, "wmoUnit:degC", 18},
		{surface, 18, "%", math.NaN()}, {rh, 61, "%RH", 61}, {rh, 0.61, "1", 61}, {rh, 61, "wmoUnit:percent", 61},
		{conditions.WindSpeed, 36, "km/h", 10}, {conditions.WindSpeed, 36, "wmoUnit:km_h-1", 10}, {conditions.GustSpeed, 10, "kn", 10 * 1852.0 / 3600},
		{conditions.WindSpeed, 15, "mp/h", 15 * 0.44704}, // the 15 mph (6.7 m/s) of TRADE.md 1.1
		{conditions.Rain, 2, "mm", 2}, {conditions.Rain, 0.1, "inch", 2.54}, {conditions.RainChance, 60, "%", 0.6}, {conditions.Cloud, 0.5, "", 0.5},
		{conditions.AirPressure, 1013.25, "hPa", 101325}, {conditions.AirPressure, 1e5, "Pa", 1e5},
		{conditions.Shortwave, 500, "W/m²", 500}, {conditions.Shortwave, 1, "lx", math.NaN()}, {conditions.Fan, 1, "on", math.NaN()},
		{"hull", 1, "C", math.NaN()}, {air, math.Inf(1), "C", math.NaN()},
	}
	for _, tt := range tests {
		got, err := Convert(tt.v, tt.x, tt.unit)
		if (err != nil) != math.IsNaN(tt.want) || err == nil && math.Abs(got-tt.want) > 1e-9*math.Max(1, math.Abs(tt.want)) {
			t.Errorf("%s %v %q: %v %v, want %v", tt.v, tt.x, tt.unit, got, err, tt.want)
		}
	}
}

// TestOwnUnits: every variable's own unit word leaves the number as it is.
func TestOwnUnits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SampledFrom(order).Draw(t, "of")
		x := rapid.Float64Range(-1e9, 1e9).Draw(t, "x")
		if y, err := Convert(v, x, own[v]); err != nil || y != x || !isVariable(v) {
			t.Fatalf("%s: %v %v", v, y, err)
		}
	})
}

func FuzzParseValue(f *testing.F) {
	f.Add("air", "18 C")
	f.Add("wind", "1e3 kn")
	f.Add("rain", "..5 in")
	f.Fuzz(func(t *testing.T, v, text string) {
		x, err := ParseValue(conditions.Variable(v), text)
		if err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
			t.Fatalf("%v without an error", x)
		}
	})
}
