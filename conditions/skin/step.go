package skin

import (
	"math"
	"time"

	"fairwindow/conditions/unit"
)

const (
	stefan = 5.670374e-8 // Stefan–Boltzmann constant, W/(m² K⁴), CODATA 2018
	zero   = 273.15      // 0 °C in K

	// gridStep is the longest step taken at once: half of the planner's 5 minutes.
	// An implicit step is stable at any length but makes every lag longer by half of
	// it, here 75 s: 4 % where a skin lags by half an hour.
	gridStep = 150 * time.Second
	// most is the number of steps that a longer one is cut into: an hour's worth.
	most = 24
)

// State is how warm and how wet a skin is.
type State struct {
	Nodes [nodes]unit.Temperature // outermost first, the mass behind last; those that the model has no use for are 0
	Water float64                 // on the surface, kg/m²
}

// Surface is the temperature of the outer face.
func (s State) Surface() unit.Temperature { return s.Nodes[0] }

// Exposure is what a facet is exposed to during a step.
type Exposure struct {
	Air, DewPoint unit.Temperature
	Inside        unit.Temperature // air behind the skin; of no account where nothing couples to it
	Convects      float64          // outside, W/(m² K): Convects or Still
	Sun           float64          // that falls on it, W/m²
	Radiant       float64          // long wave that falls on it from sky, ground and walls, W/m²
	Rain          float64          // that reaches it, mm/h
}

// drive is an exposure as the balance of the surface wants it.
type drive struct {
	gain   float64 // all that does not depend on the surface, W/m²
	loss   float64 // by air and rain, W/(m² K)
	emits  float64 // emissivity × Stefan–Boltzmann constant, W/(m² K⁴)
	inside float64 // W/m² into the last node at 0 °C
	rain   float64 // kg/(m² s)
	vapour float64 // taken up for each Pa, kg/(m² s Pa)
	dew    float64 // °C
	air    float64 // vapour pressure of the air, Pa; 0 until it is asked for
}

func (m *Model) drive(e *Exposure) drive {
	convects := max(0, e.Convects)
	rain := max(0, e.Rain) * (1.0 / 3600)
	d := drive{
		loss:  convects + rain*waterHeat,
		emits: m.emits * stefan,
		gain: m.absorbs*e.Sun + m.emits*e.Radiant + convects*float64(e.Air) +
			rain*waterHeat*rainTemperature(float64(e.Air), float64(e.DewPoint)),
		rain:   rain,
		vapour: convects * lewis,
		dew:    float64(e.DewPoint),
	}
	if m.inside > 0 {
		d.inside = m.inside * float64(e.Inside)
	}
	return d
}

// Step carries a state on through dt of one exposure: each node's heat is what
// flows to it from its neighbours at the end of the step (backward Euler: it
// never rings, at any step), the surface's also by sun, long wave, air, rain and
// what condenses or dries, all at the surface's own new temperature. Over
// 150 s, or what Coarse allows, it is done in equal parts, at most 24. A dt of 0 or less changes nothing.
// An unknown exposure makes the state unknown from then on.
func (m *Model) Step(s *State, e *Exposure, dt time.Duration) {
	if dt <= 0 {
		return
	}
	parts := min(most, (dt+m.part-1)/m.part)
	d := m.drive(e)
	g := &m.grid
	if dt != parts*m.part {
		own := m.sweep(dt / parts)
		g = &own
	}
	for range parts {
		m.step(s, &d, g)
	}
}

// step is one implicit step. It gives what came out of the air and what ran
// off, kg/(m² s).
func (m *Model) step(s *State, d *drive, g *sweep) (vapour, run float64) {
	var driven [nodes]float64    // W/m²
	last := min(m.last, nodes-1) // as it is; now the compiler knows too
	driven[last] = g.keeps[last]*float64(s.Nodes[last]) + d.inside
	for i := last - 1; i >= 0; i-- {
		driven[i] = g.keeps[i]*float64(s.Nodes[i]) + g.passes[i]*driven[i+1]
	}
	free := s.Water*g.per + d.rain
	t, vapour := d.surface(float64(s.Nodes[0]), d.gain+driven[0], d.loss+g.behind, free)
	s.Nodes[0] = unit.Temperature(t)
	for i := range last {
		t = g.alone[i]*driven[i+1] + g.passes[i]*t
		s.Nodes[i+1] = unit.Temperature(t)
	}
	if g.per > 0 && (free != 0 || vapour != 0) {
		water := (free + vapour) / g.per // exactly 0 once all has dried
		s.Water = min(film, water)
		run = (water - s.Water) * g.per
	}
	return vapour, run
}

// Steady is the state that the skin takes in an exposure that lasts: wet with
// all it can keep if it rains or dews on it for good, else dry.
func (m *Model) Steady(e Exposure) State {
	d, g, s := m.drive(&e), m.sweep(0), m.At(e.Air)
	vapour, _ := m.step(&s, &d, &g)
	switch left := d.rain + vapour; {
	case left > 0:
		s.Water = film
	case math.IsNaN(left):
		s.Water = left
	}
	return s
}

// surface solves the surface's balance: gain − loss × t − emitted + latent = 0,
// from a guess. Free is the water, kg/(m² s), that may leave it before it is dry.
// Each of the three cases excludes the others, since the balance falls with t:
// dry and over the dew point; wet, or getting so; dried within the step.
func (d *drive) surface(guess, gain, loss, free float64) (t, vapour float64) {
	t = guess
	if free == 0 {
		if t = d.dry(t, gain, loss); t >= d.dew {
			return t, 0
		}
	}
	t, vapour = d.wet(t, gain, loss)
	if vapour < -free {
		vapour = -free
		t = d.dry(t, gain+latent*vapour, loss)
	}
	return t, vapour
}

// Newton's step in the balance is followed by the next term of the series once
// it is shorter than settles, K: what is left then is its cube times 6e-5 dry and
// 8e-4 wet at the most, less than 1e-6 K. The balance is concave, so the steps come in from
// the warm side wherever they start: two or three on a real day.
const (
	settles = 0.1
	tries   = 60
)

func (d *drive) dry(t, gain, loss float64) float64 {
	for range tries {
		k := t + zero
		bends := d.emits * k * k
		out := bends * k
		per := 1 / (loss + 4*out)
		by := (gain - loss*t - out*k) * per
		t += by
		if !(math.Abs(by) > settles) {
			return t - 6*bends*per*by*by
		}
	}
	return t
}

func (d *drive) wet(t, gain, loss float64) (surface, vapour float64) {
	if d.air == 0 {
		d.air, _, _ = saturation(d.dew)
	}
	air := d.air
	for range tries {
		k := t + zero
		bends := d.emits * k * k
		out := bends * k
		at, slope, curve := saturation(t)
		per := 1 / (loss + 4*out + latent*d.vapour*slope)
		by := (gain - loss*t - out*k + latent*d.vapour*(air-at)) * per
		t += by
		if !(math.Abs(by) > settles) {
			more := -(6*bends + latent*d.vapour*curve/2) * per * by * by
			by += more
			return t + more, d.vapour * (air - at - by*(slope+curve/2*by))
		}
	}
	at, _, _ := saturation(t)
	return t, d.vapour * (air - at)
}
