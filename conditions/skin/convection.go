package skin

import (
	"math"

	"fairwindow/conditions/unit"
)

// Convects is the convection coefficient outdoors, W/(m² K), of a smooth facet
// that is by so much warmer than the air (below 0: colder) and tilted by
// degrees: 0 faces up, 90 stands, 180 faces down. The wind is the site's, as
// forecast or measured in the open. NaN in, NaN out.
//
// It is the DOE-2 model for a smooth surface, as in the EnergyPlus engineering
// reference: natural convection by tilt (Still) and the windward forced term
// measured at the Mobile Window Thermal Test facility (Yazdanian and Klems 1994),
// 3.26 v^0.89, added as squares. Published families differ by a factor of two:
// for 5 K and 0, 1, 2, 5 m/s upright this gives 2.2, 4.0, 6.4, 13.8; MoWiTT itself
// 1.4, 3.6, 6.2, 13.7, in the lee 1.4, 3.8, 5.6, 9.7; McAdams 5.7, 9.5, 13.3, 24.7
// and Nusselt–Jürges 5.8, 9.7, 13.7, 25.5. So a skin's difference from the air is
// known to about that factor.
func Convects(wind unit.Speed, warmer unit.TempDiff, tilt float64) float64 {
	return Blow(wind).Convects(warmer, tilt)
}

// Wind is one wind over many facets: what it does to all of them alike is worked
// out once.
type Wind struct{ forced float64 } // W/(m² K)

// Blow is a wind ready for facets.
func Blow(wind unit.Speed) Wind {
	return Wind{3.26 * math.Exp(0.89*math.Log(max(0, float64(wind))))} // v^0.89, faster than by Pow
}

// Convects is the function Convects for a facet in the wind.
func (w Wind) Convects(warmer unit.TempDiff, tilt float64) float64 {
	still := Still(warmer, tilt)
	return math.Sqrt(still*still + w.forced*w.forced)
}

// Still is the convection coefficient in still air, W/(m² K), by the same signs
// as Convects: ASHRAE's natural convection by tilt as used in TARP (Walton
// 1983), EnergyPlus engineering reference. A warm facet that faces up, or a cold
// one that faces down, stirs the air; the other way round a calm layer lies on
// it. Long wave to walls is not in it. Booth fans give more: at 0.5 m/s use
// Convects.
func Still(warmer unit.TempDiff, tilt float64) float64 {
	up := math.Cos(tilt * math.Pi / 180)
	grows := math.Cbrt(math.Abs(float64(warmer)))
	switch {
	case math.Abs(up) < 1e-9:
		return 1.31 * grows
	case (warmer > 0) == (up > 0):
		return 9.482 / (7.238 - math.Abs(up)) * grows
	default:
		return 1.810 / (1.382 + math.Abs(up)) * grows
	}
}
