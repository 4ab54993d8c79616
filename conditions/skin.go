package conditions

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions/unit"
)

// Decay is what is left of a difference after dt, of a thing that follows with
// a lag: exp(−dt/lag). Nothing is left without a lag.
func Decay(lag, dt time.Duration) float64 {
	if dt <= 0 {
		return 1
	}
	if lag <= 0 {
		return 0
	}
	return math.Exp(-float64(dt) / float64(lag))
}

// forgets is the number of lags after which a start no longer shows: 5 % of it is left.
const forgets = 3

// Follow is the temperature of a hull that stands at from when the series
// starts and follows it with a first-order lag. The series is the steady
// temperature that the hull would take, one value each step, straight between
// them; so the solution is exact whatever the step. In a gap (NaN) the hull is
// not known, nor for three lags after it. An unknown from is such a gap.
func Follow(steady []unit.Temperature, from unit.Temperature, step, lag time.Duration) []unit.Temperature {
	hull := make([]unit.Temperature, len(steady))
	left := unit.Temperature(Decay(lag, step))
	behind := 0.0 // lag in steps: by how much a steady slope is trailed
	if step > 0 {
		behind = max(0, float64(lag)/float64(step))
	}
	at, dark := from, time.Duration(0)
	if !unit.Known(from) {
		dark = forgets * max(0, lag)
	}
	for i, s := range steady {
		switch {
		case !unit.Known(s):
			at, dark = unit.NaN[unit.Temperature](), forgets*max(0, lag)
		case !unit.Known(at):
			at = s
		case i > 0:
			trail := unit.Temperature(behind) * (s - steady[i-1])
			at = s - trail + (at-steady[i-1]+trail)*left
			dark -= step
		}
		hull[i] = at
		if dark > 0 {
			hull[i] = unit.NaN[unit.Temperature]()
		}
	}
	return hull
}

// Steady is the surface of a hull that has long stood in this air, one value
// each step: as though the first day of the series (or all of it, if shorter)
// had gone before, again and again.
func Steady(air []unit.Temperature, step, lag time.Duration) []unit.Temperature {
	first := slices.IndexFunc(air, unit.Known[unit.Temperature])
	if first < 0 {
		return slices.Clone(air)
	}
	day := len(air)
	if step > 0 {
		day = min(day, max(1, int(24*time.Hour/step)))
	}
	from := air[first]
	day0 := append(slices.Clone(air[:day]), air[0])
	end := Follow(day0, from, step, lag)[day]
	switch {
	case !unit.Known(end):
	case slices.ContainsFunc(day0, func(t unit.Temperature) bool { return !unit.Known(t) }):
		from = end
	default:
		// The end is straight in the start: this is the start that a day leads back to.
		left := unit.Temperature(Decay(lag, time.Duration(day)*step))
		if left < 1 {
			from = (end - from*left) / (1 - left)
		}
	}
	return Follow(air, from, step, lag)
}
