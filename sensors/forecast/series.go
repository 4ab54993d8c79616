package forecast

import (
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// series is a locationforecast 2.0 document (api.met.no): a time series, hourly
// for some days and then six-hourly, with keys left out rather than null.
type series struct {
	Properties struct {
		Meta struct {
			Updated string            `json:"updated_at"`
			Units   map[string]string `json:"units"`
		} `json:"meta"`
		Series []struct {
			Time string `json:"time"`
			Data struct {
				Instant block `json:"instant"`
				Hour    block `json:"next_1_hours"`
				Six     block `json:"next_6_hours"`
			} `json:"data"`
		} `json:"timeseries"`
	} `json:"properties"`
}

type block struct {
	Details map[string]*float64 `json:"details"` // nil: null, which foretells nothing
}

// of is a value, if it is there.
func (b block) of(name string) (float64, bool) {
	x := b.Details[name]
	if x == nil {
		return 0, false
	}
	return *x, true
}

// instants are the values at a time, with the service's own units, in force
// where meta.units is silent.
var instants = []struct {
	name string
	of   conditions.Variable
	unit string
}{
	{"air_temperature", conditions.AirTemperature, "celsius"},
	{"dew_point_temperature", conditions.DewPointTemp, "celsius"},
	{"relative_humidity", conditions.RelHumidity, "%"},
	{"wind_speed", conditions.WindSpeed, "m/s"},
	{"wind_speed_of_gust", conditions.GustSpeed, "m/s"},
	{"cloud_area_fraction", conditions.Cloud, "%"},
}

func readSeries(d sensors.Document) (raw, error) {
	var doc series
	if err := decode(d.Body, &doc); err != nil {
		return raw{}, err
	}
	p := doc.Properties
	var out raw
	if p.Meta.Updated != "" {
		at, err := stamp(p.Meta.Updated)
		if err != nil {
			return raw{}, fmt.Errorf("properties.meta.updated_at: %w", err)
		}
		out.issued = at
	}
	if len(p.Series) == 0 {
		return raw{}, fmt.Errorf("properties.timeseries is missing or empty; is this a locationforecast document?")
	}
	for i, s := range p.Series {
		at, err := stamp(s.Time)
		if err != nil {
			return raw{}, fmt.Errorf("properties.timeseries[%d].time: %w", i, err)
		}
		pt := empty(at)
		for _, n := range instants {
			x, ok := s.Data.Instant.of(n.name)
			if !ok {
				continue
			}
			if err := put(&pt, n.of, x, unitOf(p.Meta.Units, n.name, n.unit)); err != nil {
				return raw{}, fmt.Errorf("properties.meta.units.%s: %w", n.name, err)
			}
		}
		out.points = append(out.points, pt)
	}
	return out, doc.rain(out.points)
}

// rain goes from the period that begins at a time to the point at its end: it is
// of the time before that point. The period is the one that ends there; six
// hours' amount is spread evenly, six hours' chance taken whole.
func (doc series) rain(points []point) error {
	units := doc.Properties.Meta.Units
	for i, s := range doc.Properties.Series {
		for _, next := range []struct {
			block
			hours int
		}{{s.Data.Hour, 1}, {s.Data.Six, 6}} {
			j := i + 1
			if j >= len(points) || points[j].At.Sub(points[i].At) != time.Duration(next.hours)*time.Hour {
				continue
			}
			if x, ok := next.of("precipitation_amount"); ok {
				if err := put(&points[j], conditions.Rain, x/float64(next.hours), unitOf(units, "precipitation_amount", "mm")); err != nil {
					return fmt.Errorf("properties.meta.units.precipitation_amount: %w", err)
				}
			}
			if x, ok := next.of("probability_of_precipitation"); ok {
				if err := put(&points[j], conditions.RainChance, x, unitOf(units, "probability_of_precipitation", "%")); err != nil {
					return fmt.Errorf("properties.meta.units.probability_of_precipitation: %w", err)
				}
			}
		}
	}
	return nil
}

func unitOf(units map[string]string, name, otherwise string) string {
	if u := units[name]; u != "" {
		return u
	}
	return otherwise
}

func put(p *point, of conditions.Variable, x float64, unit string) error {
	value, err := sensors.Convert(of, x, unit)
	if err == nil {
		p.set(of, value)
	}
	return err
}
