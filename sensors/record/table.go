package record

import (
	"errors"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
	"fairwindow/sensors/forecast"
)

// isTable: the first line that is no remark names a column time.
func isTable(text string) bool {
	for line := range strings.Lines(text) {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells, err := sensors.Cells(line, sensors.Separator(line))
		return err == nil && slices.Contains(cells, "time")
	}
	return false
}

// distant is after every record: what is read as a forecast must not seem to be
// issued in the future.
var distant = time.Date(2300, time.January, 1, 0, 0, 0, 0, time.UTC)

// readTable reads our own table, that of package forecast: what was measured
// may be written down as what is foretold. Its times without a zone are on the
// zone of the options, UTC if there is none. What its reader doubts it has left
// out; the first row carries its flags. Rows closer than an hour are made hours.
func readTable(text string, want Options) (file, error) {
	read, err := forecast.Parse(sensors.Document{Source: "table", Format: "csv", Body: []byte(text), Received: distant, Zone: want.Zone})
	if err != nil {
		if inner := errors.Unwrap(err); inner != nil {
			err = inner // without the word forecast
		}
		return file{}, err
	}
	out := file{needs: []conditions.Variable{conditions.AirTemperature, conditions.DewPointTemp}}
	every := time.Hour
	for i, p := range read.Points {
		r := Row{At: p.At, Said: map[conditions.Variable]float64{
			conditions.AirTemperature: float64(p.Air), conditions.DewPointTemp: float64(p.DewPoint),
			conditions.WindSpeed: float64(p.Wind), conditions.GustSpeed: float64(p.Gust), conditions.Rain: float64(p.Rain),
			conditions.Cloud: float64(p.Cloud), conditions.Shortwave: p.Shortwave,
		}}
		for of, v := range r.Said {
			if math.IsNaN(v) {
				delete(r.Said, of)
			}
		}
		if i > 0 {
			every = min(every, p.At.Sub(read.Points[i-1].At))
		}
		out.rows = append(out.rows, r)
	}
	if every < time.Hour {
		out.rows = hourly(out.rows, every)
	}
	for _, f := range read.Flags {
		out.rows[0].Faults = append(out.rows[0].Faults, Fault{Was: math.NaN(), Flag: f})
	}
	return out, nil
}
