package sensors

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Stale is the age at which a reading no longer tells what is now, if the yard
// sets no other: measure before work and every 4 hours (TRADE.md 1.2, FHWA-RD-98-084).
const Stale = 4 * time.Hour

// ClockSlack is how far ahead of ours a device's clock may be. Common practice, no source.
const ClockSlack = 5 * time.Minute

// Check marks what is doubtful about a reading: values out of any instrument's
// range, values that contradict one another, spikes, stuck and power-on values,
// a clock ahead, old or out of order times, an expired calibration, a possible
// repeat, values apart from those of the instrument beside it. It drops no value and
// returns a copy; a reading without a flag loses its Raw. previous are earlier
// readings of the same place or boat, in any order.
func Check(r Reading, previous []Reading, sensor config.Sensor, now time.Time) Reading {
	r.Flags = append([]Flag(nil), r.Flags...)
	c := checker{r: &r, now: now, sensor: sensor}
	if slices.ContainsFunc(previous, func(p Reading) bool { return p.Source != r.Source }) {
		for _, p := range previous {
			if p.Source == r.Source {
				c.before = append(c.before, p)
			} else {
				c.beside = append(c.beside, p)
			}
		}
	} else {
		c.before = previous // most often; copying them takes as long as the checks
	}
	c.clock()
	c.calibration()
	c.ranges()
	c.contradictions()
	c.repeat()
	c.spikes()
	c.stuck()
	c.saturated()
	c.apart()
	if len(r.Flags) == 0 {
		r.Raw = ""
	}
	return r
}

type checker struct {
	r      *Reading
	before []Reading // of the same source
	beside []Reading // of others
	sensor config.Sensor
	now    time.Time
}

// mark adds a flag once: checking a reading twice marks it no further.
func (c *checker) mark(of conditions.Variable, f Fault, note string, args ...any) {
	for _, have := range c.r.Flags {
		if have.Of == of && have.Fault == f {
			return
		}
	}
	c.r.Flags = append(c.r.Flags, Flag{Of: of, Fault: f, Note: fmt.Sprintf(note, args...)})
}

func (c *checker) clock() {
	at, ahead := c.r.At, c.r.At.Sub(c.r.Received)
	switch {
	case ahead > ClockSlack:
		c.mark("", FromFuture, "the device's clock is %s ahead; set it, or write at zone: by which it goes", whole(ahead))
	case c.now.Sub(at) > Stale:
		c.mark("", Old, "measured %s ago", whole(c.now.Sub(at)))
	}
	c.behind()
	for _, p := range c.before {
		// A clock that ran ahead once and was set right is not out of order ever after.
		ran := p.At.Sub(p.Received) > ClockSlack
		if p.Received.Before(c.r.Received) && p.At.After(at) && p.Key != c.r.Key && c.r.FromDevice && p.FromDevice && !ran {
			c.mark("", OutOfOrder, "a reading of %s came earlier", p.At.UTC().Format(time.RFC3339))
			return
		}
	}
}

// calibration counts the due day itself as good, to its end in UTC.
func (c *checker) calibration() {
	if c.sensor.Due == "" {
		return
	}
	due, err := time.Parse(time.DateOnly, c.sensor.Due)
	if err != nil {
		c.mark("", Uncalibrated, "calibration_due %q is not a day; write it like 2027-04-01", c.sensor.Due)
		return
	}
	if late := c.r.At.Sub(due); late >= 24*time.Hour {
		c.mark("", Uncalibrated, "calibration ran out %d days ago, on %s", int(late.Hours()/24), c.sensor.Due)
	}
}

// bounds are what an instrument in a yard may plausibly say. The widest values
// of the WMO's guide to instruments (WMO-No. 8, quality control of automatic
// stations, from memory: wind to 75 m/s, gusts to 150 m/s, pressure 500 to 1100
// hPa, global radiation to 1600 W/m²), narrowed for temperatures: common
// practice, no source.
var bounds = map[conditions.Variable][2]float64{
	conditions.AirTemperature: {-40, 60},
	// An instrument's own rounding may pass 100. Under 10 % lies every humidity that is
	// sent at a tenth or as a part of one, and no air that paint is sprayed in.
	conditions.RelHumidity:    {10, 100.5},
	conditions.DewPointTemp:   {-60, 40},
	conditions.WetBulbTemp:    {-40, 50},
	conditions.Surface:        {-40, 100}, // a black deck in the sun reaches 80
	conditions.SurfaceWarmest: {-40, 100},
	conditions.WindSpeed:      {0, 75},
	conditions.GustSpeed:      {0, 150},
	conditions.Rain:           {0, 400},
	conditions.RainChance:     {0, 1},
	conditions.Cloud:          {0, 1},
	conditions.Shortwave:      {-10, 1600}, // a pyranometer sends a little less than zero at night
	conditions.AirPressure:    {50000, 110000},
	conditions.Fan:            {0, 1},
	conditions.BoothMode:      {0, 2},
	conditions.FilterPressure: {-100, 2500}, // a clogged filter is changed far below that
	conditions.Door:           {0, 1},
	conditions.Heater:         {0, 1},
}

// order is every variable, so that flags come in one order.
var order = []conditions.Variable{
	conditions.AirTemperature, conditions.RelHumidity, conditions.DewPointTemp, conditions.WetBulbTemp,
	conditions.Surface, conditions.SurfaceWarmest, conditions.WindSpeed, conditions.GustSpeed, conditions.Rain, conditions.RainChance,
	conditions.Cloud, conditions.Shortwave, conditions.AirPressure, conditions.Fan,
	conditions.BoothMode, conditions.FilterPressure, conditions.Door, conditions.Heater,
}

func (c *checker) ranges() {
	for _, v := range order {
		x, ok := c.r.Values[v]
		if !ok {
			continue
		}
		temperature := v == conditions.AirTemperature || v == conditions.Surface || v == conditions.SurfaceWarmest || v == conditions.WetBulbTemp
		// What one widespread digital thermometer says at power-on and when its
		// wire is off (CHECKS.md 7).
		if temperature && math.Abs(x-85) < 0.01 {
			c.mark(v, PowerOn, "85 °C is what a digital thermometer says at power-on")
		}
		if temperature && math.Abs(x+127) < 0.1 {
			c.mark(v, OutOfRange, "−127 °C is what a digital thermometer says when it is disconnected")
		}
		b := bounds[v]
		switch {
		case math.IsNaN(x) || math.IsInf(x, 0):
			c.mark(v, NotANumber, "")
		case x < b[0] || x > b[1]:
			hint := ""
			if c.sensor.Name != "" && v.Quantity() {
				hint = "; if it is sent in another unit, write that at unit:"
			}
			c.mark(v, OutOfRange, "%.6g is not between %g and %g%s", x, b[0], b[1], hint)
		case !v.Quantity() && x != math.Trunc(x):
			c.mark(v, OutOfRange, "%.6g is no state that it can be in", x)
		}
	}
}

// slack is the disagreement of two temperatures that one instrument's rounding
// explains, K. Common practice, no source.
const slack = 0.1

func (c *checker) contradictions() {
	air, hasAir := c.r.Values[conditions.AirTemperature]
	wet, hasWet := c.r.Values[conditions.WetBulbTemp]
	dew, hasDew := c.r.Values[conditions.DewPointTemp]
	rh, hasRH := c.r.Values[conditions.RelHumidity]
	if hasAir && hasWet && wet > air+slack {
		c.mark(conditions.WetBulbTemp, Contradiction, "wet bulb %.1f is over dry bulb %.1f; re-wet the wick and read again", wet, air)
		c.mark(conditions.AirTemperature, Contradiction, "dry bulb %.1f is under wet bulb %.1f", air, wet)
	}
	if hasAir && hasDew && dew > air+slack {
		c.mark(conditions.DewPointTemp, Contradiction, "dew point %.1f is over the air's %.1f", dew, air)
	}
	if hasWet && hasDew && dew > wet+slack {
		c.mark(conditions.DewPointTemp, Contradiction, "dew point %.1f is over wet bulb %.1f", dew, wet)
	}
	if hasAir && hasDew && hasRH && dew <= air+slack {
		derived := float64(conditions.RelativeHumidity(unit.Temperature(air), unit.Temperature(dew)))
		c.disagree(conditions.DewPointTemp, rh, derived)
	}
	if hasAir && hasWet && hasRH {
		derived, ok := humidityBy(moisture{of: conditions.WetBulbTemp, x: wet}, air, 0)
		switch {
		case ok:
			c.disagree(conditions.WetBulbTemp, rh, derived)
		case wet <= air+slack:
			c.mark(conditions.WetBulbTemp, Contradiction, "wet bulb %.1f is lower than dry air at %.1f can make it", wet, air)
		}
	}
	cold, hasCold := c.r.Values[conditions.Surface]
	warm, hasWarm := c.r.Values[conditions.SurfaceWarmest]
	if hasCold && hasWarm && warm < cold-slack {
		c.mark(conditions.Surface, Contradiction, "the coldest spot, %.1f, is over the warmest", cold)
		c.mark(conditions.SurfaceWarmest, Contradiction, "the warmest spot, %.1f, is under the coldest", warm)
	}
	mean, hasMean := c.r.Values[conditions.WindSpeed]
	gust, hasGust := c.r.Values[conditions.GustSpeed]
	// The greatest of many cannot be under their mean; half a metre per second is rounding.
	if hasMean && hasGust && gust < mean-0.5 {
		c.mark(conditions.WindSpeed, Contradiction, "wind %.1f m/s is over its gusts of %.1f", mean, gust)
		c.mark(conditions.GustSpeed, Contradiction, "gusts of %.1f m/s are under their mean of %.1f", gust, mean)
	}
}

// derivedBy is how far a humidity may be from the one that the same instrument's
// dew point or wet bulb says, %. A dew point of the same instrument is derived from
// its humidity; a wet bulb is a second instrument in one case. Common practice, no source.
var derivedBy = map[conditions.Variable]float64{conditions.DewPointTemp: 5, conditions.WetBulbTemp: 10}

func (c *checker) disagree(of conditions.Variable, rh, derived float64) {
	if math.Abs(derived-rh) <= derivedBy[of] {
		return
	}
	name := strings.ReplaceAll(string(of), "_", " ")
	c.mark(conditions.RelHumidity, Contradiction, "humidity %.0f %%, but the %s says %.0f %%", rh, name, derived)
	c.mark(of, Contradiction, "humidity %.0f %%, but the %s says %.0f %%", rh, name, derived)
}

// repeat suspects a message that came twice: a bus may deliver again, and a
// device without a clock or a count gives no way to tell. A fan that runs is said to run again and
// again: the states of switches are no repeat, and to doubt them would stop a booth.
func (c *checker) repeat() {
	window := time.Second
	if c.sensor.Every > 0 {
		window = c.sensor.Every.Std() / 2
	}
	if c.r.FromDevice || numbered(*c.r) || len(c.r.Values) == 0 {
		return
	}
	for _, p := range c.before {
		age := c.r.Received.Sub(p.Received)
		if p.FromDevice || p.Key == c.r.Key || age < 0 || age >= window || !same(p.Values, c.r.Values) {
			continue
		}
		for _, v := range quantities(c.r.Values) {
			c.mark(v, Repeated, "the same values came %s before", whole(age))
		}
		return
	}
}

// quantities are those of some values that are no states, in order; the empty word, for
// the whole reading, if all of them are.
func quantities(values map[conditions.Variable]float64) []conditions.Variable {
	var found []conditions.Variable
	for _, v := range order {
		if _, ok := values[v]; ok && v.Quantity() {
			found = append(found, v)
		}
	}
	if len(found) == len(values) {
		return []conditions.Variable{""}
	}
	return found
}

func same(a, b map[conditions.Variable]float64) bool {
	if len(a) != len(b) {
		return false
	}
	for v, x := range a {
		if y, ok := b[v]; !ok || x != y {
			return false
		}
	}
	return true
}
