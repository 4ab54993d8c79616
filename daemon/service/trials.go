package service

import (
	"context"
	"fmt"
	"sync"
	"time"

	"fairwindow/planner"
)

// mostTrials is how many plans are tried at once beside the cycle's own, and tryRounds
// how many neighbours each looks at where people were told nothing yet: a preview that
// comes at once is worth more than one that is a little cheaper.
const (
	mostTrials = 2
	tryRounds  = 8
)

// trials are the presses that people are trying. Of one person only the newest is worked out.
type trials struct {
	mu   sync.Mutex
	room chan struct{}
	by   map[string]*trial
}

type trial struct{ giveUp context.CancelFunc }

// enter waits for room; a later trial of the same person has it give up.
func (t *trials) enter(ctx context.Context, by string) (leave func(), err error) {
	ctx, cancel := context.WithCancel(ctx)
	t.mu.Lock()
	if t.by == nil {
		t.by, t.room = map[string]*trial{}, make(chan struct{}, mostTrials)
	}
	if older := t.by[by]; older != nil {
		older.giveUp()
	}
	mine := &trial{cancel}
	t.by[by] = mine
	t.mu.Unlock()
	over := func() {
		cancel()
		t.mu.Lock()
		defer t.mu.Unlock()
		if t.by[by] == mine {
			delete(t.by, by)
		}
	}
	select {
	case t.room <- struct{}{}:
		return func() { <-t.room; over() }, nil
	case <-ctx.Done():
		over()
		return nil, refuse("something newer is being tried instead of this")
	}
}

// Try works out what a press would make of the newest draft, whose number it gives.
// Nothing is kept. The cycle and the guard go on meanwhile.
func (s *Service) Try(ctx context.Context, press planner.Press) (planner.Tried, int64, error) {
	leave, err := s.trials.enter(ctx, press.By)
	if err != nil {
		return planner.Tried{}, 0, err
	}
	defer leave()
	s.mu.Lock()
	press.Happened, press.Entered = s.clock.Now(), s.clock.Now()
	err = s.facts.accepts(press, press.Entered)
	draft, told, problem := s.facts.draft, s.facts.told.Plan, s.cycle.problem
	s.mu.Unlock()
	switch {
	case err != nil:
		return planner.Tried{}, 0, err
	case draft.ID == 0:
		return planner.Tried{}, 0, refuse("there is no plan yet to try it on: the first comes once boats and places are known")
	}
	if !problem.At.Equal(draft.Plan.At) { // after a restart
		if problem, err = s.store.Problem(ctx, draft.Problem); err != nil {
			return planner.Tried{}, 0, fmt.Errorf("what draft %d was made from: %w", draft.ID, err)
		}
	}
	// It may have been released since it was made.
	problem.Told, problem.Turns = toldBy(told), told.Turns
	if len(problem.Told) == 0 {
		problem.Rounds, problem.Turns = tryRounds, draft.Plan.Turns
	}
	press.Happened = problem.At
	tried, err := planner.Try(problem, draft.Plan, press)
	if err != nil {
		return planner.Tried{}, 0, refuse("%s", err)
	}
	return tried, draft.ID, nil
}

// PlanAsOf is the plan as it was at a time: the draft then, or what people had been
// told. Its number is 0 if there was none.
func (s *Service) PlanAsOf(ctx context.Context, at time.Time, told bool) (planner.Plan, int64, error) {
	row, ok, err := s.store.PlanAsOf(ctx, at, told)
	if err != nil || !ok {
		return planner.Plan{}, 0, err
	}
	return row.Plan, row.ID, nil
}

// ReleasedSince is how often a plan was told since a time, and of these how often by the
// yard's rule.
func (s *Service) ReleasedSince(ctx context.Context, since time.Time) (all, byRule int, err error) {
	return s.store.ReleasedSince(ctx, since, byTheRule)
}
