package conditions

import "strings"

// Variable names one measured or forecast value.
type Variable string

// What sensors measure and forecasts foretell, with the unit of a stored value.
const (
	AirTemperature Variable = "air"         // °C
	RelHumidity    Variable = "humidity"    // %
	DewPointTemp   Variable = "dew_point"   // °C
	WetBulbTemp    Variable = "wet_bulb"    // °C
	Surface        Variable = "surface"     // °C, of the hull; of its coldest spot where SurfaceWarmest is read too
	WindSpeed      Variable = "wind"        // m/s
	GustSpeed      Variable = "gust"        // m/s
	Rain           Variable = "rain"        // mm/h
	RainChance     Variable = "rain_chance" // part of one
	Cloud          Variable = "cloud"       // part of one
	Shortwave      Variable = "shortwave"   // W/m² on the level
	AirPressure    Variable = "pressure"    // Pa
	Fan            Variable = "fan"         // 1 runs, 0 stands

	// SurfaceWarmest is the hull's warmest spot, °C, where it is read besides.
	SurfaceWarmest Variable = "surface_warmest"

	// What else a booth's contacts and registers say.
	BoothMode      Variable = "mode"            // 0 idle, 1 spraying, 2 curing
	FilterPressure Variable = "filter_pressure" // Pa, across the exhaust filters
	Door           Variable = "door"            // 1 open, 0 shut
	Heater         Variable = "heater"          // 1 on, 0 off
)

// words are what devices and people write for a value that is no quantity.
var words = map[Variable]map[string]float64{
	Fan:       {"on": 1, "off": 0, "true": 1, "false": 0, "running": 1, "stopped": 0, "runs": 1, "stands": 0},
	Door:      {"open": 1, "shut": 0, "closed": 0, "true": 1, "false": 0, "on": 1, "off": 0},
	Heater:    {"on": 1, "off": 0, "true": 1, "false": 0},
	BoothMode: {"idle": 0, "off": 0, "spraying": 1, "spray": 1, "curing": 2, "cure": 2},
}

// Word is the value that a word stands for, as a contact or a person says it.
func (v Variable) Word(text string) (x float64, known bool) {
	x, known = words[v][strings.ToLower(strings.TrimSpace(text))]
	return x, known
}

// Quantity reports whether a variable is one that has a unit; the others are the
// states of a switch.
func (v Variable) Quantity() bool { return words[v] == nil }
