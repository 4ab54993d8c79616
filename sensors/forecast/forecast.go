// Package forecast answers one question: what does this document foretell? It
// makes forecasts of the documents that weather services and stations give
// out: CSV, and three JSON forms in the open (parallel arrays, run-length
// layers, a time series).
//
// What is beyond belief is flagged and becomes NaN, and the point becomes
// unknown: it is kept, and never opens a window. A document that cannot be read
// is an error that says where, never half a forecast.
//
// It is pure: no clock, no I/O, no state.
package forecast

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
)

// formats are those that Parse reads.
var formats = map[string]func(sensors.Document) (raw, error){
	"csv":              readCSV,
	"open-meteo":       readArrays,
	"gridpoint":        readLayers,
	"locationforecast": readSeries,
}

// Parse makes a forecast of a document: points in order of time, each time
// once, values in the units of conditions.Weather. Issued is what the document
// says, else when it was received; one that lies in the future is flagged and
// taken as received, so that it outranks nothing. The spread of each point is
// conditions.Spread of its lead. Flags tell what was found; the values that they
// doubt are NaN already.
//
// An error names the document's source and the place in it.
func Parse(d sensors.Document) (sensors.Forecast, error) {
	if d.Zone == nil {
		d.Zone = time.UTC
	}
	read, ok := formats[d.Format]
	if !ok {
		return sensors.Forecast{}, fmt.Errorf("forecast %s: %q is not a format; there are csv, gridpoint, locationforecast, open-meteo", d.Source, d.Format)
	}
	if len(strings.TrimSpace(string(d.Body))) == 0 {
		return sensors.Forecast{}, fmt.Errorf("forecast %s: the document is empty", d.Source)
	}
	found, err := read(d)
	if err != nil {
		return sensors.Forecast{}, fmt.Errorf("forecast %s: %w", d.Source, err)
	}
	for _, p := range found.points {
		if y := p.At.Year(); y < 1990 || y > 2200 {
			return sensors.Forecast{}, fmt.Errorf("forecast %s: %s is not a time of any forecast", d.Source, p.At.Format(time.DateOnly))
		}
	}
	f := sensors.Forecast{Source: d.Source, Issued: found.issued, Received: d.Received, Flags: found.flags}
	if f.Issued.IsZero() {
		f.Issued = d.Received
	}
	if ahead := f.Issued.Sub(d.Received); ahead > 0 {
		if ahead > sensors.ClockSlack {
			f.Flags = append(f.Flags, sensors.Flag{Fault: sensors.FromFuture, Note: fmt.Sprintf("issued %s after it was received; is its zone right?", ahead.Round(time.Minute))})
		}
		f.Issued = d.Received
	}
	f.Points, f.Flags = finish(found.points, f)
	if len(f.Points) == 0 {
		return sensors.Forecast{}, fmt.Errorf("forecast %s: no point has a value", d.Source)
	}
	return f, nil
}

// raw is what a reader found, as it stands in the document.
type raw struct {
	issued time.Time
	points []point
	flags  []sensors.Flag
}

// point is one time of a document. A value that is not there is NaN.
type point struct {
	conditions.Weather
	humidity unit.Humidity
	disputed map[conditions.Variable]bool // values that were taken out
}

func empty(at time.Time) point {
	return point{humidity: unit.NaN[unit.Humidity](), Weather: conditions.Weather{
		At: at.UTC(), Air: unit.NaN[unit.Temperature](), DewPoint: unit.NaN[unit.Temperature](),
		Wind: unit.NaN[unit.Speed](), Gust: unit.NaN[unit.Speed](), Rain: unit.NaN[unit.RainRate](),
		RainChance: unit.NaN[unit.Share](), Cloud: unit.NaN[unit.Share](), Shortwave: math.NaN(),
	}}
}

// variables are those of a point, in the order of flags.
var variables = []conditions.Variable{
	conditions.AirTemperature, conditions.DewPointTemp, conditions.RelHumidity, conditions.WindSpeed, conditions.GustSpeed,
	conditions.Rain, conditions.RainChance, conditions.Cloud, conditions.Shortwave,
}

func (p *point) get(v conditions.Variable) float64 {
	switch v {
	case conditions.AirTemperature:
		return float64(p.Air)
	case conditions.DewPointTemp:
		return float64(p.DewPoint)
	case conditions.RelHumidity:
		return float64(p.humidity)
	case conditions.WindSpeed:
		return float64(p.Wind)
	case conditions.GustSpeed:
		return float64(p.Gust)
	case conditions.Rain:
		return float64(p.Rain)
	case conditions.RainChance:
		return float64(p.RainChance)
	case conditions.Cloud:
		return float64(p.Cloud)
	}
	return p.Shortwave
}

func (p *point) set(v conditions.Variable, x float64) {
	switch v {
	case conditions.AirTemperature:
		p.Air = unit.Temperature(x)
	case conditions.DewPointTemp:
		p.DewPoint = unit.Temperature(x)
	case conditions.RelHumidity:
		p.humidity = unit.Humidity(x)
	case conditions.WindSpeed:
		p.Wind = unit.Speed(x)
	case conditions.GustSpeed:
		p.Gust = unit.Speed(x)
	case conditions.Rain:
		p.Rain = unit.RainRate(x)
	case conditions.RainChance:
		p.RainChance = unit.Share(x)
	case conditions.Cloud:
		p.Cloud = unit.Share(x)
	case conditions.Shortwave:
		p.Shortwave = x
	}
}

// decode reads exactly one JSON document.
func decode(body []byte, into any) error {
	dec := json.NewDecoder(strings.NewReader(string(body)))
	err := dec.Decode(into)
	var syntax *json.SyntaxError
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF):
		return fmt.Errorf("the document is cut off after %d bytes", len(body))
	case errors.As(err, &syntax):
		return fmt.Errorf("not JSON at byte %d: %w", syntax.Offset, err)
	case err != nil:
		return fmt.Errorf("not this form of document: %w", err)
	case dec.More():
		return fmt.Errorf("more follows the document at byte %d", dec.InputOffset())
	}
	return nil
}

// stamp reads a time with its zone. Some test fixtures of web sites hold
// date:now in place of times; they foretell nothing.
func stamp(text string) (time.Time, error) {
	if strings.Contains(text, "date:now") {
		return time.Time{}, fmt.Errorf("%q is a placeholder of a test fixture, not a time; the document was never filled in", text)
	}
	at, err := time.Parse(time.RFC3339Nano, text)
	if err != nil {
		return time.Time{}, fmt.Errorf("%q is not a time; it should look like 2026-04-06T06:00:00Z", text)
	}
	return at.UTC(), nil
}

func byTime(points []point) {
	sort.SliceStable(points, func(i, j int) bool { return points[i].At.Before(points[j].At) })
}
