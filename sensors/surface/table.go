package surface

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
)

// The coldest and the hottest surface that is believed, °C: a black deck under a
// tropical sun comes to 85. Our judgement, no source.
const (
	coldestSurface = -60
	hottestSurface = 120
)

// longest is how long a table may be: a year's typing error makes it longer.
const longest = 400 * 24 * time.Hour

// cell is a column's meaning.
type cell struct {
	name  string // as the header has it
	plain string // without its unit
	of    conditions.Variable
	unit  string // "" where the header has none
}

// reading is the table while it is read.
type reading struct {
	Table
	name  string
	zone  *time.Location
	comma rune
	heads []cell
	clock int // the column of the time
	moist struct{ air, dew []Reading[unit.Temperature] }
	found map[string]int
}

// Read reads a table whose header names its columns: time, and one column of
// surface temperatures for each facet, called as one likes (surface; coldest and
// warmest; port, deck, …), with its unit after an underscore (port_F) or none for
// °C. humidity, or air and dew_point, tell the air's humidity. Times are RFC 3339
// or on a zone's clock. A blank cell or NA is not measured. Comma, semicolon or
// tab separate; lines that begin with # are remarks. Its errors name file, line
// and column.
func Read(name string, text []byte, zone *time.Location) (Table, error) {
	r := reading{name: name, zone: zone, found: map[string]int{}}
	if err := sensors.EachRow(name, text, r.header, r.line); err != nil {
		return Table{}, err
	}
	switch {
	case r.heads == nil:
		return Table{}, fmt.Errorf("%s: no header; the first line should look like time,surface or time,port,starboard,deck,humidity", name)
	case len(r.Rows) == 0:
		return Table{}, fmt.Errorf("%s: no readings after the header; is the file cut off?", name)
	}
	r.humidity()
	return r.Table, nil
}

func (r *reading) line(n int, cells []string) error {
	var before time.Time
	if k := len(r.Rows); k > 0 {
		before = r.Rows[k-1]
	}
	at, err := sensors.ParseTime(cells[r.clock], r.zone, before)
	if err != nil {
		return fmt.Errorf("column %s: %w", r.heads[r.clock].name, err)
	}
	if len(r.Rows) > 0 && !at.After(before) {
		return fmt.Errorf("column %s: %s is not after the line before it, %s; put the readings in the order of time, each time once",
			r.heads[r.clock].name, cells[r.clock], before.In(r.zone).Format("2006-01-02 15:04:05"))
	}
	r.Rows = append(r.Rows, at)
	if at.Sub(r.Rows[0]) > longest {
		return fmt.Errorf("column %s: %s is more than 400 days after the first reading; is the year right?", r.heads[r.clock].name, cells[r.clock])
	}
	facet := 0
	for i, head := range r.heads {
		if i == r.clock {
			continue
		}
		v, known, err := r.value(n, head, cells[i])
		if err != nil {
			return fmt.Errorf("column %s: %w", head.name, err)
		}
		at := Reading[unit.Temperature]{at, unit.Temperature(v)}
		switch head.of {
		case conditions.Surface:
			if known {
				r.Facets[facet].Readings = append(r.Facets[facet].Readings, at)
			}
			facet++
		case conditions.RelHumidity:
			if known {
				r.Humidity = append(r.Humidity, Reading[unit.Humidity]{at.At, unit.Humidity(v)})
			}
		case conditions.AirTemperature:
			if known {
				r.moist.air = append(r.moist.air, at)
			}
		case conditions.DewPointTemp:
			if known {
				r.moist.dew = append(r.moist.dew, at)
			}
		}
	}
	return nil
}

// header reads the first line.
func (r *reading) header(cells []string, separator rune) error {
	r.comma = separator
	r.clock = -1
	seen := map[string]bool{}
	has := map[conditions.Variable]bool{}
	for i, name := range cells {
		if name == "" {
			return fmt.Errorf("column %d has no name; a column of surface temperatures is called as you like", i+1)
		}
		c := headOf(name)
		if name == "time" {
			r.clock = i
		} else if err := r.column(c); err != nil {
			return fmt.Errorf("column %s: %w", name, err)
		}
		if seen[c.plain] {
			return fmt.Errorf("column %s: there is one of that name already", name)
		}
		r.heads, seen[c.plain], has[c.of] = append(r.heads, c), true, true
	}
	switch {
	case r.clock < 0:
		return errors.New("no column time; the header should look like time,surface or time,port,starboard,deck,humidity")
	case len(r.Facets) == 0:
		return errors.New("no column of surface temperatures; name one surface, or one for each side: time,port,starboard,deck")
	case has[conditions.AirTemperature] != has[conditions.DewPointTemp] && !has[conditions.RelHumidity]:
		return errors.New("air and dew_point tell the humidity together: give both, or humidity, or neither")
	}
	return nil
}

// column takes in a column other than the time.
func (r *reading) column(c cell) error {
	if _, err := sensors.Convert(c.of, 0, c.unit); err != nil {
		return err
	}
	if c.of == conditions.Surface {
		r.Facets = append(r.Facets, Facet{Name: c.plain})
	}
	if c.unit == "" && c.of != conditions.RelHumidity {
		r.Notes = append(r.Notes, fmt.Sprintf("column %s names no unit: °C, where the cell names none either", c.name))
	}
	return nil
}

// headOf parts port_F into the name and the unit.
func headOf(name string) cell {
	c := cell{name: name, plain: name, of: conditions.Surface}
	if i := strings.LastIndexByte(name, '_'); i > 0 && slices.Contains([]string{"C", "F", "K", "%"}, name[i+1:]) {
		c.plain, c.unit = name[:i], name[i+1:]
	}
	switch c.plain {
	case "humidity":
		c.of = conditions.RelHumidity
	case "air":
		c.of = conditions.AirTemperature
	case "dew_point":
		c.of = conditions.DewPointTemp
	}
	return c
}

// value is a cell's number in the variable's own unit; not known where the cell is
// blank or beyond belief.
func (r *reading) value(line int, head cell, text string) (v float64, known bool, err error) {
	if text == "" || text == "NA" {
		return 0, false, nil
	}
	if r.comma != ',' {
		text = strings.Replace(text, ",", ".", 1)
	}
	written := text
	if head.unit != "" {
		written += " " + head.unit
	}
	if v, err = sensors.ParseValue(head.of, written); err != nil {
		return 0, false, fmt.Errorf("%w; leave the cell blank if it was not measured", err)
	}
	low, high := coldestSurface, hottestSurface
	if head.of == conditions.RelHumidity {
		low, high = 0, 101
	}
	if v < float64(low) || v > float64(high) {
		key := head.name + " out of range"
		if r.found[key]++; r.found[key] == 1 {
			r.Notes = append(r.Notes, fmt.Sprintf("%s:%d: column %s: %s lies beyond %d to %d %s: left out, with any like it", r.name, line, head.name, text, low, high, ownUnit(head.of)))
		}
		return 0, false, nil
	}
	return v, true, nil
}

func ownUnit(of conditions.Variable) string {
	if of == conditions.RelHumidity {
		return "%"
	}
	return "°C"
}

// humidity makes the air's humidity of its temperature and dew point, where the
// table has no humidity of its own.
func (r *reading) humidity() {
	if len(r.Humidity) > 0 {
		return
	}
	for _, air := range r.moist.air {
		i, ok := slices.BinarySearchFunc(r.moist.dew, air.At, func(d Reading[unit.Temperature], at time.Time) int { return d.At.Compare(at) })
		if ok {
			rh := min(100, conditions.RelativeHumidity(air.Value, r.moist.dew[i].Value))
			r.Humidity = append(r.Humidity, Reading[unit.Humidity]{air.At, rh})
		}
	}
}
