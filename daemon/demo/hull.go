package demo

import (
	"math"
	"math/rand/v2"

	"fairwindow/config"
)

// spot is one place on a hull: a skin that meets the air and the mass behind it.
type spot struct {
	tilt, facing float64 // degrees; facing counts only when tilted
	skin, mass   float64 // °C
	skinHeat     float64 // J/(m² K)
	massHeat     float64
	couples      float64 // W/(m² K) between skin and mass
}

// hull is the true surface of a boat: the deck, the side in the sun, and a
// shaded side with a tank or the keel behind it.
type hull struct {
	spots    []spot
	absorbs  float64 // of sunlight
	radiates float64
}

const stefan = 5.670374e-8 // W/(m² K⁴)

// skins are heat capacities of hull skins, J/(m² K): density × specific heat ×
// thickness from the open literature (EN ISO 10456 and laminate data).
var skins = map[string]float64{
	"laminate": 1600 * 1200 * 0.012, "cored": 1600 * 1200 * 0.005, "aluminium": 2800 * 880 * 0.006,
	"steel": 7800 * 460 * 0.006, "wood": 500 * 1600 * 0.030,
}

// absorptances of paint in sunlight by colour, open literature.
var absorptances = map[string]float64{"white": 0.22, "light": 0.42, "medium": 0.60, "dark": 0.88}

func newHull(seed uint64, boat config.Boat, temp float64) *hull {
	r := luck(seed, "hull", boat.Name)
	skin, ok := skins[boat.Build]
	if !ok {
		skin = skins["laminate"]
	}
	absorbs, ok := absorptances[boat.Colour]
	if !ok {
		absorbs = absorptances["light"]
	}
	h := &hull{absorbs: clamp(absorbs+0.03*r.NormFloat64(), 0.1, 0.97), radiates: between(r, 0.87, 0.93)}
	h.spots = []spot{
		part(r, temp, skin, 0, 0, 30e3, 1.5),    // deck
		part(r, temp, skin, 90, 180, 40e3, 2.5), // side in the sun
		part(r, temp, skin, 90, 0, 160e3, 5),    // shaded side, backed by a tank
	}
	return h
}

func part(r *rand.Rand, temp, skin, tilt, facing, mass, couples float64) spot {
	return spot{
		tilt: tilt, facing: facing, skin: temp, mass: temp,
		skinHeat: skin * scatter(r, 0.15), massHeat: mass * scatter(r, 0.3), couples: couples * scatter(r, 0.2),
	}
}

// around is what a spot is exposed to.
type around struct {
	air      float64 // °C
	convects float64 // W/(m² K)
	sun      float64 // W/m² absorbed
	radiant  float64 // long wave coming in from all sides, W/m²
}

// step moves skin and mass on by dt seconds, with radiation linear about the
// skin's present temperature, solved backwards so that any step is stable.
func (s *spot) step(a around, radiates, dt float64) {
	kelvin := s.skin + 273.15
	lose := 4 * radiates * stefan * kelvin * kelvin * kelvin
	net := radiates * (a.radiant - stefan*math.Pow(kelvin, 4))
	// (Cs/dt + hc + hr + k) Ts' − k Tm' = Cs/dt Ts + hc Ta + sun + net + hr Ts
	// −k Ts' + (Cm/dt + k + 1) Tm' = Cm/dt Tm + 1·Ta: the cabin's air reaches the mass at 1 W/(m² K).
	cs, cm := s.skinHeat/dt, s.massHeat/dt
	a11, b1 := cs+a.convects+lose+s.couples, cs*s.skin+a.convects*a.air+a.sun+net+lose*s.skin
	a22, b2 := cm+s.couples+1, cm*s.mass+a.air
	det := a11*a22 - s.couples*s.couples
	s.skin, s.mass = (b1*a22+s.couples*b2)/det, (a11*b2+s.couples*b1)/det
}

// step moves a whole hull on by dt seconds in the air of a place.
func (h *hull) step(site Site, in *air, mode running, out Hour, dt float64) {
	for i := range h.spots {
		s := &h.spots[i]
		a := around{air: in.temp, convects: 3, radiant: stefan * math.Pow(in.temp+273.15, 4)}
		switch {
		case in.open():
			a.convects = mcAdams(out.Wind)
			a.sun = h.absorbs * onSlope(site, out.At, out.Shortwave, s.tilt, s.facing)
			a.radiant = longWave(out, s.tilt)
		case mode == spraying:
			a.convects = mcAdams(0.5) // 100 ft/min through the booth
		case in.place.Kind == config.Tent:
			a.sun = 0.08 * h.absorbs * out.Shortwave
		}
		s.step(a, h.radiates, dt)
	}
}

// mcAdams is convection at a wind in m/s, W/(m² K): McAdams 1954, 5.7 + 3.8 v,
// good below 5 m/s.
func mcAdams(wind float64) float64 { return 5.7 + 3.8*math.Min(wind, 8) }

// longWave is what a facet outdoors receives from sky, air and ground, W/m²:
// the sky by Berdahl and Martin 1984 with their low cloud at 1 km, the rest at
// the air's temperature; shares as EnergyPlus splits them, F √F to the sky.
func longWave(out Hour, tilt float64) float64 {
	black := stefan * math.Pow(out.Air+273.15, 4)
	view := (1 + math.Cos(tilt*radian)) / 2
	share := view * math.Sqrt(view)
	return black * (share*skyEmits(out.DewPoint, out.Cloud) + 1 - share)
}

func skyEmits(dew, cloud float64) float64 {
	clear := 0.711 + 0.56*dew/100 + 0.73*dew/100*dew/100
	return clear + (1-clear)*clamp(cloud, 0, 1)*0.9*math.Exp(-1/8.2)
}

func (h *hull) coldest() float64 {
	t := math.Inf(1)
	for _, s := range h.spots {
		t = math.Min(t, s.skin)
	}
	return t
}

func (h *hull) warmest() float64 {
	t := math.Inf(-1)
	for _, s := range h.spots {
		t = math.Max(t, s.skin)
	}
	return t
}
