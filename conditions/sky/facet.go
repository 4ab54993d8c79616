package sky

import "math"

// Facet is one flat piece of a hull.
type Facet struct {
	Tilt   float64 // from the level, degrees: 0 a deck, 90 a topside, more an overhang
	Facing float64 // azimuth of its outward normal, degrees
}

// Normal is a unit vector out of a facet. It is what a facet is for the light,
// worked out once for many times.
type Normal struct{ East, North, Up float64 }

// Normal is the facet's outward normal.
func (f Facet) Normal() Normal { return towards(90-f.Tilt, f.Facing) }

// towards is the unit vector that points to an elevation and azimuth, degrees.
func towards(elevation, azimuth float64) Normal {
	up, out := math.Sincos(elevation * degree)
	east, north := math.Sincos(azimuth * degree)
	return Normal{East: out * east, North: out * north, Up: up}
}

// On is all the light on a facet, W/m², over ground that sends back albedo (0
// to 1) of what falls on it. See Onto.
func (l Light) On(f Facet, albedo float64) float64 { return l.Onto(f.Normal(), albedo) }

// leastRise is the least sine of the sun's elevation that diffuse light is
// divided by, 1°, as pvlib's haydavies has it.
const leastRise = 0.01745

// Onto is On for a facet whose normal is known: the beam; the sky's diffuse
// light after J. E. Hay and J. A. Davies, Calculation of the solar radiation
// incident on an inclined surface, Proc. First Canadian Solar Radiation Data
// Workshop (1980) 59–72, which lets the part Beam/Extraterrestrial of it come from
// where the sun stands and the rest evenly; and the level's light from the
// ground, evenly.
//
// From where the sun stands comes never more than reaches the top of the air;
// what would is spread evenly (our judgement, no source). It binds only on doubtful
// levels at a low sun, where Hay and Davies divide by nearly nothing.
func (l Light) Onto(n Normal, albedo float64) float64 {
	if l.Level == 0 && l.Beam == 0 && l.Diffuse == 0 {
		return 0 // half of all hours are night
	}
	even := l.Diffuse
	light := albedo * l.Level * (1 - n.Up) / 2
	if l.Beam != 0 {
		sun := towards(l.Sun.Elevation, l.Sun.Azimuth)
		top, rise := l.Sun.Extraterrestrial(), max(leastRise, sun.Up)
		around := max(0, min(l.Diffuse*l.Beam/top/rise, top-l.Beam))
		even -= around * rise
		light += (l.Beam + around) * max(0, n.East*sun.East+n.North*sun.North+n.Up*sun.Up)
	}
	return light + even*(1+n.Up)/2
}
