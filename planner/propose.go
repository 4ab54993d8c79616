package planner

import (
	"context"

	"fairwindow/planner/engine"
)

// proposed is how long the engine searches for a proposal, in its rounds. More were
// measured to give no better plans once they are laid out.
const proposed = 1

// propose asks the engine for turns: the blocks in the order in which they begin in
// its schedule. Their places are left open: what a hull brings along decides more of
// them than the engine knows. A proposal is only one beginning of many: it is false
// where the engine does not take the sketch.
func (m *model) propose() ([]turn, bool) {
	k := newSketch(m)
	r, err := engine.Solve(context.Background(), k.Problem, engine.Effort{Rounds: proposed, Seed: 1})
	if err != nil {
		return nil, false
	}
	return m.inTurn(func(jobs []*job) (engine.Slot, int) {
		if start := r.Starts[k.tasks[jobs[0]]]; start.Mode >= 0 {
			return start.Start, -1
		}
		return m.grid.Slots, -1
	}), true
}
