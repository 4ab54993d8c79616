package skin

import (
	"math"
	"time"

	"fairwindow/conditions/unit"
)

// rated is the surface at which long wave is taken as straight in temperature
// for a lag, K: 15 °C, where emissivity 0.9 gives 4.9 W/(m² K).
const rated = 288.15

// never is the lag of a skin that nothing reaches.
const never = time.Duration(math.MaxInt64)

// Lag is how slowly the skin follows: its largest time constant, the time in
// which the slowest part of a difference falls to 1/e, with a convection outside
// in W/(m² K) and its long wave. A tank or a cabin behind counts, so it may be
// hours where the surface itself moves in minutes. An unknown convection, or one
// below 0, counts as none. Where no heat comes or goes at all it is the longest
// time there is.
func (m *Model) Lag(convects float64) time.Duration {
	open := 4 * m.emits * stefan * rated * rated * rated
	if convects > 0 {
		open += convects
	}
	lag := m.slowest(open) * float64(time.Second)
	if !(lag < float64(never)) {
		return never
	}
	return time.Duration(lag)
}

// slowest is the largest time constant in s by inverse iteration: the
// temperatures that are kept up by heat in proportion to what is stored.
func (m *Model) slowest(open float64) float64 {
	g := m.sweep(0)
	var shape [nodes]float64
	for i := range m.last + 1 {
		shape[i] = 1
	}
	lag := 0.0
	for range 500 {
		var driven [nodes]float64
		driven[m.last] = m.heat[m.last] * shape[m.last]
		for i := m.last - 1; i >= 0; i-- {
			driven[i] = m.heat[i]*shape[i] + g.passes[i]*driven[i+1]
		}
		var next [nodes]float64
		next[0] = driven[0] / (open + g.behind)
		for i := range m.last {
			next[i+1] = g.alone[i]*driven[i+1] + g.passes[i]*next[i]
		}
		// Rayleigh's quotient, weighed with the heat: its error is the square of the shape's.
		over, under := 0.0, 0.0
		for i := range m.last + 1 {
			over += m.heat[i] * next[i] * next[i]
			under += m.heat[i] * next[i] * shape[i]
		}
		before := lag
		lag = over / under
		if !unit.Known(lag) || math.Abs(lag-before) <= 1e-12*lag {
			break
		}
		for i := range m.last + 1 {
			shape[i] = next[i] / lag
		}
	}
	return lag
}

// WithLag is the skin with its heat scaled, all nodes alike, so that its Lag with
// that convection is the one a yard has measured. A lag of 0 or less, or a skin
// that nothing reaches, scales nothing.
func (m *Model) WithLag(lag time.Duration, convects float64) *Model {
	own := m.Lag(convects)
	scaled := *m
	if lag <= 0 || own <= 0 || own == never {
		return &scaled
	}
	for i := range scaled.heat {
		scaled.heat[i] *= float64(lag) / float64(own)
	}
	scaled.grid = scaled.sweep(scaled.part)
	return &scaled
}
