package service

import (
	"testing"

	"fairwindow/conditions"
)

// A margin over a point on the scale is a span of degrees in whatever unit the point was
// written: half a degree past 10 °C is no more room for being past 283.15 K.
func TestSpareInAnyUnit(t *testing.T) {
	for _, written := range []string{"10 C", "50 F", "283.15 K"} {
		for _, of := range []conditions.Quantity{conditions.OfAir, conditions.OfSurface} {
			for by, want := range map[float64]bool{0.3: false, 3: true} {
				v := conditions.Verdict{Answer: conditions.Yes, Margins: []conditions.Margin{{
					Bound: conditions.Bound{Of: of, Least: true, At: 10, Written: written}, By: by,
				}}}
				if is := spare(v); is != want {
					t.Errorf("%s, %g K over %s: spare is %t", of, by, written, is)
				}
			}
		}
	}
}
