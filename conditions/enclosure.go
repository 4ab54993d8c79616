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
	Dehumidifier unit.WaterRate // while curing
	Pressure     unit.Pressure  // 0 or NaN: standard
}

// Figures of the booth model. It is illustrative until it is fitted to a booth's
// own readings.
const (
	// Fans are rated in standard air: 1.2 kg/m³ at 101 325 Pa; 1.006 kJ/(kg·K) is
	// dry air's heat capacity, ASHRAE Fundamentals 2017, ch. 1.
	standardDensity = 1.2
	heatCapacity    = 1.006
	// An idle booth is kept a little below its set point. Common practice, no source.
	setBack unit.TempDiff = 4
	// A refrigerating dehumidifier stops before its coil ices. Common practice, no source.
	driest unit.Temperature = 2
	// What is felt of the wind under a roof with open sides. Common practice, no source.
	windUnderRoof = 0.3
	// A thermostat holds the air to about this. Common practice, no source.
	heldError unit.TempDiff = 0.5
)

// Air is the air inside, in the weather w and the mode m, once it is steady:
// fresh air is heated towards the set point as far as the heater can, which
// leaves its water as it is, and while curing is dried by the dehumidifier.
// Nothing cools it. Short says that the heater could not hold the set point.
// An enclosure without air of its own has the outdoor air.
func (e Enclosure) Air(w Weather, m Mode) (air, dewPoint unit.Temperature, short bool) {
	air, dewPoint = w.Air, w.DewPoint
	if !e.OwnAir || !unit.Known(w.Air) {
		return air, dewPoint, false
	}
	p := e.Pressure
	if !(p > 0) {
		p = seaLevel
	}
	want, flow := e.SetPoint, float64(e.CureFlow)
	switch m {
	case Spraying:
		flow = float64(e.SprayFlow)
	case Idle:
		want = want.Plus(-setBack)
	}
	mass := max(0, flow) * standardDensity * float64(p/seaLevel) // kg/h of fresh air
	if want > w.Air {
		rise := float64(e.Heater) * 3600 / (mass * heatCapacity)
		if mass == 0 {
			rise = math.Inf(1)
		}
		if e.Heater <= 0 {
			rise = 0
		}
		reach := w.Air + unit.Temperature(rise)
		air, short = min(want, reach), reach < want
	}
	if m == Curing && e.Dehumidifier > 0 && w.DewPoint > driest {
		floor := ratio(saturation(driest), p)
		left := floor
		if mass > 0 {
			left = max(floor, ratio(saturation(w.DewPoint), p)-float64(e.Dehumidifier)/mass)
		}
		dewPoint = saturated(math.Log(vapour(left, p)))
	}
	return air, dewPoint, short
}

// Moment is the air's side of a moment inside; the surface is not known yet.
// There is no rain under a roof and no wind in a booth; an unknown wind under a
// roof is none, for wind limits are written for the open. Where the heater
// holds the air, the air's error is the thermostat's and no longer goes with
// the dew point's.
func (e Enclosure) Moment(w Weather, m Mode) Moment {
	air, dew, short := e.Air(w, m)
	nan := unit.NaN[unit.Temperature]()
	in := Moment{
		At: w.At, Air: air, DewPoint: dew, Coldest: nan, Warmest: nan,
		Wind: w.Wind, Gust: w.Gust, Rain: w.Rain, RainChance: w.RainChance,
		Sure: w.Sure, AirError: w.AirError, MarginError: apart(w.AirError, w.DewError),
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
