package conditions

import (
	"math"

	"fairwindow/conditions/unit"
)

// molarRatio is the molar mass of water over that of dry air: ASHRAE
// Fundamentals 2017, ch. 1, eq. 20.
const molarRatio = 0.621945

// StandardPressure is the standard atmosphere's pressure at an elevation:
// ASHRAE Fundamentals 2017, ch. 1, eq. 3.
func StandardPressure(elev unit.Length) unit.Pressure {
	return seaLevel * unit.Pressure(math.Pow(1-2.25577e-5*float64(elev), 5.2559))
}

// lnSaturation is the logarithm of the saturation vapour pressure over liquid
// water in Pa, and its derivative by temperature, 1/K. Hyland and Wexler 1983
// as in ASHRAE Fundamentals 2017, ch. 1, eq. 6. It is published for 0 to 200 °C
// and used below 0 °C too: weather services report humidity and dew point over
// water at every temperature, and supercooled water follows it within 0.1 %
// down to −20 °C.
func lnSaturation(t unit.Temperature) (value, slope float64) {
	const (
		c8  = -5.8002206e3
		c9  = 1.3914993
		c10 = -4.8640239e-2
		c11 = 4.1764768e-5
		c12 = -1.4452093e-8
		c13 = 6.5459673
	)
	k := float64(t) + 273.15
	value = c8/k + c9 + k*(c10+k*(c11+k*c12)) + c13*math.Log(k)
	slope = -c8/(k*k) + c10 + k*(2*c11+k*3*c12) + c13/k
	return value, slope
}

// saturation is the vapour pressure over liquid water, Pa.
func saturation(t unit.Temperature) float64 {
	ln, _ := lnSaturation(t)
	return math.Exp(ln)
}

// saturationIce is the vapour pressure over ice, Pa, −100 to 0 °C: Hyland and
// Wexler 1983 as in ASHRAE Fundamentals 2017, ch. 1, eq. 5. An iced wick and the
// frost point need it; humidity and dew point are over water.
func saturationIce(t unit.Temperature) float64 {
	ln, _ := lnSaturationIce(t)
	return math.Exp(ln)
}

// lnSaturationIce is the logarithm of saturationIce and its derivative by
// temperature, 1/K.
func lnSaturationIce(t unit.Temperature) (value, slope float64) {
	const (
		c1 = -5.6745359e3
		c2 = 6.3925247
		c3 = -9.677843e-3
		c4 = 6.2215701e-7
		c5 = 2.0747825e-9
		c6 = -9.484024e-13
		c7 = 4.1635019
	)
	k := float64(t) + 273.15
	value = c1/k + c2 + k*(c3+k*(c4+k*(c5+k*c6))) + c7*math.Log(k)
	slope = -c1/(k*k) + c3 + k*(2*c4+k*(3*c5+k*4*c6)) + c7/k
	return value, slope
}

// saturated is the temperature at which water's vapour pressure has the given
// logarithm: the WMO-No. 8 formula inverted as a first guess, which is within
// 0.05 K above freezing, then three of Newton's steps, which leave less than 1e-9 K.
func saturated(ln float64) unit.Temperature {
	x := ln - math.Log(611.2)
	t := unit.Temperature(243.12 * x / (17.62 - x))
	for range 3 {
		value, slope := lnSaturation(t)
		t -= unit.Temperature((value - ln) / slope)
	}
	return t
}

// frosted is the temperature at which ice's vapour pressure has the given
// logarithm; NaN over 0 °C, where there is no ice. The first guess is WMO-No. 8's
// formula over ice inverted, then Newton's steps as in saturated.
func frosted(ln float64) unit.Temperature {
	if melting, _ := lnSaturationIce(0); ln > melting {
		return unit.NaN[unit.Temperature]()
	}
	x := ln - math.Log(611.2)
	t := unit.Temperature(272.62 * x / (22.46 - x))
	for range 3 {
		value, slope := lnSaturationIce(t)
		t -= unit.Temperature((value - ln) / slope)
	}
	return min(t, 0)
}

// DewPoint is the temperature to which air must cool until it is saturated over
// liquid water. NaN in, NaN out; NaN too for a humidity of 0 or less, which has
// none.
func DewPoint(t unit.Temperature, rh unit.Humidity) unit.Temperature {
	if !unit.Known(t) || !(rh > 0) {
		return unit.NaN[unit.Temperature]()
	}
	ln, _ := lnSaturation(t)
	return saturated(ln + math.Log(float64(rh)/100))
}

// RelativeHumidity is the humidity over liquid water of air at t with a dew
// point. NaN in, NaN out. A dew point over the air gives more than 100 %.
func RelativeHumidity(t, dewPoint unit.Temperature) unit.Humidity {
	at, _ := lnSaturation(t)
	dew, _ := lnSaturation(dewPoint)
	return unit.Humidity(100 * math.Exp(dew-at))
}

// ratio is the humidity ratio of air with a vapour pressure in Pa: ASHRAE eq. 20.
func ratio(vapour float64, p unit.Pressure) float64 {
	return molarRatio * vapour / (float64(p) - vapour)
}

// vapour is the vapour pressure in Pa at a humidity ratio: ratio inverted.
func vapour(w float64, p unit.Pressure) float64 {
	return float64(p) * w / (molarRatio + w)
}

// The specific heats of dry air and of water vapour and the vapour's enthalpy at
// 0 °C, J/(kg·K) and J/kg: ASHRAE Fundamentals 2017, ch. 1, eq. 28 and 30.
const (
	dryAirHeat    = 1006
	vapourHeat    = 1860
	vapourAtZero  = 2501e3
	dryAirGas     = 287.042  // J/(kg·K), the same, eq. 1
	vapourVolumes = 1.607858 // molarRatio inverted, as the same prints it in eq. 26
)

// enthalpy is in J for each kg of dry air, over dry air and liquid water at 0 °C:
// ASHRAE eq. 30.
func enthalpy(t unit.Temperature, w float64) float64 {
	return dryAirHeat*float64(t) + w*(vapourAtZero+vapourHeat*float64(t))
}

// density is in kg of moist air to the m³: ASHRAE eq. 11 with 26.
func density(t unit.Temperature, w float64, p unit.Pressure) float64 {
	return (1 + w) * float64(p) / (dryAirGas * (float64(t) + 273.15) * (1 + vapourVolumes*w))
}

// wick holds the terms of the energy balance of a wet or iced wick that do not
// depend on the air: W = (gain − 1.006 (t − t*)) / (latent + 1.86 t − back), in
// kJ and K. ASHRAE Fundamentals 2017, ch. 1, eq. 33 above freezing, 35 below.
type wick struct{ gain, latent, back float64 }

func wetWick(bulb unit.Temperature, p unit.Pressure) wick {
	b := float64(bulb)
	return wick{gain: (2501 - 2.326*b) * ratio(saturation(bulb), p), latent: 2501, back: 4.186 * b}
}

func icedWick(bulb unit.Temperature, p unit.Pressure) wick {
	b := float64(bulb)
	return wick{gain: (2830 - 0.24*b) * ratio(saturationIce(bulb), p), latent: 2830, back: 2.1 * b}
}

func (k wick) ratio(t, bulb unit.Temperature) float64 {
	return (k.gain - 1.006*float64(t-bulb)) / (k.latent + 1.86*float64(t) - k.back)
}

// air is the dry bulb that goes with a wet bulb and a humidity ratio.
func (k wick) air(bulb unit.Temperature, w float64) unit.Temperature {
	return unit.Temperature((k.gain + 1.006*float64(bulb) - w*(k.latent-k.back)) / (1.006 + 1.86*w))
}

func wickAt(bulb unit.Temperature, p unit.Pressure) wick {
	if bulb >= 0 {
		return wetWick(bulb, p)
	}
	return icedWick(bulb, p)
}

// wetBulb solves the wick's balance by bisection to 1e-7 K. Where a wet and an
// iced wick both have a solution, a little around 0 °C, it is the wet one's.
// Air that is saturated over water is more than saturated over ice, so below
// 0 °C an iced wick could read over the dry bulb; it is then the dry bulb.
func wetBulb(t unit.Temperature, w float64, p unit.Pressure) unit.Temperature {
	balance, low, high := icedWick, lowestDew, min(t, 0)
	if t >= 0 && wetWick(0, p).ratio(t, 0) <= w {
		balance, low, high = wetWick, 0, t
	}
	for high-low > 1e-7 {
		mid := (low + high) / 2
		if balance(mid, p).ratio(t, mid) > w {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}
