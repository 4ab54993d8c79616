package skin

import "math"

const (
	// film is the water that a painted surface keeps when more runs off, kg/m²: a
	// film of 0.15 mm. Our judgement, no source: drops and film on a gloss, level or
	// upright. Its own heat, that of a third of a millimetre of laminate, is left out.
	film = 0.15
	// damp is the least water that makes a surface wet: a hundredth of a
	// millimetre is a mist that a finger wipes. Our judgement, no source.
	damp = 0.01

	// latent is the heat of vaporisation of water at 13 °C, J/kg: 2.501e6 − 2361 t
	// (from memory), within 2 % at 0 to 33 °C. Frost is reckoned as water: its heat
	// of fusion, an eighth more, is left out.
	latent = 2.47e6
	// waterHeat is the specific heat capacity of water, J/(kg K).
	waterHeat = 4186

	// lewis is the vapour that moves for each W/(m² K) of convection and Pa between
	// the air's vapour and the surface's, kg K/(J Pa): the Chilton–Colburn analogy,
	//
	//	h_m / h_c = 0.622 / (p c_p Le^(2/3))
	//
	// ASHRAE Fundamentals 2017, ch. 6 (mass transfer). p = 101 325 Pa (at 500 m it
	// would be 6 % more), c_p = 1006 J/(kg K); Le, the air's thermal diffusivity over
	// that of vapour in it, 22.5e-6 / 26e-6 m²/s (from memory, at 25 °C).
	lewis = 0.621945 / (101325 * 1006 * 0.908)
)

// Wet says that the surface carries water enough to be felt, 0.01 mm. An unknown
// amount counts as wet: unknown is shut.
func (s State) Wet() bool { return !(s.Water < damp) }

// saturation is the vapour pressure over liquid water at t in °C, Pa, its slope,
// Pa/K, and its curve, Pa/K²: WMO-No. 8, annex 4.B, which lies within 0.04 K of
// the better ones from 0 to 45 °C. Only differences between the air's dew point
// and the surface count here. Over water below 0 °C too, as dew points are given.
func saturation(t float64) (pressure, slope, curve float64) {
	below := 1 / (243.12 + t)
	pressure = 611.2 * math.Exp(17.62*t*below)
	grows := 17.62 * 243.12 * below * below
	return pressure, pressure * grows, pressure * grows * (grows - 2*below)
}

// rainTemperature is how warm rain is, °C: drops fall at about the wet bulb
// (Kinzer and Gunn 1951, from memory), a third of the way from air to dew point.
func rainTemperature(air, dew float64) float64 { return air - (air-dew)/3 }
