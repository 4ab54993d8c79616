package service

import (
	"context"
	"time"

	"fairwindow/planner"
)

// Waited is the time that boats have waited since a time, by cause as it was
// known then: each plan's reasons count from its own time until the next plan.
// A boat waits once, for its next stage, and not while it is being worked at.
func (s *Service) Waited(ctx context.Context, since time.Time) (map[planner.Cause]time.Duration, error) {
	rows, err := s.store.Plans(ctx, 0)
	if err != nil {
		return nil, err
	}
	waited := map[planner.Cause]time.Duration{}
	until := s.clock.Now()
	for _, row := range rows { // newest first
		from := row.Plan.At
		if from.Before(since) {
			from = since
		}
		for _, stage := range nextStages(row.Plan) {
			for _, w := range stage.Waits {
				if d := overlap(w.From, w.To, from, until); d > 0 {
					waited[w.Cause] += d
				}
			}
		}
		until = row.Plan.At
		if !until.After(since) {
			break
		}
	}
	return waited, nil
}

// nextStages is each boat's next stage of a plan, of those that nobody works at.
func nextStages(plan planner.Plan) []planner.Planned {
	seen := map[string]bool{}
	for _, s := range plan.Stages {
		if s.State == planner.Running && s.People > 0 {
			seen[s.Key.Boat] = true
		}
	}
	var next []planner.Planned
	for _, s := range plan.Stages {
		if s.State != planner.Running && !seen[s.Key.Boat] {
			seen[s.Key.Boat] = true
			next = append(next, s)
		}
	}
	return next
}

func overlap(from, to, since, until time.Time) time.Duration {
	if from.Before(since) {
		from = since
	}
	if to.After(until) {
		to = until
	}
	return to.Sub(from)
}

// NoticeCounts is how many notices went out since a time, by kind.
func (s *Service) NoticeCounts(ctx context.Context, since time.Time) (map[string]int, error) {
	all, err := s.store.Notices(ctx, since, 0)
	if err != nil {
		return nil, err
	}
	counts := map[string]int{}
	for _, n := range all {
		counts[string(n.Kind)]++
	}
	return counts, nil
}
