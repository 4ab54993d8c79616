package demo

import (
	"math"
	"time"
)

// Site is where the truth happens, degrees north and east.
type Site struct{ Latitude, Longitude float64 }

const radian = math.Pi / 180

// sun is the true elevation and the azimuth from north over east, degrees,
// without refraction. Meeus, Astronomical Algorithms, chapters 12, 13 and 25
// (the low-accuracy theory, 0.01°).
func sun(site Site, at time.Time) (elevation, azimuth float64) {
	days := float64(at.UnixMilli())/86400000 + 2440587.5 - 2451545
	c := days / 36525
	mean := 280.46646 + c*(36000.76983+c*0.0003032)
	anomaly := radian * (357.52911 + c*(35999.05029-c*0.0001537))
	centre := (1.914602-c*(0.004817+0.000014*c))*math.Sin(anomaly) +
		(0.019993-0.000101*c)*math.Sin(2*anomaly) + 0.000289*math.Sin(3*anomaly)
	node := radian * (125.04 - 1934.136*c)
	longitude := radian * (mean + centre - 0.00569 - 0.00478*math.Sin(node))
	tilt := radian * (23.4392911 - 0.0130042*c + 0.00256*math.Cos(node))
	ascension := math.Atan2(math.Cos(tilt)*math.Sin(longitude), math.Cos(longitude))
	declination := math.Asin(math.Sin(tilt) * math.Sin(longitude))
	sidereal := 280.46061837 + 360.98564736629*days + c*c*0.000387933
	angle := math.Mod(sidereal+site.Longitude, 360)*radian - ascension
	latitude := site.Latitude * radian
	elevation = math.Asin(math.Sin(latitude)*math.Sin(declination)+math.Cos(latitude)*math.Cos(declination)*math.Cos(angle)) / radian
	azimuth = math.Atan2(math.Sin(angle), math.Cos(angle)*math.Sin(latitude)-math.Tan(declination)*math.Cos(latitude))/radian + 180
	return elevation, math.Mod(azimuth+360, 360)
}

// clearSky is the sun on the level under a clear sky, W/m²: Haurwitz 1945,
// 1098 cos z exp(−0.059 / cos z).
func clearSky(elevation float64) float64 {
	up := math.Sin(elevation * radian)
	if up <= 0 {
		return 0
	}
	return 1098 * up * math.Exp(-0.059/up)
}

// clouded is the part of the clear sky's sun that a cover lets through: Kasten
// and Czeplak 1980, 1 − 0.75 n^3.4.
func clouded(cover float64) float64 { return 1 - 0.75*math.Pow(clamp(cover, 0, 1), 3.4) }

// hourOfSun is the mean sun on the level in the hour before at, W/m²: six
// moments of it, enough for 1 % except in the hours of sunrise and sunset.
func hourOfSun(site Site, at time.Time, cover float64) float64 {
	sum := 0.0
	for minute := 5; minute < 60; minute += 10 {
		elevation, _ := sun(site, at.Add(-time.Duration(minute)*time.Minute))
		sum += clearSky(elevation)
	}
	return sum / 6 * clouded(cover)
}

// onSlope is the sun on a facet, W/m²: diffuse part by Orgill and Hollands
// 1977, sky and ground (albedo 0.2) isotropic. tilt is from the level, facing
// from north over east, degrees.
func onSlope(site Site, at time.Time, level, tilt, facing float64) float64 {
	if level <= 0 {
		return 0
	}
	elevation, azimuth := sun(site, at)
	up := math.Max(math.Sin(elevation*radian), 0.05) // below 3° the beam's share means nothing
	clearness := level / (1361 * up)
	diffuse := level * diffuseShare(clearness)
	beam := (level - diffuse) / up
	tilt, turn := tilt*radian, (azimuth-facing)*radian
	incidence := math.Cos(tilt)*math.Sin(elevation*radian) + math.Sin(tilt)*math.Cos(elevation*radian)*math.Cos(turn)
	return beam*math.Max(incidence, 0) + diffuse*(1+math.Cos(tilt))/2 + 0.2*level*(1-math.Cos(tilt))/2
}

func diffuseShare(clearness float64) float64 {
	switch {
	case clearness < 0.35:
		return 1 - 0.249*math.Max(clearness, 0)
	case clearness <= 0.75:
		return 1.557 - 1.84*clearness
	}
	return 0.177
}
