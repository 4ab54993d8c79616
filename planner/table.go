package planner

import (
	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// What the conditions say of a coat's start is worked out once: a search asks for the
// same starts again and again, whatever else it moves.

// start is all that the judgement of a coat hangs on beside the model: boats that are
// alike in it, and bring the same along, get the same answer.
type start struct {
	rules     *conditions.Rules // of one card in one place
	skin      *surface          // of the hull's part there while it is sprayed
	at, slots int32
	// What the hull brings along, as its meeting has it.
	off, top unit.Temperature
	read     float64
}

// startsKept bounds the table to some 10 MB: a start that was forgotten is judged again.
const startsKept = 1 << 16

// coating judges a coat that starts at t: every slot of the spraying track from
// the first drop to the last, and every slot of the curing track from then until
// the coat is protected.
func (m *model) coating(j *job, place int, w way, t engine.Slot) outcome {
	if t+j.slots >= m.grid.Slots {
		return judging(t).failed(m.grid.Slots - 1)
	}
	wet := m.out.meet(w, t, place, spraying, j.part)
	brings := &wet.parts[j.part]
	key := start{
		rules: m.rulesOf(j, place), skin: brings.surface, at: int32(t), slots: int32(j.slots),
		off: brings.off, top: brings.top, read: brings.read,
	}
	if known, ok := m.starts[key]; ok {
		return known
	}
	out := m.judge(j, place, &wet)
	if len(m.starts) >= startsKept {
		clear(m.starts)
	}
	m.starts[key] = out
	return out
}

// trust sets the least deviations from a limit. What was judged by others is forgotten.
func (m *model) trust(firm, pencil float64) {
	m.firm, m.pencil, m.starts = firm, pencil, map[start]outcome{}
}

// ruling is what a stage's rules hang on.
type ruling struct {
	kind   config.StageKind
	name   string
	card   string
	limits conditions.Limits
	place  int
}
