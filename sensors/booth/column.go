package booth

import (
	"fmt"
	"slices"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/sensors"
)

// outdoors begins the names of the columns of the air outdoors.
const outdoors = "outdoors_"

const example = "time,mode,air_C,dew_point_C,heater_kW,outdoors_air_C,outdoors_dew_point_C"

// column is one column's name and unit.
type column struct {
	name  string // as the header has it
	plain string // without its unit; "" for one that is not used
	unit  string // "" where the header has none
}

// meaning is what a column may hold: the units that its name may end in, and
// what is believed of it, in °C, % or kW. Our judgement, no source.
type meaning struct {
	units     []string
	low, high float64
}

var (
	word        = meaning{}
	temperature = meaning{[]string{"C", "F", "K"}, -60, 100}
	humidity    = meaning{[]string{"%"}, 1, 101}
	meanings    = map[string]meaning{
		"time": word, "mode": word,
		"air": temperature, "humidity": humidity, "dew_point": temperature,
		"heater":         {[]string{"kW", "W", "BTU/h"}, 0, 20000},
		outdoors + "air": temperature, outdoors + "humidity": humidity, outdoors + "dew_point": temperature,
	}
	names = []string{"time", "mode", "air", "humidity", "dew_point", "heater", outdoors + "air", outdoors + "humidity", outdoors + "dew_point"}
)

// header reads the first line.
func (r *reading) header(cells []string, separator rune) error {
	r.comma = separator
	has := map[string]bool{}
	for _, name := range cells {
		c := columnOf(name)
		if has[c.plain] && c.plain != "" {
			return fmt.Errorf("column %s: there is one of %s already", name, c.plain)
		}
		has[c.plain] = true
		switch {
		case c.plain == "":
			r.Notes = append(r.Notes, unusedNote(name))
		case c.unit == "" && slices.Contains(meanings[c.plain].units, "C"):
			r.Notes = append(r.Notes, fmt.Sprintf("column %s names no unit: °C, where the cell names none either", name))
		}
		r.heads = append(r.heads, c)
	}
	for _, need := range []string{"time", "mode", "air"} {
		if !has[need] {
			return fmt.Errorf("no column %s; the header should look like %s", need, example)
		}
	}
	for _, where := range []string{"", outdoors} {
		if has[where+"humidity"] && has[where+"dew_point"] {
			return fmt.Errorf("columns %[1]shumidity and %[1]sdew_point: give one of the two, for the other follows from it", where)
		}
	}
	if !has[outdoors+"air"] && (has[outdoors+"humidity"] || has[outdoors+"dew_point"]) {
		return fmt.Errorf("no column %sair beside that of the moisture outdoors", outdoors)
	}
	r.Outdoors = has[outdoors+"air"]
	return nil
}

func unusedNote(name string) string {
	if near, ok := config.Near(name, names); ok {
		return fmt.Sprintf("column %s is not used; did you mean %s?", name, near)
	}
	return fmt.Sprintf("column %s is not used; those that are: %s", name, strings.Join(names, ", "))
}

// columnOf parts air_F into the name and the unit.
func columnOf(name string) column {
	if _, ok := meanings[name]; ok {
		return column{name, name, ""}
	}
	if i := strings.LastIndexByte(name, '_'); i > 0 {
		if m, ok := meanings[name[:i]]; ok && slices.Contains(m.units, name[i+1:]) {
			return column{name, name[:i], name[i+1:]}
		}
	}
	return column{name: name}
}

// value is a cell's number in °C, % or kW; not known where the cell is blank or
// beyond belief.
func (r *reading) value(line int, head column, text string) (v float64, known bool, err error) {
	if text == "" || text == "NA" || head.plain == "" {
		return 0, false, nil
	}
	if r.comma != ',' {
		text = strings.Replace(text, ",", ".", 1)
	}
	written := text
	if head.unit != "" {
		written += " " + head.unit
	}
	m, own := meanings[head.plain], "°C"
	switch m.units[0] {
	case "kW":
		var w unit.Written[unit.Power]
		w, err = unit.Parse[unit.Power](written)
		v, own = float64(w.SI), "kW"
	case "%":
		v, err = sensors.ParseValue(conditions.RelHumidity, written)
		own = "%"
	default:
		v, err = sensors.ParseValue(conditions.AirTemperature, written)
	}
	if err != nil {
		return 0, false, fmt.Errorf("%w; leave the cell blank if it was not read", err)
	}
	if v < m.low || v > m.high {
		if !r.found[head.name] {
			r.Notes = append(r.Notes, fmt.Sprintf("%s:%d: column %s: %s lies beyond %v to %v %s: left out, with any like it", r.name, line, head.name, text, m.low, m.high, own))
		}
		r.found[head.name] = true
		return 0, false, nil
	}
	return v, true, nil
}
