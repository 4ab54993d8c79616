package sky

import (
	"math"

	"fairwindow/conditions/unit"
)

const stefanBoltzmann = 5.670374419e-8 // W/(m² K⁴), CODATA 2018

// Black is what a black surface sends out, W/m²: σT⁴.
func Black(t unit.Temperature) float64 {
	k := float64(t) + 273.15
	return stefanBoltzmann * (k * k) * (k * k)
}

// Emits is the sky's emissivity, 0 to 1: what it sends down to the level over
// what a black body at the air's temperature would. G. Clark and C. Allen, The
// estimation of atmospheric radiation for clear and cloudy skies, Proc. Second
// National Passive Solar Conference (1978) 675–678, with the cloud term of G. N.
// Walton, Thermal Analysis Research Program Reference Manual, NBSIR 83-2655 (1983);
// both as in the EnergyPlus engineering reference, where 0 °C is 273 K. Covers
// outside 0 to 1 count as the nearer end.
//
// Berdahl and Martin's formula of 1984 gives up to 28 W/m² less under a clear sky
// between −5 and 20 °C of dew point, and no more than 14 either way under cloud.
func Emits(dew unit.Temperature, cloud unit.Share) float64 {
	n := 10 * float64(max(0, min(1, cloud)))
	clear := 0.787 + 0.764*math.Log((float64(dew)+273)/273)
	return min(1, clear*(1+n*(0.0224+n*(-0.0035+n*0.00028))))
}

// LongWave is what a facet tilted from the level by degrees receives from sky,
// air and ground, W/m²; it takes in its own emissivity's part of that. Split as
// in the EnergyPlus engineering reference, outside surface heat balance: of
// the upper half, F = (1 + cos tilt)/2, the part √F is sky and the rest air; the
// lower half is ground, here at the air's temperature.
func LongWave(air, dew unit.Temperature, cloud unit.Share, tilt float64) float64 {
	upper := (1 + math.Cos(tilt*degree)) / 2
	return Black(air) * (1 - upper*math.Sqrt(upper)*(1-Emits(dew, cloud)))
}
