package sensors

import (
	"math"
	"time"

	"fairwindow/conditions"
)

// steps are the greatest changes in a minute that are weather or a door, not a
// fault. Looser than the WMO's for automatic stations (air 3 K, humidity 10 %,
// pressure 0.5 hPa: WMO-No. 8, from memory), because booth doors open and
// heaters start: common practice, no source. Surfaces have none: one
// thermometer is carried from spot to spot.
var steps = map[conditions.Variable]float64{
	conditions.AirTemperature: 5,
	conditions.DewPointTemp:   5,
	conditions.WetBulbTemp:    5,
	conditions.RelHumidity:    20,
	conditions.WindSpeed:      20,
	conditions.AirPressure:    200,
}

// leaps are the greatest changes within jumpMemory: the step a minute would let any
// value pass that comes every ten. A booth that draws outdoor air as it begins to
// spray may well change by 10 K. Common practice, no source.
var leaps = map[conditions.Variable]float64{
	conditions.AirTemperature: 15,
	conditions.DewPointTemp:   15,
	conditions.WetBulbTemp:    15,
	conditions.RelHumidity:    45,
}

// jumpMemory is the age past which an earlier value says nothing about a jump: more
// than the ten minutes at which most instruments speak, less than twice that, so
// that a true jump is believed when such a one tells it a second time.
const jumpMemory = 15 * time.Minute

// spikes compares with the latest good value before, and lets the change grow
// with the time between, so that a true jump is believed at the next readings.
func (c *checker) spikes() {
	for _, v := range order {
		step, judged := steps[v]
		x, ok := c.r.Values[v]
		if !judged || !ok {
			continue
		}
		last, at, found := c.latest(v)
		if !found {
			continue
		}
		age := c.r.At.Sub(at)
		allowed := step * math.Max(1, age.Minutes())
		if leap, ok := leaps[v]; ok {
			allowed = math.Min(allowed, leap)
		}
		if age <= jumpMemory && math.Abs(x-last) > allowed {
			c.mark(v, Spike, "from %.6g to %.6g in %s", last, x, whole(age))
		}
	}
}

// latest is the newest good value of this source before the reading; of two of one time
// the one that came last.
func (c *checker) latest(v conditions.Variable) (x float64, at time.Time, found bool) {
	for _, p := range c.before {
		if y, ok := p.Good(v); ok && p.At.Before(c.r.At) && !p.At.Before(at) {
			x, at, found = y, p.At, true
		}
	}
	return x, at, found
}

// still is how long a value may stay the same to two decimals before the
// instrument is thought stuck. Common practice, no source. Wind and rain may
// well be nothing for days; a wind that blows never blows the same for hours.
var still = map[conditions.Variable]time.Duration{
	conditions.AirTemperature: 6 * time.Hour,
	conditions.DewPointTemp:   6 * time.Hour,
	conditions.WetBulbTemp:    6 * time.Hour,
	conditions.RelHumidity:    6 * time.Hour,
	conditions.Surface:        12 * time.Hour,
	conditions.SurfaceWarmest: 12 * time.Hour,
	conditions.WindSpeed:      3 * time.Hour,
	conditions.GustSpeed:      3 * time.Hour,
}

// stuck needs at least three equal values before this one, with no other
// between. Runs that were already marked count: a stuck instrument stays stuck.
func (c *checker) stuck() {
	for _, v := range order {
		limit, judged := still[v]
		x, ok := c.r.Values[v]
		if !judged || !ok {
			continue
		}
		if calm := v == conditions.WindSpeed || v == conditions.GustSpeed; calm && x == 0 {
			continue
		}
		// The newest other value ends the run.
		var broken time.Time
		for _, p := range c.before {
			if y, has := p.Values[v]; has && p.At.Before(c.r.At) && hundredths(y) != hundredths(x) && p.At.After(broken) {
				broken = p.At
			}
		}
		since, count := c.r.At, 0
		for _, p := range c.before {
			if _, has := p.Values[v]; has && p.At.Before(c.r.At) && p.At.After(broken) {
				count++
				if p.At.Before(since) {
					since = p.At
				}
			}
		}
		if held := c.r.At.Sub(since); count >= 3 && held >= limit {
			c.mark(v, Stuck, "%.2f for %s", x, whole(held))
		}
	}
}

func hundredths(x float64) float64 { return math.Round(x * 100) }
