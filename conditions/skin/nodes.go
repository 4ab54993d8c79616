package skin

import (
	"time"

	"fairwindow/conditions/unit"
)

// nodes is the most that a skin is cut into, with the mass behind it.
const nodes = 12

// swift is the time that heat needs through one element, thickness² / diffusivity,
// below which a layer is cut no finer: the longest step taken at once, in which a
// profile inside the element fades. Against twelve nodes and steps of 5 s, for a
// dark skin under broken cloud, it costs 0.02 K on the average (root mean
// square); the length of the steps costs 0.15 to 0.3 K.
const swift = gridStep

// Model is a skin cut into nodes, ready to be carried on. The first node is the
// surface itself, the others stand at the ends of elements, half of whose heat
// each end holds (linear finite elements, lumped). It does not change once made
// and may be used by several at once.
type Model struct {
	absorbs, emits float64
	last           int            // index of the last node: the inner face, or the mass behind it
	heat           [nodes]float64 // J/(m² K)
	path           [nodes]float64 // from a node to the next, W/(m² K)
	inside         float64        // from the last node to the air inside, W/(m² K)
	part           time.Duration  // the longest step taken at once
	grid           sweep          // for such a step, made beforehand
}

// New cuts a skin into nodes. The error names every mistake, by layer.
func New(s Skin) (*Model, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	m := &Model{absorbs: s.Absorbs, emits: s.Emits, inside: s.Behind.Convects}
	for i, n := range s.elements() {
		l := s.Layers[i]
		thick := float64(l.Thick) / float64(n)
		for range n {
			half := l.Density * l.Heat * thick / 2
			m.heat[m.last] += half
			m.path[m.last] = l.Conducts / thick
			m.last++
			m.heat[m.last] += half
		}
	}
	if b := s.Behind; b.Mass > 0 {
		m.path[m.last] = b.Convects
		m.last++
		m.heat[m.last] = b.Mass
		m.inside = b.Couples
	}
	m.part, m.grid = gridStep, m.sweep(gridStep)
	return m, nil
}

// Coarse is the model that takes steps of up to a length at once: for weeks ahead,
// whose weather is known by the hour. What drives it shows later by half a step.
func (m *Model) Coarse(step time.Duration) *Model {
	coarse := *m
	coarse.part, coarse.grid = step, m.sweep(step)
	return &coarse
}

// elements is into how many each layer is cut: one at first, then always the
// slowest one more, while it is slow and nodes are left. So a laminate gets
// more than the steel or the aluminium behind it, and a light core, in which
// heat is hardly stored, no more than its slowness earns.
func (s Skin) elements() []int {
	cut := make([]int, len(s.Layers))
	left := nodes - 1
	if s.Behind.Mass > 0 {
		left--
	}
	for i := range cut {
		cut[i] = 1
		left--
	}
	slowness := func(i int) float64 {
		l := s.Layers[i]
		thick := float64(l.Thick) / float64(cut[i])
		return thick * thick * l.Density * l.Heat / l.Conducts
	}
	for ; left > 0; left-- {
		slowest := 0
		for i := range cut {
			if slowness(i) > slowness(slowest) {
				slowest = i
			}
		}
		if slowness(slowest) <= swift.Seconds() {
			break
		}
		cut[slowest]++
	}
	return cut
}

// sweep is what one implicit step of a given length needs of a model. All that
// lies behind a node acts on it as one conductance to one temperature, so
// everything behind the surface is eliminated once for each length of step, and
// only the surface is left to be solved with what it is exposed to.
type sweep struct {
	per    float64        // 1 / the step, 1/s; 0: steady
	keeps  [nodes]float64 // heat capacity / step, W/(m² K)
	alone  [nodes]float64 // 1 / (path + all that is behind the next node), m² K/W
	passes [nodes]float64 // the part of what drives the next node that reaches this one
	behind float64        // all that the surface sees behind it, W/(m² K)
}

// sweep eliminates all nodes behind the surface, innermost first. Only sums of
// positive terms: a metal's huge conductance costs no digits.
func (m *Model) sweep(step time.Duration) sweep {
	g := sweep{}
	if step > 0 {
		g.per = 1 / step.Seconds()
	}
	for i := range m.last + 1 {
		g.keeps[i] = m.heat[i] * g.per
	}
	g.behind = g.keeps[m.last] + m.inside
	for i := m.last - 1; i >= 0; i-- {
		g.alone[i] = 1 / (m.path[i] + g.behind)
		g.passes[i] = m.path[i] * g.alone[i]
		g.behind = g.keeps[i] + g.passes[i]*g.behind
	}
	return g
}

// At is the state of a skin that is as warm as t all through, and dry.
func (m *Model) At(t unit.Temperature) State {
	s := State{}
	for i := range m.last + 1 {
		s.Nodes[i] = t
	}
	return s
}
