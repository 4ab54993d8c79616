package conditions

import (
	"math"
	"time"

	"fairwindow/conditions/unit"
)

// Figures of the booth model. It is illustrative until its leakage and loss are
// fitted to a booth's own readings (Fit).
const (
	// Fans are rated in standard air: 1.2 kg/m³ at 101 325 Pa; 1.006 kJ/(kg·K) is
	// dry air's heat capacity, ASHRAE Fundamentals 2017, ch. 1.
	standardDensity = 1.2
	heatCapacity    = dryAirHeat / 1000.0
	// SetBack is how far below its set point an idle booth is kept. Common practice, no source.
	SetBack unit.TempDiff = 4
	// A refrigerating dehumidifier stops before its coil ices. Common practice, no source.
	driest unit.Temperature = 2
)

// Air is the air inside, in the weather w and the mode m, once it is steady: the
// heater's power leaves with the outdoor air that comes in, fresh and leaked,
// and through the fabric. The air is heated towards the set point as far as the
// heater can, which leaves its water as it is, and while curing is dried by the
// dehumidifier, whose kilograms are those by which the incoming air is wetter.
// Nothing cools it. Short says that the heater could not hold the set point.
// An enclosure without air of its own has the outdoor air, dried where it has a
// dehumidifier, whose own warmth is left out: the air is a little drier than said.
func (e Enclosure) Air(w Weather, m Mode) (air, dewPoint unit.Temperature, short bool) {
	warmest, driest := e.Reach(w, m)
	air = w.Air
	if want := e.wants(m); e.OwnAir && want > w.Air {
		air, short = min(want, warmest), warmest < want
	}
	return air, e.stops(driest, w.DewPoint, air), short
}

// Reach is the warmest air and the lowest dew point that the plant can hold in
// the weather w and the mode m, whatever its set point: the heater and, while
// curing, the dehumidifier flat out. It is the outdoor air's where there is no
// plant, unknown where that is, and +Inf where nothing takes the heat away.
func (e Enclosure) Reach(w Weather, m Mode) (warmest, driest unit.Temperature) {
	if !unit.Known(w.Air) {
		return w.Air, w.DewPoint
	}
	if !e.OwnAir {
		return w.Air, e.dried(w.DewPoint, m)
	}
	return w.Air.Plus(e.rise(m, e.Heater)), e.dried(w.DewPoint, m)
}

// Shortfall is what keeps a booth from its set point at one outdoor air.
type Shortfall struct {
	Want    unit.Temperature `json:"want"`    // the set point in this mode
	Warmest unit.Temperature `json:"warmest"` // what it reaches instead, and what is reckoned with
	Power   unit.Power       `json:"power"`   // that the heater lacks
	Holds   unit.Temperature `json:"holds"`   // the coldest outdoor air at which it holds the set point
}

// Shortfall is known and true where the heater cannot hold the set point.
func (e Enclosure) Shortfall(w Weather, m Mode) (Shortfall, bool) {
	air, _, short := e.Air(w, m)
	if !short {
		return Shortfall{}, false
	}
	want := e.wants(m)
	return Shortfall{
		Want: want, Warmest: air,
		Power: unit.Power(float64(want.Over(air)) * e.carries(m) / 3600),
		Holds: want.Plus(-e.rise(m, e.Heater)),
	}, true
}

// Clears is the time from the last spraying until the part to (0.01: one
// hundredth) is left of what hangs in a booth's air of volume m³, by the spray
// fans: ln(1/to) air changes, which is dilution with perfect mixing (general
// ventilation, from memory; no edition was at hand). Where air stands in corners
// or passes the hull by it takes longer: the posted time, measured with smoke,
// decides. Without fans, or for nothing left, it is the longest Duration.
func (e Enclosure) Clears(volume, to float64) time.Duration {
	hours := math.Log(1/to) * volume / float64(e.SprayFlow)
	switch {
	case to >= 1:
		return 0
	case !(to > 0 && volume > 0 && e.SprayFlow > 0) || hours >= math.MaxInt64/float64(time.Hour):
		return math.MaxInt64
	}
	return time.Duration(hours * float64(time.Hour))
}

// wants is the air temperature at which the thermostat stands.
func (e Enclosure) wants(m Mode) unit.Temperature {
	if m == Idle {
		return e.SetPoint.Plus(-SetBack)
	}
	return e.SetPoint
}

// inflow is the outdoor air that comes in, fresh and leaked, kg/h.
func (e Enclosure) inflow(m Mode) float64 {
	flow := max(0, float64(e.CureFlow)) + e.Leaks
	if m == Spraying && e.OwnAir {
		flow = float64(e.SprayFlow)
	}
	return max(0, flow) * standardDensity * float64(e.pressure()/seaLevel)
}

func (e Enclosure) pressure() unit.Pressure {
	if e.Pressure > 0 {
		return e.Pressure
	}
	return seaLevel
}

// carries is the heat that leaves with the air and through the fabric for each
// kelvin over outdoors, kJ/(h·K).
func (e Enclosure) carries(m Mode) float64 { return e.inflow(m)*heatCapacity + 3.6*e.Loses }

// rise is how far a steady power lifts the air over outdoors.
func (e Enclosure) rise(m Mode, power unit.Power) unit.TempDiff {
	away := e.carries(m)
	switch {
	case power <= 0:
		return 0
	case away == 0:
		return unit.TempDiff(math.Inf(1))
	case away < 0: // a loss below nothing is no booth's
		return unit.NaN[unit.TempDiff]()
	}
	return unit.TempDiff(float64(power) * 3600 / away)
}

// dried is the dew point inside: outdoors' less what the dehumidifier takes.
func (e Enclosure) dried(outdoors unit.Temperature, m Mode) unit.Temperature {
	if e.OwnAir && m != Curing || !(e.Dehumidifier > 0 && outdoors > driest) {
		return outdoors
	}
	p, mass := e.pressure(), e.inflow(m)
	left := ratio(saturation(driest), p)
	if !(mass <= 0) { // an unknown flow leaves an unknown dew point
		left = max(left, ratio(saturation(outdoors), p)-float64(e.Dehumidifier)/mass)
	}
	return saturated(math.Log(vapour(left, p)))
}

// stops is the dew point at which the dehumidifier stands still: no drier than its
// humidistat asks, and outdoors' where that is drier still.
func (e Enclosure) stops(dew, outdoors, air unit.Temperature) unit.Temperature {
	if !(e.DownTo > 0) {
		return dew
	}
	return max(dew, min(outdoors, DewPoint(air, e.DownTo)))
}
