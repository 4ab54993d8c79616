package conditions

import (
	"testing"

	"fairwindow/conditions/unit"
)

// TestWarmest: the warmer of air and hull, of the warmest moment; what nobody knows counts for nothing.
func TestWarmest(t *testing.T) {
	unknown := unit.NaN[unit.Temperature]()
	for _, c := range []struct {
		stood []Moment
		want  unit.Temperature
	}{
		{[]Moment{{Air: 18, Coldest: 16}, {Air: 24, Coldest: 17}, {Air: 19, Coldest: 21}}, 24},
		{[]Moment{{Air: 18, Coldest: 26}}, 26},
		{[]Moment{{Air: unknown, Coldest: -3}}, -3},
		{[]Moment{{Air: -5, Coldest: unknown}, {Air: unknown, Coldest: unknown}}, -5},
	} {
		if got := Warmest(c.stood...); got != c.want {
			t.Errorf("%+v: %v, want %v", c.stood, got, c.want)
		}
	}
	if unit.Known(Warmest()) || unit.Known(Warmest(Moment{Air: unknown, Coldest: unknown})) {
		t.Error("of nothing measured there is a warmest")
	}
}
