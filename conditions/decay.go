package conditions

import (
	"math"
	"time"
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
