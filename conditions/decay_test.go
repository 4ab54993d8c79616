package conditions

import (
	"math"
	"testing"
	"time"
)

func TestDecay(t *testing.T) {
	for _, c := range []struct {
		lag, dt time.Duration
		want    float64
	}{
		{time.Hour, 0, 1}, {time.Hour, time.Hour, 1 / math.E}, {time.Hour, 3 * time.Hour, math.Exp(-3)},
		{0, time.Minute, 0}, {0, 0, 1}, {time.Hour, -time.Minute, 1},
	} {
		near(t, "decay", Decay(c.lag, c.dt), c.want, 1e-12)
	}
}
