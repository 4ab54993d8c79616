package demo

import (
	"math"
	"math/rand/v2"
	"time"
)

// Invent makes the hourly weather of a temperate coast from start on: air
// masses that persist for a day and a half, a front every few days (warm and
// moist before it, rain at it, cool, dry and windy behind it), clear nights
// that cool until dew takes the vapour, damp mornings and a sea breeze on calm
// sunny days. Every figure in it is invented; dew point is never above air.
func Invent(seed uint64, start time.Time, days int, site Site) []Hour {
	r := luck(seed, "sky")
	start = start.UTC().Truncate(time.Hour)
	count := 24*days + 1
	fronts := frontsOver(luck(seed, "fronts"), count)
	climate := climateOf(site)
	warmth, damp := persist(r, 36), persist(r, 20)
	breeze, cover, puff := persist(r, 10), persist(r, 7), persist(r, 3)
	hours := make([]Hour, 0, count)
	lost := 0.0 // vapour taken by dew since the last evening, K of dew point
	for i := range count {
		at := start.Add(time.Duration(i) * time.Hour)
		f := nearestFront(fronts, float64(i))
		elevation, _ := sun(site, at)
		cloud := clamp(0.40+0.33*cover.next(r.NormFloat64())+f.cloud, 0, 1)
		wind := math.Exp(math.Log(3.6)+0.42*breeze.next(r.NormFloat64())) + f.wind
		mean := climate.mean(at) + 2.2*warmth.next(r.NormFloat64()) + f.air
		clear := 1 - 0.75*cloud
		air := mean + climate.swing/2*clear*daily(site, at)
		// A calm clear night loses what the wind would stir back down.
		if elevation < 0 {
			air -= 2.4 * clear * math.Exp(-wind/3)
		}
		dew := mean - 4.2 - 1.9*damp.next(r.NormFloat64()) + f.dew
		sea := seaBreeze(site, at, clear, wind)
		air, dew, wind = air-1.8*sea, dew+1.6*sea, wind+3.5*sea
		lost, dew = settleDew(lost, air, dew, elevation)
		rain := f.rain * scatter(r, 0.5)
		if rain < 0.1 {
			rain = 0
		} else {
			cloud, dew = math.Max(cloud, 0.9), math.Max(dew, air-1.2)
		}
		hours = append(hours, Hour{
			At: at, Air: air, DewPoint: math.Min(dew, air-0.1), Wind: wind,
			Gust: wind * (1.45 + 0.12*clamp(puff.next(r.NormFloat64()), -2, 2)),
			Rain: rain, Cloud: cloud, Shortwave: hourOfSun(site, at, cloud),
		})
	}
	return hours
}

// settleDew takes vapour out of air that has cooled to its dew point and gives
// it back after sunrise, which is what makes mornings damp.
func settleDew(lost, air, dew, elevation float64) (stillLost, now float64) {
	now = dew - lost
	if over := now - (air - 0.2); over > 0 {
		return lost + over, air - 0.2
	}
	if elevation > 5 {
		lost *= 0.6
	}
	return lost, now
}

// climate is the usual weather of a coast at a latitude.
type climate struct {
	year, half float64 // mean of the year and half its range, °C and K
	swing      float64 // between night and day under a clear sky, K
	warmest    float64 // day of the year
}

// climateOf draws a line through a few western coasts between 30 and 55°, from
// memory: 16 °C over the year at 39°, 12 °C at 50°, warmest in mid-August (south:
// mid-February).
func climateOf(site Site) climate {
	north := math.Abs(site.Latitude)
	c := climate{year: 29.5 - 0.34*north, half: 0.145 * north, swing: 9.5, warmest: 222}
	if site.Latitude < 0 {
		c.warmest = 39
	}
	return c
}

func (c climate) mean(at time.Time) float64 {
	return c.year + c.half*math.Cos(2*math.Pi*(float64(at.YearDay())-c.warmest)/365.25)
}

// solarHour is the hour of the day by the sun's mean time.
func solarHour(site Site, at time.Time) float64 {
	h := float64(at.Hour()) + float64(at.Minute())/60 + site.Longitude/15
	return math.Mod(h+48, 24)
}

// daily is the course of a clear day's air, −1 about sunrise, 1 about 15 h:
// it warms for nine hours and cools for fifteen.
func daily(site Site, at time.Time) float64 {
	h := math.Mod(solarHour(site, at)-6+24, 24)
	if h < 9 {
		return -math.Cos(math.Pi * h / 9)
	}
	return math.Cos(math.Pi * (h - 9) / 15)
}

// seaBreeze is its strength, 0 to 1: it blows from late morning to evening when
// the sun heats the land and no other wind is stronger.
func seaBreeze(site Site, at time.Time, clear, wind float64) float64 {
	h := solarHour(site, at)
	if h < 10.5 || h > 18.5 || wind > 5 {
		return 0
	}
	return clamp((clear-0.4)/0.4, 0, 1) * math.Sin(math.Pi*(h-10.5)/8) * (1 - wind/5)
}

// front is one passage: its hour and its strength.
type front struct{ hour, strength float64 }

// frontal is what a front does to the weather at one distance from it.
type frontal struct{ air, dew, wind, cloud, rain float64 }

func frontsOver(r *rand.Rand, hours int) []front {
	var fronts []front
	for at := between(r, 20, 70); at < float64(hours)+36; at += between(r, 56, 125) {
		fronts = append(fronts, front{hour: at, strength: between(r, 0.55, 1.35)})
	}
	return fronts
}

func nearestFront(fronts []front, hour float64) frontal {
	var sum frontal
	for _, f := range fronts {
		d := hour - f.hour
		s := f.strength
		switch {
		case d < -30 || d > 60:
			continue
		case d < 0: // the warm sector closes in
			near := math.Exp(d / 10)
			sum.air += 2.6 * s * near
			sum.dew += 5.5 * s * near
			sum.wind += 3.2 * s * near
			sum.cloud += 0.55 * near
		default: // clearing, cool and dry
			gone := math.Exp(-d / 22)
			sum.air -= 3.2 * s * gone
			sum.dew -= 3.6 * s * gone * (1 - math.Exp(-d/6))
			sum.wind += 4.0 * s * math.Exp(-d/9)
			sum.cloud += 0.5*math.Exp(-d/4) - 0.25*gone*(1-math.Exp(-d/6))
		}
		if d > -5 && d < 3 {
			sum.rain += 2.2 * s * (1 - math.Abs(d+1)/4)
		}
	}
	return sum
}
