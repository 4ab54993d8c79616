package pages

import (
	"cmp"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// units are those the yard's people think in.
type units struct {
	temp, speed, area, volume, film, weight string
}

func unitsOf(yard string) units {
	if yard == "US" {
		return units{temp: "F", speed: "mph", area: "ft²", volume: "qt", film: "mil", weight: "lb"}
	}
	return units{temp: "C", speed: "m/s", area: "m²", volume: "L", film: "µm", weight: "kg"}
}

func (u units) temperature(t unit.Temperature) float64 { return unit.In(t, u.temp) }
func (u units) difference(d unit.TempDiff) float64     { return unit.In(d, u.temp) }
func (u units) wind(s unit.Speed) float64              { return unit.In(s, u.speed) }

// tempSign is how a temperature is printed, diffSign how a difference is: a
// margin of 3 K is no temperature.
func (u units) tempSign() string { return "°" + u.temp }
func (u units) diffSign() string {
	if u.temp == "F" {
		return "°F"
	}
	return "K"
}

// tempText and windText are values with their units, or "not known".
func (u units) tempText(t unit.Temperature) string { return text(u.temperature(t), 1, u.tempSign()) }
func (u units) windText(s unit.Speed) string       { return text(u.wind(s), 1, u.speed) }

// rangeText is from a coldest to a warmest spot, one value where they read the same.
func (u units) rangeText(coldest, warmest unit.Temperature) string {
	cold, warm := number(u.temperature(coldest), 1), number(u.temperature(warmest), 1)
	if !unit.Known(coldest) || !unit.Known(warmest) || cold == warm {
		return u.tempText(coldest)
	}
	return cold + " to " + warm + " " + u.tempSign()
}

// unbroken keeps a temperature in running text on one line with its sign.
func unbroken(words string) string { return strings.ReplaceAll(words, " °", "\u00a0°") }

func text(v float64, decimals int, sign string) string {
	if !unit.Known(v) {
		return "not known"
	}
	return number(v, decimals) + " " + sign
}

// reading words one measured value in people's units.
func (u units) reading(v conditions.Variable, value float64) (name, worded string) {
	switch v {
	case conditions.AirTemperature:
		return "air", u.tempText(unit.Temperature(value))
	case conditions.DewPointTemp:
		return "dew point", u.tempText(unit.Temperature(value))
	case conditions.WetBulbTemp:
		return "wet bulb", u.tempText(unit.Temperature(value))
	case conditions.Surface:
		return "hull surface", u.tempText(unit.Temperature(value))
	case conditions.SurfaceWarmest:
		return "hull surface, warmest", u.tempText(unit.Temperature(value))
	case conditions.RelHumidity:
		return "humidity", text(value, 1, "%")
	case conditions.WindSpeed:
		return "wind", u.windText(unit.Speed(value))
	case conditions.GustSpeed:
		return "gusts", u.windText(unit.Speed(value))
	case conditions.Rain:
		return "rain", text(value, 1, "mm/h")
	case conditions.RainChance:
		return "chance of rain", text(100*value, 0, "%")
	case conditions.Cloud:
		return "cloud", text(100*value, 0, "%")
	case conditions.Shortwave:
		return "sun", text(value, 0, "W/m²")
	case conditions.AirPressure:
		return "pressure", text(value/100, 0, "hPa")
	case conditions.Fan:
		if value > 0 {
			return "fan", "runs"
		}
		return "fan", "stands"
	case conditions.Door:
		return "door", either(value > 0, "open", "shut")
	case conditions.Heater:
		return "heater", either(value > 0, "on", "off")
	case conditions.BoothMode:
		return "mode", cmp.Or(map[float64]string{0: "idle", 1: "spraying", 2: "curing"}[value], "not known")
	case conditions.FilterPressure:
		return "filters", text(value, 0, "Pa")
	}
	return string(v), number(value, 2)
}

func either(is bool, yes, no string) string {
	if is {
		return yes
	}
	return no
}
