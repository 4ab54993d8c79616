package service

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"sync"

	"fairwindow/planner"
	"fairwindow/planner/whatif"
)

// Bounds of what people may have the planner do beside its own work: one at a time, since a
// plan takes seconds of a small machine, and answers are kept while the daemon runs.
const (
	mostWaiting = 4
	mostKept    = 64
)

// studies are the questions put to the planner by people.
type studies struct {
	mu    sync.Mutex
	all   []whatif.Study // oldest first
	asked chan string    // by ID
}

// open is how many are not answered yet.
func (s *studies) open() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.count()
}

func (s *studies) count() int {
	n := 0
	for _, x := range s.all {
		if x.Done.IsZero() {
			n++
		}
	}
	return n
}

func newStudies() studies { return studies{asked: make(chan string, mostWaiting+1)} }

// TryChange asks what a change, said in plain words, would do to the plan. It returns at once
// with the question's ID; a Refusal says what is wrong with the words, or that others wait.
func (s *Service) TryChange(_ context.Context, text, by string) (string, error) {
	if _, err := whatif.ParseAll(text); err != nil {
		return "", refuse("%s", err)
	}
	return s.study(whatif.Study{Text: text, By: by})
}

// MakeAgain has a kept plan made once more from its problem and compared.
func (s *Service) MakeAgain(ctx context.Context, plan int64) (string, error) {
	if _, ok, err := s.store.PlanIf(ctx, plan); err != nil || !ok {
		if err == nil {
			err = refuse("there is no plan %d, or it is no longer kept", plan)
		}
		return "", err
	}
	return s.study(whatif.Study{Plan: plan})
}

func (s *Service) study(one whatif.Study) (string, error) {
	s.studies.mu.Lock()
	defer s.studies.mu.Unlock()
	for _, x := range s.studies.all {
		if x.Done.IsZero() && x.Text == one.Text && x.Plan == one.Plan {
			return x.ID, nil // asked already, and not answered yet
		}
	}
	if open := s.studies.count(); open > mostWaiting {
		return "", refuse("%d others wait already, and one is worked at after the other: try again in a minute", open)
	}
	one.ID, one.Asked = rand.Text(), s.clock.Now()
	s.studies.all = append(s.studies.all, one)
	if n := len(s.studies.all); n > mostKept {
		s.studies.all = append([]whatif.Study(nil), s.studies.all[n-mostKept:]...)
	}
	s.studies.asked <- one.ID // there is room: the channel holds as many as may be open
	return one.ID, nil
}

// Study is a question with its answer, if there is one yet; false if it is not known, as
// after a restart.
func (s *Service) Study(id string) (whatif.Study, bool) {
	s.studies.mu.Lock()
	defer s.studies.mu.Unlock()
	ahead := 0
	for _, x := range s.studies.all {
		if x.ID == id {
			x.Ahead = ahead
			return x, true
		}
		if x.Done.IsZero() {
			ahead++
		}
	}
	return whatif.Study{}, false
}

// Remade is the last time that a plan was made again, or is being.
func (s *Service) Remade(plan int64) (whatif.Study, bool) {
	s.studies.mu.Lock()
	defer s.studies.mu.Unlock()
	for i := len(s.studies.all) - 1; i >= 0; i-- {
		if s.studies.all[i].Plan == plan {
			return s.studies.all[i], true
		}
	}
	return whatif.Study{}, false
}

// runStudies answers one question at a time. What the planner is at when the daemon ends is
// left: its answer would be kept nowhere.
func (s *Service) runStudies(ctx context.Context) error {
	for {
		select {
		case <-ctx.Done():
			return nil
		case id := <-s.studies.asked:
			one, ok := s.Study(id)
			if !ok {
				continue
			}
			answered := make(chan whatif.Study, 1)
			go func() { answered <- s.answer(ctx, one) }()
			select {
			case <-ctx.Done():
				return nil
			case one = <-answered:
			}
			one.Done = s.clock.Now()
			s.studies.mu.Lock()
			for i := range s.studies.all {
				if s.studies.all[i].ID == id {
					s.studies.all[i] = one
				}
			}
			s.studies.mu.Unlock()
			s.mu.Lock()
			s.wake()
			s.mu.Unlock()
		}
	}
}

func (s *Service) answer(ctx context.Context, one whatif.Study) whatif.Study {
	var err error
	if one.Plan != 0 {
		one.Remade, err = s.remake(ctx, one.Plan)
	} else {
		one.Answer, err = s.tryOut(ctx, one.Text)
	}
	var wrong whatif.Wrong
	switch {
	case errors.As(err, &wrong):
		one.Fault = wrong.Error()
	case err != nil:
		s.log.WithError(err).WithField("plan", one.Plan).Error("a question to the planner has no answer")
		one.Fault = "It could not be worked out; the log says why."
	}
	return one
}

func (s *Service) tryOut(ctx context.Context, text string) (*whatif.Answer, error) {
	changes, err := whatif.ParseAll(text)
	if err != nil {
		return nil, err
	}
	row, ok, err := s.store.LatestPlan(ctx)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, whatif.Wrong{Err: errors.New("no plan has been made yet, so there is none to hold it against; enter a boat first")}
	}
	problem, err := s.store.Problem(ctx, row.Problem)
	if err != nil {
		return nil, err
	}
	answer, err := whatif.Ask(problem, changes)
	return &answer, err
}

func (s *Service) remake(ctx context.Context, id int64) (*planner.Remade, error) {
	row, err := s.store.Plan(ctx, id)
	if err != nil {
		return nil, err
	}
	if row.Plan.Version != planner.Version { // the problem of an older plan need not be readable
		return &planner.Remade{Is: planner.OtherVersion, Version: planner.Version, Was: row.Plan.Version}, nil
	}
	problem, err := s.store.Problem(ctx, row.Problem)
	if err != nil {
		return nil, whatif.Wrong{Err: fmt.Errorf("what the plan was made from can't be put together again: %w", err)}
	}
	remade, err := planner.Again(row.Plan, problem)
	return &remade, err
}
