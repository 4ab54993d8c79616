package forecast

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// readCSV reads a table whose header gives names and units:
//
//	# issued 2026-04-06T06:00:00Z
//	time,air_C,dew_point_C,wind_m/s,gust_m/s,rain_mm,rain_chance_%,cloud_%,shortwave_W/m2
//	2026-04-06T07:00:00Z,11.2,7.9,3.1,5.5,0,10,40,210
//
// time and air are needed, and dew_point or humidity. Rain is the amount of the
// hour before. An empty cell is not known. Times without a zone are on the
// yard's clock. Comma, semicolon or tab separate; with the latter two a cell
// may have a decimal comma. Other lines that begin with # are remarks.
func readCSV(d sensors.Document) (raw, error) {
	var out raw
	text := strings.TrimPrefix(string(d.Body), "\ufeff")
	var header []column
	var comma rune
	for i, line := range strings.Split(text, "\n") {
		n := i + 1
		line = strings.TrimSpace(line)
		if issued, ok := strings.CutPrefix(line, "# issued "); ok {
			at, err := stamp(strings.TrimSpace(issued))
			if err != nil {
				return out, fmt.Errorf("line %d: issued: %w", n, err)
			}
			out.issued = at
			continue
		}
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if header == nil {
			comma = sensors.Separator(line)
		}
		cells, err := sensors.Cells(line, comma)
		if err != nil {
			return out, fmt.Errorf("line %d: %w", n, err)
		}
		if header == nil {
			if header, err = columns(cells); err != nil {
				return out, fmt.Errorf("line %d: %w", n, err)
			}
			continue
		}
		if len(cells) != len(header) {
			return out, fmt.Errorf("line %d: %d cells under %d columns; is the file cut off?", n, len(cells), len(header))
		}
		p, ambiguous, err := row(cells, header, d.Zone, comma)
		if err != nil {
			return out, fmt.Errorf("line %d, %w", n, err)
		}
		if ambiguous {
			// Which of the two hours it is nobody can tell: neither is foretold.
			out.flags = append(out.flags, sensors.Flag{Fault: sensors.NoZone, Note: fmt.Sprintf("line %d: %s stands twice, or not at all, on the clock of %s; left out", n, cells[timeColumn(header)], d.Zone)})
			continue
		}
		out.points = append(out.points, p)
	}
	if header == nil {
		return out, fmt.Errorf("no header; the first line should look like time,air_C,dew_point_C,wind_m/s")
	}
	return out, nil
}

type column struct {
	of   conditions.Variable // "" for the time
	unit string
	name string
}

func columns(cells []string) ([]column, error) {
	var out []column
	seen := map[conditions.Variable]bool{}
	for _, cell := range cells {
		c, err := columnOf(cell)
		if err != nil {
			return nil, err
		}
		if seen[c.of] {
			return nil, fmt.Errorf("column %q: there is one of its kind already", cell)
		}
		seen[c.of] = true
		out = append(out, c)
	}
	switch {
	case !seen[""]:
		return nil, fmt.Errorf("no column time; the header should look like time,air_C,dew_point_C,wind_m/s")
	case !seen[conditions.AirTemperature]:
		return nil, fmt.Errorf("no column air_C or air_F")
	case !seen[conditions.DewPointTemp] && !seen[conditions.RelHumidity]:
		return nil, fmt.Errorf("no column dew_point_C, dew_point_F or humidity_%%")
	}
	return out, nil
}

// columnOf parts rain_chance_% at the underscore behind the longest variable name.
func columnOf(cell string) (column, error) {
	if cell == "time" {
		return column{name: cell}, nil
	}
	best := column{}
	for _, v := range variables {
		if u, ok := strings.CutPrefix(cell, string(v)+"_"); ok && len(v) > len(best.of) {
			best = column{of: v, unit: u, name: cell}
		}
	}
	if best.of == "" {
		return best, fmt.Errorf("column %q: write time, or a value's name and its unit, like air_C, dew_point_C, humidity_%%, wind_m/s, gust_m/s, rain_mm, rain_chance_%%, cloud_%%, shortwave_W/m2", cell)
	}
	if _, err := sensors.Convert(best.of, 0, best.unit); err != nil {
		return best, fmt.Errorf("column %q: %w", cell, err)
	}
	return best, nil
}

func timeColumn(header []column) int {
	for i, c := range header {
		if c.of == "" {
			return i
		}
	}
	return 0
}

func row(cells []string, header []column, zone *time.Location, comma rune) (p point, ambiguous bool, err error) {
	t := cells[timeColumn(header)]
	at, ambiguous, err := wallClock(t, zone)
	if err != nil {
		return p, false, fmt.Errorf("column time: %w", err)
	}
	p = empty(at)
	for i, c := range header {
		if c.of == "" || cells[i] == "" {
			continue
		}
		cell := cells[i]
		if comma != ',' {
			cell = strings.Replace(cell, ",", ".", 1)
		}
		x, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsInf(x, 0) {
			return p, false, fmt.Errorf("column %s: %q is not a number; leave the cell empty if it is not known", c.name, cell)
		}
		if math.IsNaN(x) {
			continue
		}
		if x, err = sensors.Convert(c.of, x, c.unit); err != nil {
			return p, false, fmt.Errorf("column %s: %w", c.name, err)
		}
		p.set(c.of, x)
	}
	return p, ambiguous, nil
}

// wallClock reads a time with its zone, or else on a zone's clock.
func wallClock(text string, zone *time.Location) (at time.Time, ambiguous bool, err error) {
	at, err = stamp(text)
	if err == nil || strings.Contains(text, "date:now") {
		return at, false, err
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04"} {
		wall, failed := time.Parse(layout, text)
		if failed != nil {
			continue
		}
		found := sensors.OnClock(wall, zone)
		if len(found) != 1 {
			return wall, true, nil
		}
		return found[0], false, nil
	}
	return at, false, err
}
