package sensors

import (
	"math"
	"slices"
	"sort"
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
// leaves the smallest margin (TRADE.md 7, case 23); limits of the air itself are held
// against the extremes of all sources. The coldest and the warmest
// surface are the least and the greatest of all sources; a surface read at one
// spot only counts for both, one read as the warmest for the warmest alone. Two sources further apart
// than both their doubts explain are said in Doubt. With nothing good
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
	air, airs, why := s.air(at.Pressure)
	if why != "" {
		m.Why = why
		return m
	}
	m.Air, m.DewPoint, m.Sure = air.Temperature, air.DewPoint, conditions.Measured
	m.Airs, m.Doubt = airs, s.apart(at.Pressure)
	return m
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
		if !here(r, at) || ToCome(r, now) {
			continue
		}
		if s.by[r.Source] == nil {
			s.sources = append(s.sources, r.Source)
		}
		s.by[r.Source] = append(s.by[r.Source], r)
	}
	sort.Strings(s.sources)
	for _, rs := range s.by {
		slices.Reverse(rs) // of two with one time the one that came last speaks
		sort.SliceStable(rs, func(i, j int) bool {
			if a, b := believed(rs[i]), believed(rs[j]); !a.Equal(b) {
				return a.After(b)
			}
			return rs[i].Received.After(rs[j].Received)
		})
	}
	return s
}

// ToCome reports whether a reading was taken and came in later than now, by a clock that
// was set back since: it says nothing yet.
func ToCome(r Reading, now time.Time) bool {
	return r.Received.Sub(now) > ClockSlack && r.At.Sub(now) > ClockSlack
}

// believed is when a reading was taken: no later than it came, whatever the device's clock says.
func believed(r Reading) time.Time {
	if r.Received.Before(r.At) {
		return r.Received
	}
	return r.At
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
		if x, ok := s.value(source, conditions.SurfaceWarmest); ok && !(x <= high) {
			high = x
		}
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
