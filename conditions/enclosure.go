package conditions

import (
	"math"

	"fairwindow/conditions/unit"
)

// Mode is what a booth's plant is doing.
type Mode string

// Modes. Spraying takes all its air from outdoors; the others a little of it.
const (
	Idle     Mode = "idle"
	Spraying Mode = "spraying"
	Curing   Mode = "curing"
)

// Enclosure is what stands between a hull and the weather. Without a roof and
// without air of its own it is a slip.
type Enclosure struct {
	Roofed       bool
	OwnAir       bool // heated and blown: a booth
	Heater       unit.Power
	SprayFlow    unit.Flow // all of it from outdoors
	CureFlow     unit.Flow // fresh air while curing, and while idle
	SetPoint     unit.Temperature
	Dehumidifier unit.WaterRate // in a booth while curing; where no fan blows, always
	DownTo       unit.Humidity  // at which the dehumidifier stops; 0: it does not
	Pressure     unit.Pressure  // 0 or NaN: standard
	// Leaks is the outdoor air that comes in through the fabric while idle and
	// curing, m³/h. There is none while spraying: then the fans hold the booth
	// balanced or a little over the pressure outdoors.
	Leaks float64
	// Loses is the heat lost through walls and roof, W for each K over outdoors.
	Loses float64
}

// What is felt of the wind under a roof with open sides. Common practice, no source.
const windUnderRoof = 0.3

// A thermostat holds the air to about this. Common practice, no source.
const heldError unit.TempDiff = 0.5

// Moment is the air's side of a moment inside; the surface is not known yet.
// There is no rain under a roof and no wind in a booth; an unknown wind under a
// roof is none, for wind limits are written for the open. Where the heater
// holds the air, the air's error is the thermostat's and no longer goes with
// the dew point's; elsewhere they go together as Weather.Together says.
func (e Enclosure) Moment(w Weather, m Mode) Moment {
	air, dew, short := e.Air(w, m)
	nan := unit.NaN[unit.Temperature]()
	in := Moment{
		At: w.At, Air: air, DewPoint: dew, Coldest: nan, Warmest: nan,
		Wind: w.Wind, Gust: w.Gust, Rain: w.Rain, RainChance: w.RainChance,
		Sure: w.Sure, AirError: w.AirError, MarginError: difference(w.AirError, w.DewError, w.correlation()),
	}
	if e.Roofed || e.OwnAir {
		in.Rain, in.RainChance = 0, 0
		in.Wind, in.Gust = sheltered(w.Wind), sheltered(w.Gust)
	}
	if e.OwnAir {
		in.Wind, in.Gust = 0, 0
		if air > w.Air && !short {
			in.AirError = min(w.AirError, heldError)
			in.MarginError = unit.TempDiff(math.Hypot(float64(in.AirError), float64(w.DewError)))
		}
	}
	switch {
	case w.Sure == Unknown || w.Sure == "":
		in.Sure, in.Why = Unknown, "no weather outdoors"
	case !unit.Known(air):
		in.Sure, in.Why = Unknown, "no air temperature outdoors"
	case !unit.Known(dew):
		in.Sure, in.Why = Unknown, "no dew point outdoors"
	}
	return in
}

func sheltered(wind unit.Speed) unit.Speed {
	if !unit.Known(wind) {
		return 0
	}
	return windUnderRoof * wind
}
