package planner

import (
	"cmp"
	"context"
	"slices"

	"fairwindow/planner/engine"
)

// propose asks the engine for turns: the blocks in the order in which they begin in
// its schedule, each in its place there.
func (m *model) propose(ctx context.Context, e engine.Effort) ([]turn, error) {
	k := newSketch(m)
	r, err := engine.Solve(ctx, k.Problem, e)
	if err != nil {
		return nil, err
	}
	return m.turnsOf(k, r)
}

func (m *model) turnsOf(k *sketch, r engine.Result) ([]turn, error) {
	type began struct {
		turn
		at engine.Slot
	}
	var all []began
	for a := range m.areas {
		last := engine.Slot(0)
		for _, jobs := range blocksOf(m.areas[a].jobs) {
			b := began{turn{a, -1}, max(last, m.grid.Slots)}
			t := k.tasks[jobs[0]]
			if start := r.Starts[t]; start.Mode >= 0 {
				b.at, b.place = max(last, start.Start), k.Tasks[t].Modes[start.Mode].Place
			}
			last = b.at
			all = append(all, b)
		}
	}
	slices.SortStableFunc(all, func(a, b began) int { return cmp.Compare(a.at, b.at) })
	turns := make([]turn, len(all))
	for i, b := range all {
		turns[i] = b.turn
	}
	return turns, nil
}
