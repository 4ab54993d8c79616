package forecast

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// layer is one value's runs of a gridpoint document (api.weather.gov): each
// value holds for an ISO 8601 interval such as 2022-02-03T21:00:00+00:00/PT5H.
type layer struct {
	Unit   string `json:"uom"`
	Values []struct {
		Valid string          `json:"validTime"`
		Value json.RawMessage `json:"value"`
	} `json:"values"`
}

// run is one value of a layer with its interval, half-open.
type run struct {
	from, to time.Time
	x        *float64
}

var layerNames = []struct {
	name string
	of   conditions.Variable
	unit string // where uom is silent; the service's own
}{
	{"temperature", conditions.AirTemperature, "degC"},
	{"dewpoint", conditions.DewPointTemp, "degC"},
	{"relativeHumidity", conditions.RelHumidity, "percent"},
	{"windSpeed", conditions.WindSpeed, "km_h-1"},
	{"windGust", conditions.GustSpeed, "km_h-1"},
	{"quantitativePrecipitation", conditions.Rain, "mm"},
	{"probabilityOfPrecipitation", conditions.RainChance, "percent"},
	{"skyCover", conditions.Cloud, "percent"},
}

// longest is the most hours a document may span: what a service gives out, and
// room to spare. It bounds the work that a wrong interval makes.
const longest = 40 * 24

func readLayers(d sensors.Document) (raw, error) {
	var doc struct {
		Properties map[string]json.RawMessage `json:"properties"`
	}
	if err := decode(d.Body, &doc); err != nil {
		return raw{}, err
	}
	if _, ok := doc.Properties["periods"]; ok {
		return raw{}, fmt.Errorf("this is a forecast in periods for readers; ask for the gridpoint itself (…/gridpoints/OFFICE/X,Y without /forecast)")
	}
	var out raw
	var text string
	if found, ok := doc.Properties["updateTime"]; ok {
		if err := json.Unmarshal(found, &text); err != nil {
			return raw{}, fmt.Errorf("properties.updateTime: %w", err)
		}
		at, err := stamp(text)
		if err != nil {
			return raw{}, fmt.Errorf("properties.updateTime: %w", err)
		}
		out.issued = at
	}
	layers := map[conditions.Variable][]run{}
	for _, n := range layerNames {
		found, ok := doc.Properties[n.name]
		if !ok {
			continue
		}
		runs, err := runsOf(found, n.of, n.unit)
		if err != nil {
			return raw{}, fmt.Errorf("properties.%s%w", n.name, err)
		}
		layers[n.of] = runs
	}
	if len(layers[conditions.AirTemperature]) == 0 {
		return raw{}, fmt.Errorf("properties.temperature is missing or empty; is this a gridpoint document?")
	}
	if len(layers[conditions.DewPointTemp]) == 0 && len(layers[conditions.RelHumidity]) == 0 {
		return raw{}, fmt.Errorf("properties.dewpoint and properties.relativeHumidity are both missing or empty")
	}
	points, err := hourly(layers)
	out.points = points
	return out, err
}

// runsOf reads one layer; its errors begin with the path below the layer.
func runsOf(body json.RawMessage, of conditions.Variable, otherwise string) ([]run, error) {
	var l layer
	if err := json.Unmarshal(body, &l); err != nil {
		return nil, fmt.Errorf(": %w", err)
	}
	if l.Unit == "" {
		l.Unit = otherwise
	}
	var runs []run
	for i, v := range l.Values {
		from, to, err := interval(v.Valid)
		if err != nil {
			return nil, fmt.Errorf(".values[%d].validTime: %w", i, err)
		}
		r := run{from: from, to: to}
		if err := json.Unmarshal(v.Value, &r.x); err != nil {
			return nil, fmt.Errorf(".values[%d].value: %s is not a number", i, v.Value)
		}
		if r.x != nil {
			x, err := sensors.Convert(of, *r.x, l.Unit)
			if err != nil {
				return nil, fmt.Errorf(".uom: %w", err)
			}
			if of == conditions.Rain {
				x /= to.Sub(from).Hours() // an amount over the interval
			}
			r.x = &x
		}
		runs = append(runs, r)
	}
	return runs, nil
}

// hourly spreads the runs over the hours of the temperature layer. Rain is of
// the hour before each time; its chance, given for a run of hours, is taken
// whole for each of them: no less than the chance of that hour.
func hourly(layers map[conditions.Variable][]run) ([]point, error) {
	air := layers[conditions.AirTemperature]
	first, last := air[0].from, air[0].to
	for _, r := range air {
		if r.from.Before(first) {
			first = r.from
		}
		if r.to.After(last) {
			last = r.to
		}
	}
	if last.Sub(first) > longest*time.Hour {
		return nil, fmt.Errorf("properties.temperature spans %.0f days; a forecast of more than %d is not believed", last.Sub(first).Hours()/24, longest/24)
	}
	var points []point
	for at := first; at.Before(last); at = at.Add(time.Hour) {
		points = append(points, empty(at))
	}
	for _, n := range layerNames {
		shift := time.Duration(0)
		if n.of == conditions.Rain || n.of == conditions.RainChance {
			shift = time.Hour
		}
		for _, r := range layers[n.of] {
			// The hours first+k with from <= first+k-shift < to.
			k := int((r.from.Add(shift).Sub(first) + time.Hour - 1) / time.Hour)
			for k = max(k, 0); k < len(points) && points[k].At.Add(-shift).Before(r.to); k++ {
				if r.x != nil && !points[k].At.Add(-shift).Before(r.from) {
					points[k].set(n.of, *r.x)
				}
			}
		}
	}
	return points, nil
}

// interval reads start/duration. Durations are of days, hours, minutes and seconds.
func interval(text string) (from, to time.Time, err error) {
	start, length, ok := strings.Cut(text, "/")
	if !ok || strings.Contains(text, "date:now") {
		if _, err := stamp(text); err != nil {
			return from, to, err
		}
		return from, to, fmt.Errorf("%q is not an interval like 2026-04-06T06:00:00+00:00/PT3H", text)
	}
	if from, err = stamp(start); err != nil {
		return from, to, err
	}
	d, ok := period(length)
	if !ok {
		return from, to, fmt.Errorf("%q is not a duration like PT3H or P1DT6H", length)
	}
	return from, from.Add(d), nil
}

func period(text string) (time.Duration, bool) {
	rest, ok := strings.CutPrefix(text, "P")
	if !ok {
		return 0, false
	}
	total, clock := 0*time.Second, false
	for rest != "" {
		if rest[0] == 'T' && !clock {
			clock, rest = true, rest[1:]
			continue
		}
		i := strings.IndexAny(rest, "DHMS")
		if i < 1 || i > 6 {
			return 0, false
		}
		n, err := strconv.Atoi(rest[:i])
		per, known := units[clock][rest[i]]
		if err != nil || n < 0 || !known {
			return 0, false
		}
		total += time.Duration(n) * per
		rest = rest[i+1:]
	}
	return total, total > 0 && total <= longest*time.Hour
}

// units of an ISO 8601 duration, before and behind the T.
var units = map[bool]map[byte]time.Duration{
	false: {'D': 24 * time.Hour},
	true:  {'H': time.Hour, 'M': time.Minute, 'S': time.Second},
}
