package sensors

import (
	"time"

	"fairwindow/conditions"
)

// FanRuns is whether a place's fan runs at a time, by the latest good word of it in
// readings in the order of time; it is not known where that is older than stale.
func FanRuns(readings []Reading, at time.Time, stale time.Duration) (runs, known bool) {
	for _, r := range readings {
		if v, ok := r.Good(conditions.Fan); ok && r.Boat == "" && at.Sub(r.At) <= stale {
			runs, known = v > 0, true
		}
	}
	return runs, known
}
