package demo

import "math"

// The coefficients of WMO-No. 8, annex 4.B: saturation over liquid water,
// within 0.04 K of Hyland–Wexler between 0 and 45 °C.
const (
	magnusScale  = 611.2 // Pa
	magnusFactor = 17.62
	magnusShift  = 243.12 // °C
)

// saturation is the vapour pressure over liquid water at a temperature in °C, Pa.
func saturation(t float64) float64 {
	return magnusScale * math.Exp(magnusFactor*t/(magnusShift+t))
}

// dewOf is the dew point of a vapour pressure in Pa, °C.
func dewOf(vapour float64) float64 {
	l := math.Log(math.Max(vapour, 1) / magnusScale)
	return magnusShift * l / (magnusFactor - l)
}

// humidityOf is the relative humidity over water of air with a dew point, %.
func humidityOf(air, dew float64) float64 { return 100 * saturation(dew) / saturation(air) }

// seaLevel is the pressure that the truth lives under, Pa.
const seaLevel = 101325.0

// mixing is the water in air with a dew point, kg per kg of dry air. Heating
// leaves it as it is.
func mixing(dew float64) float64 {
	e := saturation(dew)
	return 0.62198 * e / (seaLevel - e)
}

// dewFrom is the dew point of air that holds so much water, °C.
func dewFrom(water float64) float64 { return dewOf(seaLevel * water / (0.62198 + water)) }
