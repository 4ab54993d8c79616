package forecast

import (
	"encoding/json"
	"fmt"
	"sort"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// arrays is a document of parallel arrays under hourly (open-meteo.com). Rain
// and radiation are for the hour before each time, as in conditions.Weather.
type arrays struct {
	Error  bool                       `json:"error"`
	Reason string                     `json:"reason"`
	Offset *int                       `json:"utc_offset_seconds"`
	Units  map[string]string          `json:"hourly_units"`
	Hourly map[string]json.RawMessage `json:"hourly"`
}

// names are the arrays' names, the newer first, and the service's own unit of
// each, in force where hourly_units is silent.
var names = []struct {
	of    conditions.Variable
	names []string
	unit  string
}{
	{conditions.AirTemperature, []string{"temperature_2m"}, "°C"},
	{conditions.RelHumidity, []string{"relative_humidity_2m", "relativehumidity_2m"}, "%"},
	{conditions.DewPointTemp, []string{"dew_point_2m", "dewpoint_2m"}, "°C"},
	{conditions.WindSpeed, []string{"wind_speed_10m", "windspeed_10m"}, "km/h"},
	{conditions.GustSpeed, []string{"wind_gusts_10m", "windgusts_10m"}, "km/h"},
	{conditions.Rain, []string{"precipitation"}, "mm"},
	{conditions.RainChance, []string{"precipitation_probability"}, "%"},
	{conditions.Cloud, []string{"cloud_cover", "cloudcover"}, "%"},
	{conditions.Shortwave, []string{"shortwave_radiation"}, "W/m²"},
}

func readArrays(d sensors.Document) (raw, error) {
	var doc arrays
	if err := decode(d.Body, &doc); err != nil {
		return raw{}, err
	}
	if doc.Error {
		return raw{}, fmt.Errorf("the service refused: %s", doc.Reason)
	}
	times, err := doc.times()
	if err != nil {
		return raw{}, err
	}
	points := make([]point, len(times))
	for i, at := range times {
		points[i] = empty(at)
	}
	found := map[conditions.Variable]bool{}
	for _, n := range names {
		for _, name := range n.names {
			if _, ok := doc.Hourly[name]; !ok || found[n.of] {
				continue
			}
			found[n.of] = true
			unit := n.unit
			if u := doc.Units[name]; u != "" {
				unit = u
			}
			if err := doc.fill(points, n.of, name, unit); err != nil {
				return raw{}, err
			}
		}
	}
	if !found[conditions.AirTemperature] {
		return raw{}, fmt.Errorf("hourly has no temperature_2m, only %s; ask for temperature_2m, dew_point_2m, wind_speed_10m, wind_gusts_10m, precipitation, precipitation_probability, cloud_cover, shortwave_radiation of one model", strings.Join(doc.others(), ", "))
	}
	if !found[conditions.DewPointTemp] && !found[conditions.RelHumidity] {
		return raw{}, fmt.Errorf("hourly has neither dew_point_2m nor relative_humidity_2m; ask for one")
	}
	return raw{points: points}, nil
}

// times are on a clock that is utc_offset_seconds ahead of UTC, or Unix seconds.
func (a arrays) times() ([]time.Time, error) {
	list, ok := a.Hourly["time"]
	if !ok {
		return nil, fmt.Errorf("no hourly.time")
	}
	var unix []int64
	if err := json.Unmarshal(list, &unix); err == nil {
		out := make([]time.Time, len(unix))
		for i, s := range unix {
			out[i] = time.Unix(s, 0).UTC()
		}
		return out, nil
	}
	var text []string
	if err := json.Unmarshal(list, &text); err != nil {
		return nil, fmt.Errorf("hourly.time: neither texts nor Unix seconds: %w", err)
	}
	if a.Offset == nil {
		return nil, fmt.Errorf("no utc_offset_seconds, and the times have no zone")
	}
	out := make([]time.Time, len(text))
	for i, s := range text {
		at, err := time.Parse("2006-01-02T15:04", s)
		if err != nil {
			return nil, fmt.Errorf("hourly.time[%d]: %q is not a time like 2026-04-06T06:00", i, s)
		}
		out[i] = at.Add(-time.Duration(*a.Offset) * time.Second)
	}
	return out, nil
}

func (a arrays) fill(points []point, of conditions.Variable, name, unit string) error {
	var xs []*float64
	if err := json.Unmarshal(a.Hourly[name], &xs); err != nil {
		return fmt.Errorf("hourly.%s: %w", name, err)
	}
	if len(xs) != len(points) {
		return fmt.Errorf("hourly.%s has %d values for %d times; is the document cut off?", name, len(xs), len(points))
	}
	for i, x := range xs {
		if x == nil {
			continue
		}
		value, err := sensors.Convert(of, *x, unit)
		if err != nil {
			return fmt.Errorf("hourly_units.%s: %w", name, err)
		}
		points[i].set(of, value)
	}
	return nil
}

func (a arrays) others() []string {
	var found []string
	for name := range a.Hourly {
		if name != "time" {
			found = append(found, name)
		}
	}
	sort.Strings(found)
	return found
}
