package engine

import "time"

// Slot is a step of a grid, counted from its origin; slots before the origin are negative.
type Slot int

// None is no slot: the answer where there is none.
const None Slot = -1 << 40

// Span is a half-open run of slots.
type Span struct {
	From Slot `json:"from"`
	To   Slot `json:"to"`
}

// Long is the number of slots in the span.
func (s Span) Long() Slot { return s.To - s.From }

// Grid is time in equal steps.
type Grid struct {
	Origin time.Time
	Step   time.Duration
	Slots  Slot // up to the horizon
}

// Floor is the slot that holds t.
func (g Grid) Floor(t time.Time) Slot {
	d := t.Sub(g.Origin)
	s := Slot(d / g.Step)
	if d < 0 && d%g.Step != 0 {
		s--
	}
	return s
}

// Ceil is the first slot that begins at t or after.
func (g Grid) Ceil(t time.Time) Slot {
	s := g.Floor(t)
	if g.Time(s).Before(t) {
		s++
	}
	return s
}

// Time is when a slot begins.
func (g Grid) Time(s Slot) time.Time { return g.Origin.Add(time.Duration(s) * g.Step) }

// Steps is the least number of slots that lasts at least d.
func (g Grid) Steps(d time.Duration) Slot { return Slot((d + g.Step - 1) / g.Step) }
