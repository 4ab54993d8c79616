package service

import (
	"cmp"
	"context"
	"slices"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/planner"
)

// Foresee is the newest plan, and the one that there would be with a boat as it might
// become. Nothing is kept. One is worked out at a time: the machine plans meanwhile.
func (s *Service) Foresee(ctx context.Context, b config.Boat) (before, after planner.Plan, err error) {
	if !s.foreseeing.TryLock() {
		return before, after, refuse("another change is being worked out just now: ask again in a moment, or keep yours")
	}
	defer s.foreseeing.Unlock()
	before, problem, err := s.problemNow(ctx)
	if err != nil {
		return before, after, err
	}
	i := slices.IndexFunc(problem.Boats, func(o config.Boat) bool { return o.Name == b.Name })
	if i < 0 {
		problem.Boats = append(problem.Boats, b)
	} else {
		problem.Boats[i] = b
	}
	// In the order in which the store will give them: a plan may hang on it.
	slices.SortFunc(problem.Boats, func(a, b config.Boat) int { return cmp.Compare(a.Name, b.Name) })
	_, after, broken, err := s.solve(problem)
	if err == nil && len(broken) > 0 {
		return before, after, refuse("no plan could be worked out with that: keep it, and the plan says why")
	}
	return before, after, err
}

// problemNow is the newest plan, and what one would be made from now, as a copy: facts
// go on changing.
func (s *Service) problemNow(ctx context.Context) (planner.Plan, planner.Problem, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	if clocks := s.runClocks(now); len(clocks) > 0 { // a cure that stands still would be missed by the check
		if _, err := s.commit(ctx, store.Change{Clocks: clocks}); err != nil {
			return planner.Plan{}, planner.Problem{}, err
		}
	}
	problem, err := kept(s.facts.problem(now))
	return s.facts.draft.Plan, problem, err
}
