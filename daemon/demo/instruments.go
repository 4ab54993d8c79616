package demo

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Message is what an instrument publishes.
type Message struct {
	Topic   string
	Payload []byte
}

// instrument is one sensor with its faults, which nothing else is told.
type instrument struct {
	config.Sensor
	r       *rand.Rand
	bias    map[conditions.Variable]float64
	drift   float64 // % RH a day, of the humidity element in solvent vapour
	dropout float64 // chance that one message is lost
	stuck   span    // when it repeats what it last said
	said    map[conditions.Variable]float64
	dark    bool // the last message was lost: the next may be a power-on value
	begun   time.Time
}

type span struct{ from, to time.Time }

func (s span) holds(at time.Time) bool { return !at.Before(s.from) && at.Before(s.to) }

// wrong is how a kind of value is off: the standard deviations of bias and
// noise, and the step it is rounded to. Two to three percent of humidity and
// 0.3 K are what makers of polymer elements print (CHECKS.md 7); the rest is
// common practice, no source.
var wrong = map[conditions.Variable]struct{ bias, noise, step float64 }{
	conditions.AirTemperature: {0.2, 0.06, 0.01},
	conditions.DewPointTemp:   {0.35, 0.10, 0.01},
	conditions.WetBulbTemp:    {0.3, 0.10, 0.1},
	conditions.RelHumidity:    {1.5, 0.35, 0.01},
	conditions.Surface:        {0.25, 0.05, 0.01},
	conditions.WindSpeed:      {0.15, 0.25, 0.1},
	conditions.GustSpeed:      {0.2, 0.3, 0.1},
	conditions.Rain:           {0, 0, 0.2},
	conditions.Cloud:          {0, 0.08, 0.125},
	conditions.Shortwave:      {0, 4, 1},
	conditions.AirPressure:    {40, 15, 10},
}

// newInstruments draws the faults of every sensor that publishes. One of them,
// not the weather station, is stuck for hours on one of the first days.
func newInstruments(seed uint64, sensors []config.Sensor, start time.Time, days int) []*instrument {
	var all, inner []*instrument
	for _, s := range sensors {
		if s.Topic == "" {
			continue
		}
		r := luck(seed, "instrument", s.Name)
		i := &instrument{Sensor: s, r: r, bias: map[conditions.Variable]float64{}, begun: start, dropout: between(r, 0.002, 0.015), drift: between(r, -0.15, 0.05)}
		for _, v := range variables(s) {
			i.bias[v] = wrong[v].bias * r.NormFloat64()
		}
		all = append(all, i)
		if s.Place != config.Outdoors {
			inner = append(inner, i)
		}
	}
	if len(inner) > 0 {
		r := luck(seed, "stuck")
		from := start.Add(time.Duration(between(r, 1, math.Max(2, math.Min(6, float64(days))))*24*60) * time.Minute)
		inner[r.IntN(len(inner))].stuck = span{from, from.Add(time.Duration(between(r, 5, 9)*60) * time.Minute)}
	}
	return all
}

// variables are those a sensor reports, in one order.
func variables(s config.Sensor) []conditions.Variable {
	var all []conditions.Variable
	for v := range s.Values {
		all = append(all, v)
	}
	slices.Sort(all)
	return all
}

// measured is what is true where an instrument hangs. NaN is not there to be measured.
type measured struct {
	air, dew, surface                  float64
	wind, gust, rain, cloud, shortwave float64
	fan                                float64
	said                               *Said // instead of the truth, from a recording
}

func (m measured) of(v conditions.Variable) float64 {
	switch v {
	case conditions.AirTemperature:
		return m.air
	case conditions.RelHumidity:
		return humidityOf(m.air, m.dew)
	case conditions.DewPointTemp:
		return m.dew
	case conditions.WetBulbTemp:
		return wetBulb(m.air, m.dew)
	case conditions.Surface:
		return m.surface
	case conditions.WindSpeed:
		return m.wind
	case conditions.GustSpeed:
		return m.gust
	case conditions.Rain:
		return m.rain
	case conditions.Cloud:
		return m.cloud
	case conditions.Shortwave:
		return m.shortwave
	case conditions.AirPressure:
		return seaLevel
	case conditions.Fan:
		return m.fan
	}
	return math.NaN()
}

// wetBulb solves the psychrometer formula e = es(tw) − A p (t − tw) with the
// WMO-No. 8 coefficient of a ventilated psychrometer, 6.53e-4 per K, by halving.
func wetBulb(air, dew float64) float64 {
	low, high := dew, air
	for range 40 {
		mid := (low + high) / 2
		if saturation(mid)-6.53e-4*(1+0.000944*mid)*seaLevel*(air-mid) > saturation(dew) {
			high = mid
		} else {
			low = mid
		}
	}
	return (low + high) / 2
}

// report is what the instrument publishes at a time; false when it is silent.
func (i *instrument) report(at time.Time, m measured) (Message, bool, error) {
	lost := i.r.Float64() < i.dropout
	values := map[conditions.Variable]float64{}
	for _, v := range variables(i.Sensor) {
		values[v] = i.reading(v, at, m) // drawn even when lost, so that a fault shifts no later draw
	}
	if m.said != nil && m.said.Silent || lost {
		i.dark = true
		return Message{}, false, nil
	}
	switch {
	case i.stuck.holds(at) && i.said != nil:
		values = i.said
	case m.said != nil:
		i.repeat(values, *m.said)
	case i.dark && i.r.Float64() < 0.3:
		// A digital thermometer that lost its power says 85 °C until its first conversion.
		for _, v := range []conditions.Variable{conditions.Surface, conditions.AirTemperature} {
			if _, ok := values[v]; ok {
				values[v] = 85
				break
			}
		}
	}
	i.dark, i.said = false, values
	payload, err := i.payload(at, values)
	return Message{Topic: i.Topic, Payload: payload}, err == nil, err
}

func (i *instrument) reading(v conditions.Variable, at time.Time, m measured) float64 {
	w := wrong[v]
	noise := w.noise * i.r.NormFloat64()
	x := m.of(v)
	if v == conditions.Fan || math.IsNaN(x) {
		return x
	}
	if v == conditions.Shortwave && x == 0 {
		noise = math.Abs(noise) / 4
	}
	x += i.bias[v] + noise
	switch v {
	case conditions.RelHumidity:
		x = clamp(x+i.drift*at.Sub(i.begun).Hours()/24, 2, 100)
	case conditions.WindSpeed, conditions.GustSpeed, conditions.Rain, conditions.Shortwave:
		x = math.Max(0, x)
	case conditions.Cloud:
		x = clamp(x, 0, 1)
	}
	return round(x, w.step)
}

// repeat puts what a recording said in place of the truth.
func (i *instrument) repeat(values map[conditions.Variable]float64, s Said) {
	for v, x := range map[conditions.Variable]float64{
		conditions.AirTemperature: s.Air, conditions.DewPointTemp: s.DewPoint, conditions.RelHumidity: s.Humidity,
		conditions.WindSpeed: s.Wind, conditions.Rain: s.Rain,
	} {
		if _, ok := values[v]; ok {
			values[v] = x
		}
	}
	// A recording without a gust in an hour reports none: the station made it up from the wind.
	if _, ok := values[conditions.GustSpeed]; ok {
		values[conditions.GustSpeed] = known(s.Gust, s.Wind)
	}
}

func round(x, step float64) float64 {
	if step <= 0 {
		return x
	}
	return math.Round(x/step) * step
}

// payload is the message that the yard file describes: a number alone, or JSON
// with each value at its path; null where there is none.
func (i *instrument) payload(at time.Time, values map[conditions.Variable]float64) ([]byte, error) {
	doc := map[string]any{}
	for _, v := range variables(i.Sensor) {
		field := i.Values[v]
		raw, err := inUnit(v, values[v], field.Unit)
		if err != nil {
			return nil, fmt.Errorf("sensor %s, %s: %w", i.Name, v, err)
		}
		if field.Scale != 0 {
			raw /= field.Scale
		}
		var cell any
		if unit.Known(raw) {
			cell = math.Round(raw*1e4) / 1e4
		}
		if field.Path == "" {
			return json.Marshal(cell)
		}
		put(doc, field.Path, cell)
	}
	if i.Time != "" {
		put(doc, i.Time, at.UTC().Format(time.RFC3339))
	}
	return json.Marshal(doc)
}

// put sets a value at a path of keys with dots between.
func put(doc map[string]any, path string, value any) {
	for {
		key, rest, nested := strings.Cut(path, ".")
		if !nested {
			doc[key] = value
			return
		}
		inner, ok := doc[key].(map[string]any)
		if !ok {
			inner = map[string]any{}
			doc[key] = inner
		}
		doc, path = inner, rest
	}
}

// inUnit writes a stored value in the unit of a device.
func inUnit(v conditions.Variable, x float64, symbol string) (float64, error) {
	symbol = strings.TrimPrefix(symbol, "°")
	if symbol == "" || math.IsNaN(x) {
		return x, nil
	}
	raw := x
	switch v {
	case conditions.AirTemperature, conditions.DewPointTemp, conditions.WetBulbTemp, conditions.Surface:
		raw = unit.In(unit.Temperature(x), symbol)
	case conditions.RelHumidity:
		raw = unit.In(unit.Humidity(x), symbol)
	case conditions.WindSpeed, conditions.GustSpeed:
		raw = unit.In(unit.Speed(x), symbol)
	case conditions.Rain:
		raw = unit.In(unit.RainRate(x), symbol)
	case conditions.Cloud:
		raw = unit.In(unit.Share(x), symbol)
	case conditions.AirPressure:
		raw = unit.In(unit.Pressure(x), symbol)
	}
	if math.IsNaN(raw) {
		return 0, fmt.Errorf("%q is not a unit of %s", symbol, v)
	}
	return raw, nil
}
