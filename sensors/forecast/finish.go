package forecast

import (
	"fmt"
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
)

// believable is the range of each foretold value. Temperatures: common
// practice, no source; wind and radiation as in sensors.Check.
var believable = map[conditions.Variable][2]float64{
	conditions.AirTemperature: {-60, 60},
	conditions.DewPointTemp:   {-80, 40},
	conditions.RelHumidity:    {1, 105}, // nought is a service's end of data
	conditions.WindSpeed:      {0, 75},
	conditions.GustSpeed:      {0, 150},
	conditions.Rain:           {0, 400},
	conditions.RainChance:     {0, 1},
	conditions.Cloud:          {0, 1},
	conditions.Shortwave:      {-10, 1600},
}

// disagree is how far a document's humidity may lie from its own dew point
// before neither is believed, %. Layers that are rounded and held for hours
// differ by a few. Common practice, no source.
const disagree = 15

// finish orders the points, takes out what is beyond belief, derives dew
// points, and drops times at either end at which nothing is foretold. What it
// marks joins the forecast's flags, one flag a fault and variable, with the
// first time and the count.
func finish(points []point, f sensors.Forecast) ([]conditions.Weather, []sensors.Flag) {
	m := marks{}
	for i := 1; i < len(points); i++ {
		if points[i].At.Before(points[i-1].At) {
			m.mark("", sensors.OutOfOrder, points[i].At)
		}
	}
	byTime(points)
	points = once(points, &m)
	for i := range points {
		p := &points[i]
		believe(p, &m)
		p.moisture(&m)
		p.Sure = conditions.Foretold
		if !unit.Known(p.Air) || !unit.Known(p.DewPoint) {
			p.Sure = conditions.Unknown
		}
		p.AirError, p.DewError, _ = conditions.Spread(max(0, p.At.Sub(f.Issued)))
	}
	for len(points) > 0 && points[0].blank() {
		points = points[1:]
	}
	for len(points) > 0 && points[len(points)-1].blank() {
		points = points[:len(points)-1]
	}
	out := make([]conditions.Weather, len(points))
	for i, p := range points {
		out[i] = p.Weather
	}
	return out, append(f.Flags, m.flags...)
}

// once makes one point of those that share a time. Where they say different
// things neither is believed: it is the doubled hour of a clock change, or two
// runs mixed up.
func once(points []point, m *marks) []point {
	var out []point
	for _, p := range points {
		if len(out) == 0 || !out[len(out)-1].At.Equal(p.At) {
			out = append(out, p)
			continue
		}
		last := &out[len(out)-1]
		for _, v := range variables {
			a, b := last.get(v), p.get(v)
			switch {
			case math.IsNaN(a) && !last.disputed[v]:
				last.set(v, b)
			case !math.IsNaN(a) && !math.IsNaN(b) && a != b:
				last.set(v, math.NaN())
				last.dispute(v)
				m.mark(v, sensors.Repeated, p.At)
			}
		}
	}
	return out
}

func believe(p *point, m *marks) {
	for _, v := range variables {
		x, b := p.get(v), believable[v]
		if math.IsNaN(x) {
			continue
		}
		if !(x >= b[0] && x <= b[1]) {
			p.set(v, math.NaN())
			p.dispute(v)
			m.mark(v, sensors.OutOfRange, p.At)
		}
	}
}

// moisture settles the dew point: the document's own, else from air and
// humidity. One that contradicts them is not believed.
func (p *point) moisture(m *marks) {
	if p.disputed[conditions.RelHumidity] || p.disputed[conditions.DewPointTemp] {
		p.DewPoint = unit.NaN[unit.Temperature]()
		return
	}
	humid := unit.Humidity(math.Min(float64(p.humidity), 100))
	switch {
	case !unit.Known(p.Air):
	case unit.Known(p.DewPoint):
		off := p.DewPoint.Over(p.Air) > 1
		if unit.Known(humid) {
			off = off || math.Abs(float64(conditions.RelativeHumidity(p.Air, min(p.DewPoint, p.Air))-humid)) > disagree
		}
		if off {
			p.DewPoint = unit.NaN[unit.Temperature]()
			m.mark(conditions.DewPointTemp, sensors.Contradiction, p.At)
		}
	case unit.Known(humid) && humid > 0:
		p.DewPoint = conditions.DewPoint(p.Air, humid)
	}
}

func (p *point) dispute(v conditions.Variable) {
	if p.disputed == nil {
		p.disputed = map[conditions.Variable]bool{}
	}
	p.disputed[v] = true
}

// blank: nothing is foretold, and nothing was taken out.
func (p *point) blank() bool {
	for _, v := range variables {
		if !math.IsNaN(p.get(v)) || p.disputed[v] {
			return false
		}
	}
	return true
}

// noted is a time in a flag, which people read.
const noted = "2006-01-02 15:04 MST"

// marks gathers flags: one a variable and fault, with the first time and the count.
type marks struct {
	flags []sensors.Flag
	first []time.Time
	count []int
}

func (m *marks) mark(of conditions.Variable, f sensors.Fault, at time.Time) {
	for i := range m.flags {
		if m.flags[i].Of == of && m.flags[i].Fault == f {
			m.count[i]++
			m.flags[i].Note = fmt.Sprintf("%d times from %s", m.count[i], m.first[i].UTC().Format(noted))
			return
		}
	}
	m.flags = append(m.flags, sensors.Flag{Of: of, Fault: f, Note: "at " + at.UTC().Format(noted)})
	m.first, m.count = append(m.first, at), append(m.count, 1)
}
