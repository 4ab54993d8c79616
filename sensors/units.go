package sensors

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Convert turns a raw number written in a unit into the variable's own unit
// (see conditions.Variable). An empty unit means the number is in it already.
// Beside the yard file's own unit words it knows those of RFC 8428 (Cel, %RH, /),
// of the WMO code tables (wmoUnit:degC, wmoUnit:km_h-1) and °C, celsius,
// percent, W/m². The error names the units that would do.
func Convert(v conditions.Variable, x float64, written string) (float64, error) {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return math.NaN(), fmt.Errorf("%s: %v is not a number", v, x)
	}
	u := plain(written)
	if u == "" || u == own[v] {
		return x, nil
	}
	switch v {
	case conditions.AirTemperature, conditions.DewPointTemp, conditions.WetBulbTemp, conditions.Surface, conditions.SurfaceWarmest:
		return parse[unit.Temperature](x, u)
	case conditions.RelHumidity:
		if u == "1" || u == "/" {
			return x * 100, nil
		}
		return parse[unit.Humidity](x, u)
	case conditions.WindSpeed, conditions.GustSpeed:
		return parse[unit.Speed](x, u)
	case conditions.Rain:
		// An amount over an hour is a rate.
		if u == "mm" || u == "in" {
			u += "/h"
		}
		return parse[unit.RainRate](x, u)
	case conditions.RainChance, conditions.Cloud:
		if u == "/" {
			return x, nil
		}
		return parse[unit.Share](x, u)
	case conditions.AirPressure, conditions.FilterPressure:
		return parse[unit.Pressure](x, u)
	case conditions.Shortwave:
		return math.NaN(), fmt.Errorf("%q is not a unit of shortwave; use W/m2", written)
	case conditions.Fan, conditions.Door, conditions.Heater, conditions.BoothMode:
		return math.NaN(), fmt.Errorf("%q is no unit of %s, which has none; %s", written, v, Wanted(v))
	}
	return math.NaN(), fmt.Errorf("%q is not a variable", v)
}

// ParseValue reads a value as a person or a script writes it: "18 C", "64F",
// or a bare number in the variable's own unit.
func ParseValue(v conditions.Variable, text string) (float64, error) {
	text = strings.TrimSpace(text)
	if x, ok := v.Word(text); ok {
		return x, nil
	}
	i := 0
	for i < len(text) && strings.IndexByte("0123456789.,+-", text[i]) >= 0 {
		i++
	}
	x, err := strconv.ParseFloat(Point(text[:i]), 64)
	if err != nil {
		return math.NaN(), fmt.Errorf("%q is not a value; %s", text, Wanted(v))
	}
	return Convert(v, x, text[i:])
}

// Point is a number with its decimal comma as a point. One with both, or with several
// commas, is left as it is, for nobody knows what they are.
func Point(number string) string {
	if strings.Count(number, ",") == 1 && !strings.Contains(number, ".") {
		return strings.Replace(number, ",", ".", 1)
	}
	return number
}

// Wanted says what would be right for a value.
func Wanted(v conditions.Variable) string {
	switch v {
	case conditions.Fan:
		return "write 1 or on for running, 0 or off for standing"
	case conditions.Door:
		return "write 1 or open, 0 or shut"
	case conditions.Heater:
		return "write 1 or on, 0 or off"
	case conditions.BoothMode:
		return "write 0 or idle, 1 or spraying, 2 or curing"
	}
	if own[v] == "1" {
		return "write a part of one, or a number with %"
	}
	return "write a number, with a unit if it is not " + own[v]
}

// isVariable reports whether a name is a variable's.
func isVariable(v conditions.Variable) bool {
	_, ok := own[v]
	return ok
}

// own is the unit of each variable's stored value; 1 is a part of one.
var own = map[conditions.Variable]string{
	conditions.AirTemperature: "C", conditions.RelHumidity: "%", conditions.DewPointTemp: "C",
	conditions.WetBulbTemp: "C", conditions.Surface: "C", conditions.SurfaceWarmest: "C", conditions.WindSpeed: "m/s",
	conditions.GustSpeed: "m/s", conditions.Rain: "mm/h", conditions.RainChance: "1",
	conditions.Cloud: "1", conditions.Shortwave: "W/m2", conditions.AirPressure: "Pa", conditions.Fan: "1",
	conditions.BoothMode: "1", conditions.FilterPressure: "Pa", conditions.Door: "1", conditions.Heater: "1",
}

// plain turns the unit words of documents and devices into the yard file's.
func plain(u string) string {
	u = strings.TrimSpace(u)
	u = strings.TrimPrefix(strings.TrimPrefix(u, "wmoUnit:"), "unit:")
	switch u {
	case "Cel", "°C", "celsius", "degC", "c":
		return "C"
	case "°F", "fahrenheit", "degF", "f":
		return "F"
	case "%RH", "percent":
		return "%"
	case "km_h-1", "kmh", "kph":
		return "km/h"
	case "m_s-1", "ms":
		return "m/s"
	case "mp/h":
		return "mph"
	case "knots", "kt":
		return "kn"
	case "inch":
		return "in"
	case "W/m²", "W_m-2":
		return "W/m2"
	case "mb":
		return "hPa"
	}
	return u
}

func parse[T ~float64](x float64, u string) (float64, error) {
	w, err := unit.Parse[T](strconv.FormatFloat(x, 'f', -1, 64) + " " + u)
	return float64(w.SI), err
}
