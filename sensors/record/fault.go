package record

import (
	"fmt"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
)

// Fault is one doubtful thing in a file: a flag, and where it stands.
type Fault struct {
	Line int       // of the file; 0 for an hour that is not in it
	At   time.Time // zero for a note about the whole file
	Was  float64   // as recorded, in the variable's own unit; NaN when missing
	sensors.Flag
}

// contradiction is how far a recorded humidity may lie from that of its own
// temperature and dew point: both are rounded to whole degrees Fahrenheit in
// some hours, which alone makes 3 %.
const contradiction = 5.0 // % RH

// bounds of what may be believed, and the unit.
type bounds struct {
	of        conditions.Variable
	low, high float64
	unit      string
}

// plausible are the extremes ever recorded at sea level, with room; of
// pressure, those of any place where people build; of the sun, as in
// sensors.Check, with the few watts by which a pyranometer cools at night.
var plausible = []bounds{
	{conditions.AirTemperature, -60, 58, "°C"},
	{conditions.DewPointTemp, -75, 36, "°C"},
	{conditions.RelHumidity, 0, 101, "%"},
	{conditions.WindSpeed, 0, 75, "m/s"},
	{conditions.GustSpeed, 0, 115, "m/s"},
	{conditions.Rain, 0, 310, "mm/h"},
	{conditions.Cloud, 0, 1, "of one"},
	{conditions.Shortwave, -10, 1600, "W/m²"},
	{conditions.AirPressure, 50000, 110000, "Pa"},
}

// judge makes Weather of what the row says: it lists what is missing though the
// form needs it, and what is beyond belief, which is left out. Where humidity
// contradicts the dew point nobody can say which is right: both are left out.
// Where there is only a humidity the dew point comes from it.
func (r *Row) judge(needs []conditions.Variable) {
	good := map[conditions.Variable]float64{}
	for _, b := range plausible {
		v := r.Value(b.of)
		good[b.of] = v
		switch {
		case !unit.Known(v):
			good[b.of] = math.NaN()
			if slices.Contains(needs, b.of) && !r.faulty(b.of) {
				r.fault(b.of, sensors.Missing, "")
			}
		case v < b.low || v > b.high:
			r.fault(b.of, sensors.OutOfRange, fmt.Sprintf("%.6g %s", v, b.unit))
			good[b.of] = math.NaN()
		}
	}
	air, dew := unit.Temperature(good[conditions.AirTemperature]), unit.Temperature(good[conditions.DewPointTemp])
	humid := unit.Humidity(good[conditions.RelHumidity])
	switch own := stationHumidity(air, dew); {
	case math.Abs(float64(own-humid)) > contradiction, own > 100+contradiction:
		r.fault(conditions.RelHumidity, sensors.Contradiction, fmt.Sprintf("%.0f %%, but %.0f %% by the dew point", humid, own))
		dew = unit.NaN[unit.Temperature]()
	case unit.Known(dew) && dew > air:
		dew = air // rounded apart
	case !unit.Known(dew):
		dew = conditions.DewPoint(air, min(humid, 100))
	}
	w := Blank(r.At)
	w.Air, w.DewPoint = air, dew
	w.Wind, w.Gust = unit.Speed(good[conditions.WindSpeed]), unit.Speed(good[conditions.GustSpeed])
	w.Rain, w.Cloud, w.Shortwave = unit.RainRate(good[conditions.Rain]), unit.Share(good[conditions.Cloud]), max(0, good[conditions.Shortwave])
	if unit.Known(air) && unit.Known(dew) {
		w.Sure = conditions.Measured
	}
	r.Weather = w
}

// stationHumidity is the humidity that a weather station reckons from a dew
// point: over water, by WMO-No. 8, annex 4.B. It lies up to 0.1 % from
// conditions.RelativeHumidity, which decides where a record just contradicts itself.
func stationHumidity(air, dew unit.Temperature) unit.Humidity {
	saturation := func(t unit.Temperature) float64 { return 611.2 * math.Exp(17.62*float64(t)/(243.12+float64(t))) }
	return unit.Humidity(100 * saturation(dew) / saturation(air))
}

func (r *Row) fault(of conditions.Variable, what sensors.Fault, note string) {
	r.Faults = append(r.Faults, Fault{Line: r.Line, At: r.At, Was: r.Value(of), Flag: sensors.Flag{Of: of, Fault: what, Note: note}})
}

// faulty: a reader has said already why there is no value.
func (r *Row) faulty(of conditions.Variable) bool {
	return slices.ContainsFunc(r.Faults, func(f Fault) bool { return f.Of == of })
}

func repeated(r Row) Fault {
	return Fault{Line: r.Line, At: r.At, Was: math.NaN(), Flag: sensors.Flag{Fault: sensors.Repeated, Note: "left out"}}
}

// absent is a gap before a row.
func absent(r Row, at time.Time) Fault {
	return Fault{Line: r.Line, At: at, Was: math.NaN(), Flag: sensors.Flag{Fault: sensors.Missing, Note: "before this line"}}
}

// tally counts faults by kind.
type tally struct {
	first []Fault
	count []int
}

func (t *tally) add(f Fault, n int) {
	for i, have := range t.first {
		if have.Of == f.Of && have.Fault == f.Fault {
			t.count[i] += n
			return
		}
	}
	t.first, t.count = append(t.first, f), append(t.count, n)
}

// lines says each kind: "wind out of range: 1, first on line 1011 at
// 2013-02-12T08:00Z, 468.659 m/s". A fault without a time is a note about the
// whole file, which tells count and place itself.
func (t *tally) lines() []string {
	var out []string
	for i, f := range t.first {
		of := string(f.Of)
		if of == "" {
			of = "hour"
		}
		line := fmt.Sprintf("%s %s: ", of, f.Fault)
		if f.At.IsZero() {
			line += f.Note
			if more := t.count[i] - 1; more > 0 {
				line += fmt.Sprintf(", and %d more", more)
			}
			out = append(out, line)
			continue
		}
		line += fmt.Sprintf("%d, first ", t.count[i])
		if f.Line > 0 {
			line += fmt.Sprintf("on line %d ", f.Line)
		}
		line += "at " + f.At.UTC().Format("2006-01-02T15:04Z")
		if f.Note != "" {
			line += ", " + f.Note
		}
		out = append(out, line)
	}
	return out
}
