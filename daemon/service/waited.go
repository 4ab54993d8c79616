package service

import (
	"context"
	"time"

	"fairwindow/planner"
)

// Waited is the time that stages have waited since a time, by cause as it was
// known then: each plan's reasons count from its own time until the next plan.
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
		for _, stage := range row.Plan.Stages {
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
