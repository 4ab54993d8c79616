package sky

import (
	"math"

	"fairwindow/conditions/unit"
)

// Light is the sun's light at one time and place, W/m².
type Light struct {
	Sun     Sun
	Level   float64 // all of it, on the level
	Beam    float64 // straight from the sun, on a plane facing it
	Diffuse float64 // from all over the sky, on the level
}

const (
	lowestBeam = 3     // degrees: below it the level is all diffuse, as pvlib's erbs has it (zenith 87°)
	leastSine  = 0.065 // least cosine of the zenith in the clearness index, as pvlib's erbs has it
)

// Light parts what falls on the level, W/m², into beam and diffuse: D. G. Erbs,
// S. A. Klein and J. A. Duffie, Estimation of the diffuse radiation fraction for
// hourly, daily and monthly-average global radiation, Solar Energy 28 (1982)
// 293–302, of the sun without refraction. Beam·sin(elevation) + Diffuse is the
// level.
//
// A level beyond what reaches the top of the air (a cloud's bright edge, an
// hour's mean taken at sunrise) has the beam of the greatest clearness, 0.835
// of Extraterrestrial, and the rest is diffuse. Negative levels, which
// pyranometers report at night, count as none. No part is known where the level
// is not (NaN or infinite), nor, of any light, where the sun's elevation is not.
func (s Sun) Light(level float64) Light {
	if !unit.Known(level) {
		return Light{Sun: s, Level: math.NaN(), Beam: math.NaN(), Diffuse: math.NaN()}
	}
	level = max(0, level)
	if level == 0 || s.Elevation < lowestBeam {
		return Light{Sun: s, Level: level, Diffuse: level}
	}
	sine := math.Sin(s.Elevation * degree)
	least := max(sine, leastSine)
	within := min(level, s.Extraterrestrial()*least)
	beam := (1 - erbs(within/(s.Extraterrestrial()*least))) * within / least
	return Light{Sun: s, Level: level, Beam: beam, Diffuse: level - beam*sine}
}

// erbs is the diffuse fraction by the clearness index, 0 to 1: what falls on the
// level over what would without air.
func erbs(kt float64) float64 {
	switch {
	case kt <= 0.22:
		return 1 - 0.09*kt
	case kt <= 0.8:
		return 0.9511 + kt*(-0.1604+kt*(4.388+kt*(-16.638+kt*12.336)))
	}
	return 0.165
}
