// Package booth answers one question: what was read of a booth? It reads a table
// of its mode, its air and its heater, and of the air outdoors, as what leakage
// and wall loss are fitted to (conditions.Enclosure.Fit).
//
// It is pure: no clock, no I/O, no state.
package booth

import (
	"errors"
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
	"fairwindow/sensors/record"
)

// Table is what was read, in the order of time.
type Table struct {
	Seen []conditions.Seen
	// Outdoors says that the table itself has the air outdoors. Else every
	// Seen.Outdoors is blank.
	Outdoors bool
	// Notes say what was left out, or assumed: one line for each kind.
	Notes []string
}

// longest is how long a table may be: a year's typing error makes it longer.
const longest = 400 * 24 * time.Hour

// reading is the table while it is read.
type reading struct {
	Table
	name  string
	zone  *time.Location
	comma rune
	heads []column
	found map[string]bool // of doubtful cells, by their column
}

// Read reads a table whose header names its columns: time; mode (idle, spraying
// or curing); air, and humidity or dew_point, inside; heater, the power that it
// gave; outdoors_air, and outdoors_humidity or outdoors_dew_point, where no
// weather file tells them. A unit may follow after an underscore (air_F,
// heater_kW); a temperature without one is in °C. Times are RFC 3339 or on a
// zone's clock. A blank cell or NA was not read. Comma, semicolon or tab separate;
// lines that begin with # are remarks. Its errors name file, line and column.
func Read(name string, text []byte, zone *time.Location) (Table, error) {
	r := reading{name: name, zone: zone, found: map[string]bool{}}
	if err := sensors.EachRow(name, text, r.header, r.line); err != nil {
		return Table{}, err
	}
	switch {
	case r.heads == nil:
		return Table{}, fmt.Errorf("%s: no header; the first line should look like %s", name, example)
	case len(r.Seen) == 0:
		return Table{}, fmt.Errorf("%s: no readings after the header; is the file cut off?", name)
	}
	return r.Table, nil
}

func (r *reading) line(n int, cells []string) error {
	nan := unit.NaN[unit.Temperature]()
	s := conditions.Seen{Air: nan, DewPoint: nan, Heats: unit.NaN[unit.Power]()}
	said := map[string]float64{}
	var err error
	for i, head := range r.heads {
		switch head.plain {
		case "time":
			s.At, err = r.time(cells[i])
		case "mode":
			s.Mode, err = modeOf(cells[i])
		default:
			var v float64
			var known bool
			if v, known, err = r.value(n, head, cells[i]); known {
				said[head.plain] = v
			}
		}
		if err != nil {
			return fmt.Errorf("column %s: %w", head.name, err)
		}
	}
	s.Air, s.DewPoint = moist(said, "")
	if kW, ok := said["heater"]; ok {
		s.Heats = unit.Power(kW)
	}
	s.Outdoors = record.Blank(s.At)
	if s.Outdoors.Air, s.Outdoors.DewPoint = moist(said, outdoors); unit.Known(s.Outdoors.Air) {
		s.Outdoors.Sure = conditions.Measured
	}
	r.Seen = append(r.Seen, s)
	return nil
}

// time reads a time, which comes after those before it.
func (r *reading) time(text string) (time.Time, error) {
	if len(r.Seen) == 0 {
		return sensors.ParseTime(text, r.zone, time.Time{})
	}
	first, before := r.Seen[0].At, r.Seen[len(r.Seen)-1].At
	at, err := sensors.ParseTime(text, r.zone, before)
	switch {
	case err != nil:
	case !at.After(before):
		err = fmt.Errorf("%s is not after the line before it, %s; put the readings in the order of time, each time once", text, before.In(r.zone).Format("2006-01-02 15:04:05"))
	case at.Sub(first) > longest:
		err = fmt.Errorf("%s is more than 400 days after the first reading; is the year right?", text)
	}
	return at, err
}

func modeOf(text string) (conditions.Mode, error) {
	switch m := conditions.Mode(text); m {
	case conditions.Idle, conditions.Spraying, conditions.Curing:
		return m, nil
	case "":
		return m, errors.New("it is blank; write idle, spraying or curing, or leave out the lines of hours in which nobody knows")
	}
	return "", fmt.Errorf("%q is not what a booth does; write idle, spraying or curing, and leave out the lines of hours in which it was switched off", text)
}

// moist is the air and the dew point, inside or outdoors.
func moist(said map[string]float64, where string) (air, dew unit.Temperature) {
	of := func(name string) float64 {
		if v, ok := said[where+name]; ok {
			return v
		}
		return float64(unit.NaN[unit.Temperature]())
	}
	air, dew = unit.Temperature(of("air")), unit.Temperature(of("dew_point"))
	if rh, ok := said[where+"humidity"]; ok {
		dew = conditions.DewPoint(air, unit.Humidity(min(100, rh)))
	}
	return air, dew
}
