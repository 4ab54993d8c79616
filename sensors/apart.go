package sensors

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// beside is how close in time two instruments must have spoken to be compared, for
// air in a booth changes. Common practice, no source.
const beside = 30 * time.Minute

// The doubt of one instrument, as makers print it for those a yard has: ±0.5 K of
// air, ±3 % of humidity (common practice, no source). A humidity that is made of a
// wet bulb or a dew point has that of a bulb misread by 0.5 K: 5 % at 20 °C and 17 °C.
const (
	airDoubt      = 0.5
	humidityDoubt = 3.0
	derivedDoubt  = 5.0
)

// told is what one source says of the air at a time.
type told struct {
	source        string
	at            time.Time
	air, humidity float64 // NaN where it says nothing
	derived       bool    // the humidity is made of a dew point or a wet bulb
}

// difference is two sources of one place that cannot both be within their doubts.
type difference struct {
	of   conditions.Variable
	a, b told
}

func (d difference) String() string {
	if d.of == conditions.AirTemperature {
		return fmt.Sprintf("%s says %.1f °C, %s %.1f °C", d.a.source, d.a.air, d.b.source, d.b.air)
	}
	return fmt.Sprintf("%s says %.0f %%, %s %.0f %%", d.a.source, d.a.humidity, d.b.source, d.b.humidity)
}

// doubts are how sure two humidities are together, or two airs, K or %.
func (d difference) doubts() (a, b float64) {
	of := func(t told) float64 {
		switch {
		case d.of == conditions.AirTemperature:
			return airDoubt
		case t.derived:
			return derivedDoubt
		}
		return humidityDoubt
	}
	return of(d.a), of(d.b)
}

// by is how much a says over b, K or %.
func (d difference) by() float64 {
	if d.of == conditions.AirTemperature {
		return d.a.air - d.b.air
	}
	return d.a.humidity - d.b.humidity
}

// differences are those of two sources: further apart than both doubts together,
// one at least is not within its own.
func differences(a, b told) []difference {
	var all []difference
	for _, of := range []conditions.Variable{conditions.AirTemperature, conditions.RelHumidity} {
		d := difference{of, a, b}
		if x, y := d.doubts(); math.Abs(d.by()) > x+y {
			all = append(all, d)
		}
	}
	return all
}

// tells is what a reading says of the air; false if nothing good.
func tells(r Reading, p unit.Pressure) (told, bool) {
	t := told{source: r.Source, at: believed(r), air: math.NaN(), humidity: math.NaN()}
	if air, ok := r.Good(conditions.AirTemperature); ok {
		t.air = air
	}
	for _, of := range []conditions.Variable{conditions.RelHumidity, conditions.WetBulbTemp, conditions.DewPointTemp} {
		x, ok := r.Good(of)
		if !ok {
			continue
		}
		if h, ok := humidityBy(moisture{of: of, x: x}, t.air, p); ok {
			t.humidity, t.derived = h, of != conditions.RelHumidity
			break
		}
	}
	return t, !math.IsNaN(t.air) || !math.IsNaN(t.humidity)
}

// humidityBy is the humidity that a moisture says in air of a temperature, %.
func humidityBy(w moisture, air float64, p unit.Pressure) (float64, bool) {
	if w.of == conditions.RelHumidity {
		return math.Min(w.x, 100), true
	}
	if !(p > 0) {
		p = conditions.StandardPressure(0)
	}
	a, err := conditions.Solve(w.known(air, p))
	if err != nil {
		return math.NaN(), false
	}
	return float64(a.Humidity), true
}

// apart words which sources of a spot disagree now.
func (s sifted) apart(p unit.Pressure) string {
	var all []told
	for _, source := range s.sources {
		for _, r := range s.by[source] {
			if !s.fresh(r) {
				break
			}
			if t, ok := tells(r, p); ok {
				all = append(all, t)
				break
			}
		}
	}
	var words []string
	for i, a := range all {
		for _, b := range all[i+1:] {
			if a.at.Sub(b.at).Abs() > beside {
				continue
			}
			for _, d := range differences(a, b) {
				words = append(words, d.String())
			}
		}
	}
	return strings.Join(words, "; ")
}

// apart compares a reading with the newest good one of each other source. Both stay,
// and the worse rules; the reading that came later carries the flag.
func (c *checker) apart() {
	is, ok := tells(*c.r, 0)
	if !ok {
		return
	}
	latest := map[string]told{}
	for _, p := range c.beside {
		t, ok := tells(p, 0)
		if !ok || p.Place != c.r.Place || p.Boat != c.r.Boat && p.Boat != "" && c.r.Boat != "" || t.at.Sub(is.at).Abs() > beside {
			continue
		}
		if had, ok := latest[p.Source]; !ok || t.at.After(had.at) {
			latest[p.Source] = t
		}
	}
	for _, source := range slices.Sorted(maps.Keys(latest)) {
		for _, d := range differences(is, latest[source]) {
			c.mark(d.of, Apart, "%s", d)
		}
	}
}
