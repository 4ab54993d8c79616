package sky

import (
	"math"
	"time"
)

// Site is a point on Earth, degrees north and east.
type Site struct{ Latitude, Longitude float64 }

// Sun is where the sun stands, seen from a site.
type Sun struct {
	Elevation      float64 // of the centre over the level, without refraction, degrees
	Azimuth        float64 // from north over east, 0 to 360 degrees
	Distance       float64 // from Earth, astronomical units
	EquationOfTime float64 // sundial less clock, minutes
}

const (
	degree = math.Pi / 180
	day    = 86400     // s
	j2000  = 946728000 // 2000-01-01 12:00 UT in Unix seconds: the algorithm's day 0
)

// SunAt is the sun's place by the Astronomical Almanac's short algorithm, as in
// J. J. Michalsky, The Astronomical Almanac's algorithm for approximate solar
// position (1950–2050), Solar Energy 40 (1988) 227–235. Within 0.012° of NREL's
// SPA from 2020 to 2035; the paper promises 0.01° from 1950 to 2050, and it drifts
// slowly outside. The azimuth is taken from the sun's direction, not from a sine, so it
// holds on both hemispheres. At the zenith the azimuth says nothing.
func SunAt(s Site, t time.Time) Sun {
	sec, part := t.Unix()-j2000, float64(t.Nanosecond())/1e9
	n := (float64(sec) + part) / day
	clock := float64((sec+day/2)%day) + part // UT, s since a midnight

	mean := turned(280.460 + 0.9856474*n)
	sinG, cosG := math.Sincos(turned(357.528+0.9856003*n) * degree)
	sin2G, cos2G := 2*sinG*cosG, 2*cosG*cosG-1
	sinL, cosL := math.Sincos((mean + 1.915*sinG + 0.020*sin2G) * degree)
	sinE, cosE := math.Sincos((23.439 - 0.0000004*n) * degree)

	// The sun's direction on the equator: towards the equinox, a quarter turn
	// east of it, and towards the pole; then turned to the site's meridian.
	x, y, z := cosL, cosE*sinL, sinE*sinL
	sidereal := turned(15*(6.697375+0.0657098242*n) + clock*360/day + s.Longitude)
	sinT, cosT := math.Sincos(sidereal * degree)
	sinP, cosP := math.Sincos(s.Latitude * degree)
	out := cosT*x + sinT*y
	east, north, up := cosT*y-sinT*x, z*cosP-out*sinP, z*sinP+out*cosP

	azimuth := math.Atan2(east, north) / degree
	if azimuth < 0 {
		azimuth += 360
	}
	return Sun{
		Elevation:      math.Atan2(up, math.Sqrt(east*east+north*north)) / degree,
		Azimuth:        azimuth,
		Distance:       1.00014 - 0.01671*cosG - 0.00014*cos2G,
		EquationOfTime: 4 * turned(mean-math.Atan2(y, x)/degree),
	}
}

// turned is the same angle between −180 and 180 degrees.
func turned(angle float64) float64 { return angle - 360*math.Floor(angle/360+0.5) }

// Apparent is the sun's elevation as seen through the standard atmosphere at sea
// level (1013.25 hPa, 15 °C), degrees. The Astronomical Almanac's refraction,
// the form for high and the form for low sun; below −0.56° a constant 0.56°, as
// Michalsky 1988 has it. Within 0.01° of SPA's over 5°; at the horizon 0.13° more.
func (s Sun) Apparent() float64 {
	const air = 1013.25 / 288.15 // hPa/K
	e := s.Elevation
	switch {
	case e > 15:
		return e + air*0.00452/math.Tan(e*degree)
	case e > -0.56:
		return e + air*(0.1594+e*(0.0196+e*0.00002))/(1+e*(0.505+e*0.0845))
	}
	return e + 0.56
}

// solarConstant is the sun's irradiance at one astronomical unit, W/m²: Kopp and
// Lean 2011, A new, lower value of total solar irradiance, which measured
// 1360.8 ± 0.5. Older models were fitted with 1366 or 1367, 0.4 % more.
const solarConstant = 1361

// Extraterrestrial is what arrives above the air on a plane facing the sun, W/m².
func (s Sun) Extraterrestrial() float64 { return solarConstant / (s.Distance * s.Distance) }
