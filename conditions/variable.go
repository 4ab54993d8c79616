package conditions

// Variable names one measured or forecast value.
type Variable string

// What sensors measure and forecasts foretell, with the unit of a stored value.
const (
	AirTemperature Variable = "air"         // °C
	RelHumidity    Variable = "humidity"    // %
	DewPointTemp   Variable = "dew_point"   // °C
	WetBulbTemp    Variable = "wet_bulb"    // °C
	Surface        Variable = "surface"     // °C, of the hull
	WindSpeed      Variable = "wind"        // m/s
	GustSpeed      Variable = "gust"        // m/s
	Rain           Variable = "rain"        // mm/h
	RainChance     Variable = "rain_chance" // part of one
	Cloud          Variable = "cloud"       // part of one
	Shortwave      Variable = "shortwave"   // W/m² on the level
	AirPressure    Variable = "pressure"    // Pa
	Fan            Variable = "fan"         // 1 runs, 0 stands
)
