package sensors

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// What a slow offset is found in. Common practice, no source.
const (
	// leastHours and leastNights are how many hours two sources must have in common,
	// of the Remembered ones, before their median difference means anything.
	leastHours, leastNights = 24, 12
	// ventilated is how far the dew point of a shed that is open to the air may stay
	// from outdoors at night, when nobody works there and nothing dries, K: the pair's
	// ±3 % and ±0.5 K are ±1.2 K, and a damp floor adds to it.
	ventilated = 2.0
)

// hourly is the last good word of a source in each hour of the Remembered ones.
func hourly(readings []Reading, now time.Time) map[time.Time]told {
	by := map[time.Time]told{}
	for _, r := range readings {
		if t, ok := tells(r, 0); ok && now.Sub(t.at) < Remembered && !t.at.After(now) {
			by[t.at.UTC().Truncate(time.Hour)] = t
		}
	}
	return by
}

// offsets asks for a check of sources whose difference from the instrument beside
// them stays: a single difference may be a draught, the median of days is not. The
// pair may differ by the root of the sum of their squared doubts.
func offsets(y config.Yard, by map[string][]Reading, now time.Time, ask func(source string, f Flag)) {
	for i, a := range y.Sensors {
		if a.Place == "" {
			continue
		}
		one := hourly(by[a.Name], now)
		for _, b := range y.Sensors[i+1:] {
			if b.Place == a.Place {
				steady(one, hourly(by[b.Name], now), func(f Flag) {
					ask(a.Name, f)
					ask(b.Name, f)
				})
			}
		}
		place, ok := y.Place(a.Place)
		if !ok || place.Dehumidifier != nil || place.Kind != config.Shed && place.Kind != config.Slip {
			continue
		}
		for _, b := range y.Sensors {
			if b.Place == config.Outdoors {
				atNight(y, one, hourly(by[b.Name], now), func(f Flag) { ask(a.Name, f) })
			}
		}
	}
}

func steady(one, other map[time.Time]told, ask func(Flag)) {
	for _, of := range []conditions.Variable{conditions.AirTemperature, conditions.RelHumidity} {
		var by []float64
		var last difference
		for _, hour := range slices.SortedFunc(maps.Keys(one), time.Time.Compare) {
			d := difference{of, one[hour], other[hour]}
			if !math.IsNaN(d.by()) && d.b.source != "" {
				by, last = append(by, d.by()), d
			}
		}
		if len(by) < leastHours {
			continue
		}
		x, z := last.doubts()
		if m := median(by); math.Abs(m) > math.Hypot(x, z) {
			ask(Flag{Of: of, Fault: Drifting, Note: fmt.Sprintf("%s has read %+.1f %s over %s for %d hours; check both against a hand instrument",
				last.a.source, m, sign(of), last.b.source, len(by))})
		}
	}
}

func sign(of conditions.Variable) string {
	if of == conditions.AirTemperature {
		return "K"
	}
	return "%"
}

// atNight compares the dew points of a ventilated place and of outdoors, which are
// the same air, from 22:00 to 05:00.
func atNight(y config.Yard, inside, out map[time.Time]told, ask func(Flag)) {
	zone, err := y.Location()
	if err != nil {
		return
	}
	var by []float64
	var source string
	for at, a := range inside {
		hour := at.In(zone).Hour()
		if x, z := a.dew(), out[at].dew(); (hour >= 22 || hour < 5) && out[at].source != "" && !math.IsNaN(x-z) {
			by, source = append(by, x-z), out[at].source
		}
	}
	if len(by) < leastNights {
		return
	}
	if m := median(by); math.Abs(m) > ventilated {
		ask(Flag{Of: conditions.RelHumidity, Fault: Drifting, Note: fmt.Sprintf(
			"by night its dew point has stood %+.1f K over that of %s; check it against a hand instrument", m, source)})
	}
}

func (t told) dew() float64 {
	if math.IsNaN(t.air) || math.IsNaN(t.humidity) {
		return math.NaN()
	}
	return float64(conditions.DewPoint(unit.Temperature(t.air), unit.Humidity(t.humidity)))
}

func median(x []float64) float64 {
	slices.Sort(x)
	n := len(x)
	return (x[(n-1)/2] + x[n/2]) / 2
}
