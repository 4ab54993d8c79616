package sensors

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Spot is where a stage happens: a place, and the boat that stands in it.
type Spot struct {
	Place    string
	Boat     string        // none: surfaces of the place only
	Pressure unit.Pressure // for wet bulbs; zero: standard at sea level
}

// round is one walk around a hull with one thermometer: surface values of one
// source this close to its latest count together. Common practice, no source.
const round = 15 * time.Minute

// Merge is what a spot's good readings say is now. Each source speaks by its
// newest value; if that one is doubtful the source is silent, for an instrument
// that just told nonsense is not to be believed about a minute ago. A missing
// or repeated value leaves the one before in force until it is stale.
//
// Air and dew point are those of the source with the highest dew point, which
// leaves the smallest margin (TRADE.md 7, case 23). The coldest and the warmest
// surface are the least and the greatest of all sources. With nothing good
// within stale the Moment is Unknown and says why (case 22). At is now;
// errors are zero: measured values are judged as they are.
func Merge(readings []Reading, at Spot, now time.Time, stale time.Duration) conditions.Moment {
	m := conditions.Moment{
		At: now, Air: unit.NaN[unit.Temperature](), DewPoint: unit.NaN[unit.Temperature](),
		Coldest: unit.NaN[unit.Temperature](), Warmest: unit.NaN[unit.Temperature](),
		Wind: unit.NaN[unit.Speed](), Gust: unit.NaN[unit.Speed](),
		Rain: unit.NaN[unit.RainRate](), RainChance: unit.NaN[unit.Share](),
		Sure: conditions.Unknown,
	}
	s := sift(readings, at, now, stale)
	m.Wind = unit.Speed(s.greatest(conditions.WindSpeed))
	m.Gust = unit.Speed(s.greatest(conditions.GustSpeed))
	if rain := s.greatest(conditions.Rain); !math.IsNaN(rain) {
		m.Rain, m.RainChance = unit.RainRate(rain), 0
		if rain > 0 {
			m.RainChance = 1
		}
	}
	low, high := s.surfaces()
	m.Coldest, m.Warmest = unit.Temperature(low), unit.Temperature(high)
	air, why := s.air(at.Pressure)
	if why != "" {
		m.Why = why
		return m
	}
	m.Air, m.DewPoint, m.Sure = air.Temperature, air.DewPoint, conditions.Measured
	return m
}

// Latest is each source's newest value of a variable at a spot that is good
// and not stale, by source.
func Latest(readings []Reading, at Spot, v conditions.Variable, now time.Time, stale time.Duration) map[string]float64 {
	s := sift(readings, at, now, stale)
	found := map[string]float64{}
	for _, source := range s.sources {
		if x, ok := s.value(source, v); ok {
			found[source] = x
		}
	}
	return found
}

// sifted are one spot's readings by source, newest first.
type sifted struct {
	sources []string // sorted: same input, same output
	by      map[string][]Reading
	now     time.Time
	stale   time.Duration
}

func sift(readings []Reading, at Spot, now time.Time, stale time.Duration) sifted {
	s := sifted{by: map[string][]Reading{}, now: now, stale: stale}
	for _, r := range readings {
		if !here(r, at) {
			continue
		}
		if s.by[r.Source] == nil {
			s.sources = append(s.sources, r.Source)
		}
		s.by[r.Source] = append(s.by[r.Source], r)
	}
	sort.Strings(s.sources)
	for _, rs := range s.by {
		sort.SliceStable(rs, func(i, j int) bool {
			if !rs[i].At.Equal(rs[j].At) {
				return rs[i].At.After(rs[j].At)
			}
			return rs[i].Received.After(rs[j].Received)
		})
	}
	return s
}

// here: a reading of a boat goes with the boat, and counts only in the place
// that it names, if it names one.
func here(r Reading, at Spot) bool {
	if r.Boat != "" && r.Boat != at.Boat {
		return false
	}
	return r.Place == at.Place || r.Place == "" && r.Boat != ""
}

// speaks tells whether a reading says something about a variable: a value that
// is missing, or that may be an earlier one delivered again, does not.
func speaks(r Reading, v conditions.Variable) bool {
	if _, ok := r.Values[v]; !ok {
		return false
	}
	for _, f := range r.Flags {
		if (f.Of == v || f.Of == "") && f.Fault == Repeated {
			return false
		}
	}
	return true
}

// value is what a source says of a variable now.
func (s sifted) value(source string, v conditions.Variable) (float64, bool) {
	for _, r := range s.by[source] {
		if !speaks(r, v) {
			continue
		}
		x, ok := r.Good(v)
		return x, ok && s.fresh(r)
	}
	return math.NaN(), false
}

func (s sifted) fresh(r Reading) bool {
	return s.now.Sub(r.At) <= s.stale && r.At.Sub(s.now) <= ClockSlack
}

func (s sifted) greatest(v conditions.Variable) float64 {
	most := math.NaN()
	for _, source := range s.sources {
		if x, ok := s.value(source, v); ok && !(x <= most) {
			most = x
		}
	}
	return most
}

func (s sifted) surfaces() (low, high float64) {
	low, high = math.NaN(), math.NaN()
	for _, source := range s.sources {
		if _, ok := s.value(source, conditions.Surface); !ok {
			continue
		}
		var newest time.Time
		for _, r := range s.by[source] {
			x, ok := r.Good(conditions.Surface)
			if !ok || !s.fresh(r) {
				continue
			}
			if newest.IsZero() {
				newest = r.At
			}
			if newest.Sub(r.At) > round {
				break
			}
			if !(x >= low) {
				low = x
			}
			if !(x <= high) {
				high = x
			}
		}
	}
	return low, high
}

// air is the dampest air that any source, or two of them together, measured.
// A source with a temperature and a moisture speaks for itself; a lone moisture
// goes with each lone temperature, or with every temperature if none is alone.
func (s sifted) air(p unit.Pressure) (conditions.Air, string) {
	if !(p > 0) {
		p = conditions.StandardPressure(0)
	}
	if measured := s.greatest(conditions.AirPressure); !math.IsNaN(measured) {
		p = unit.Pressure(measured)
	}
	var all, alone []float64 // temperatures
	var lone []moisture      // moistures without a temperature of their own
	var found []conditions.Air
	why := ""
	take := func(t float64, w moisture) {
		a, err := conditions.Solve(w.known(t, p))
		if err != nil {
			why = "instruments contradict each other: " + w.source + ": " + err.Error()
			return
		}
		found = append(found, a)
	}
	for _, source := range s.sources {
		t, hasAir := s.value(source, conditions.AirTemperature)
		ws := s.moistures(source)
		if hasAir {
			all = append(all, t)
		}
		switch {
		case hasAir && len(ws) == 0:
			alone = append(alone, t)
		case hasAir:
			for _, w := range ws {
				take(t, w)
			}
		default:
			lone = append(lone, ws...)
		}
	}
	if len(alone) == 0 {
		alone = all
	}
	for _, w := range lone {
		for _, t := range alone {
			take(t, w)
		}
	}
	if why != "" {
		return conditions.Air{}, why
	}
	if len(found) == 0 {
		return conditions.Air{}, s.why(len(all) > 0, len(lone) > 0)
	}
	worst := found[0]
	for _, a := range found[1:] {
		if a.DewPoint > worst.DewPoint || a.DewPoint == worst.DewPoint && a.Temperature < worst.Temperature {
			worst = a
		}
	}
	return worst, ""
}

type moisture struct {
	source string
	of     conditions.Variable
	x      float64
}

func (s sifted) moistures(source string) []moisture {
	var ws []moisture
	for _, v := range []conditions.Variable{conditions.RelHumidity, conditions.DewPointTemp, conditions.WetBulbTemp} {
		if x, ok := s.value(source, v); ok {
			ws = append(ws, moisture{source, v, x})
		}
	}
	return ws
}

func (w moisture) known(t float64, p unit.Pressure) conditions.Known {
	k := conditions.Known{
		Temperature: unit.Temperature(t), Pressure: p,
		Humidity: unit.NaN[unit.Humidity](), DewPoint: unit.NaN[unit.Temperature](), WetBulb: unit.NaN[unit.Temperature](),
	}
	switch w.of {
	case conditions.RelHumidity:
		k.Humidity = unit.Humidity(math.Min(w.x, 100))
	case conditions.DewPointTemp:
		k.DewPoint = unit.Temperature(rounded(w.x, t))
	default:
		k.WetBulb = unit.Temperature(rounded(w.x, t))
	}
	return k
}

// rounded forgives an instrument's rounding that puts x just above the air.
func rounded(x, air float64) float64 {
	if x > air && x <= air+slack {
		return air
	}
	return x
}

// why words what is missing, and what there is of it: the newest value, its
// source, its age and its doubt.
func (s sifted) why(hasAir, hasMoisture bool) string {
	var parts []string
	if !hasAir {
		parts = append(parts, s.lacking("air temperature", conditions.AirTemperature))
	}
	if !hasMoisture {
		parts = append(parts, s.lacking("humidity", conditions.RelHumidity, conditions.DewPointTemp, conditions.WetBulbTemp))
	}
	return strings.Join(parts, "; ")
}

func (s sifted) lacking(name string, vs ...conditions.Variable) string {
	var newest *Reading
	var of conditions.Variable
	for _, source := range s.sources {
		for i := range s.by[source] {
			for _, v := range vs {
				if r := &s.by[source][i]; speaks(*r, v) && (newest == nil || r.At.After(newest.At)) {
					newest, of = r, v
				}
			}
		}
	}
	if newest == nil {
		return "no " + name + " was measured"
	}
	age := s.now.Sub(newest.At).Round(time.Minute)
	for _, f := range newest.Flags {
		if f.Of == of || f.Of == "" {
			return fmt.Sprintf("no good %s: %s, %s ago: %s", name, newest.Source, elapsed(age), f.Fault)
		}
	}
	return fmt.Sprintf("no %s within %s: the last is %s's, %s old", name, elapsed(s.stale), newest.Source, elapsed(age))
}

// elapsed writes 5 h 10 min.
func elapsed(d time.Duration) string {
	h, m := int(d/time.Hour), int(d%time.Hour/time.Minute)
	switch {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	}
	return fmt.Sprintf("%d h %d min", h, m)
}
