package record

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// column is one of a table of stations, and how its number becomes the
// variable's own unit.
type column struct {
	name string
	of   conditions.Variable
	own  func(float64) float64
}

var stationColumns = []column{
	{"temp", conditions.AirTemperature, fahrenheit},
	{"dewp", conditions.DewPointTemp, fahrenheit},
	{"humid", conditions.RelHumidity, same},
	{"wind_speed", conditions.WindSpeed, times(0.44704)}, // mph, by definition
	{"wind_gust", conditions.GustSpeed, times(0.44704)},
	{"precip", conditions.Rain, times(25.4)},         // inches
	{"pressure", conditions.AirPressure, times(100)}, // hPa, at sea level
}

func same(v float64) float64       { return v }
func fahrenheit(v float64) float64 { return (v - 32) * 5 / 9 }

func times(factor float64) func(float64) float64 {
	return func(v float64) float64 { return v * factor }
}

// readStations reads a table of airport stations, an hour a row: the columns
// above, of which only pressure may be lacking, the station in origin, and UTC
// in time_hour or the station's own clock in date. NA is not known. A clock by which
// the nights are warmer than the days is none of the station's: where UTC mends
// that, the times are taken for UTC, and that is said.
func readStations(text string, want Options) (file, error) {
	own, err := readClocked(text, want)
	if err != nil || want.Zone == nil || !warmByNight(own.rows, want.Zone) {
		return own, err
	}
	zone := want.Zone
	want.Zone = time.UTC
	if utc, err := readClocked(text, want); err == nil && !warmByNight(utc.rows, zone) {
		utc.note = fmt.Sprintf("by the clock of %s its nights are warmer than its days: its times are taken for UTC", zone)
		return utc, nil
	}
	return own, nil
}

// warmByNight reports whether the warmest hour of the day, on the average of 30 days
// or more, lies from eight in the evening to nine in the morning. Common practice,
// no source: no lowland station's does.
func warmByNight(rows []Row, zone *time.Location) bool {
	var sum, n [24]float64
	for _, r := range rows {
		if air := r.Value(conditions.AirTemperature); !math.IsNaN(air) {
			hour := r.At.In(zone).Hour()
			sum[hour] += air
			n[hour]++
		}
	}
	warmest := 0
	for h := range sum {
		if n[h] < 30 {
			return false
		}
		if sum[h]/n[h] > sum[warmest]/n[warmest] {
			warmest = h
		}
	}
	return warmest >= 20 || warmest < 9
}

func readClocked(text string, want Options) (file, error) {
	table := csv.NewReader(strings.NewReader(text))
	table.ReuseRecord = true
	head, err := table.Read()
	if err != nil {
		return file{}, fmt.Errorf("line 1: no header: %w", err)
	}
	at := map[string]int{}
	for i, name := range head {
		at[strings.TrimSpace(name)] = i
	}
	if _, ok := at["origin"]; !ok {
		return file{}, errors.New(`line 1: no column "origin", as a table of stations has; nor does it begin like EPW, TMY2 or reference records, or name a column time, as our own table does`)
	}
	for _, need := range []string{"temp", "dewp", "humid", "wind_speed", "wind_gust", "precip"} {
		if _, ok := at[need]; !ok {
			return file{}, fmt.Errorf("line 1: no column %q; a table of stations has origin, temp, dewp, humid, wind_speed, wind_gust, precip and time_hour or date", need)
		}
	}
	when, err := clockOf(at, want.Zone)
	if err != nil {
		return file{}, err
	}
	out := file{needs: []conditions.Variable{conditions.AirTemperature, conditions.DewPointTemp, conditions.RelHumidity, conditions.WindSpeed}}
	if _, ok := at["pressure"]; ok {
		out.needs = append(out.needs, conditions.AirPressure)
	}
	station := want.Station
	for {
		cells, err := table.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return file{}, fmt.Errorf("%w; is the file cut off?", err)
		}
		if station == "" {
			station = cells[at["origin"]]
		}
		if cells[at["origin"]] != station {
			continue
		}
		line, _ := table.FieldPos(0)
		r := Row{Line: line, Said: map[conditions.Variable]float64{}}
		if r.At, err = when(cells); err != nil {
			return file{}, fmt.Errorf("line %d, %w", line, err)
		}
		for _, c := range stationColumns {
			if i, ok := at[c.name]; ok {
				r.take(c.of, cells[i], c.own)
			}
		}
		out.rows = append(out.rows, r)
	}
	if len(out.rows) == 0 {
		return file{}, fmt.Errorf("no rows of origin %q", station)
	}
	return out, nil
}

// clockOf tells how a table gives its times.
func clockOf(at map[string]int, zone *time.Location) (func([]string) (time.Time, error), error) {
	if i, ok := at["time_hour"]; ok {
		return func(cells []string) (time.Time, error) {
			t, err := time.Parse(time.RFC3339, cells[i])
			if err != nil {
				return t, fmt.Errorf("column time_hour: %q is not a time; it should look like 2013-01-01T06:00:00Z", cells[i])
			}
			return t.UTC(), nil
		}, nil
	}
	i, ok := at["date"]
	if !ok {
		return nil, errors.New(`line 1: no column "time_hour" or "date"`)
	}
	if zone == nil {
		return nil, errors.New(`line 1: the column "date" has no zone; name the zone of its station`)
	}
	seen := map[string]bool{}
	return func(cells []string) (time.Time, error) {
		wall, err := time.Parse(time.DateTime, cells[i])
		if err != nil {
			return wall, fmt.Errorf("column date: %q is not a time; it should look like 2014-01-01 06:00:00", cells[i])
		}
		fits := sensors.OnClock(wall, zone)
		if len(fits) == 0 { // left out by the clock: it lands on a neighbour, and the later of the two is a repeat
			return time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), 0, zone).UTC(), nil
		}
		// The hour that a clock change doubles stands in the order of the file.
		again := seen[cells[i]]
		if len(fits) == 2 {
			seen[cells[i]] = true
		}
		if again {
			return fits[1], nil
		}
		return fits[0], nil
	}, nil
}
