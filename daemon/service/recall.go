package service

import (
	"context"
	"math"
	"time"

	"fairwindow/daemon/store"
	"fairwindow/planner"
)

// recall reads back what the store knows.
func (s *Service) recall(ctx context.Context) error {
	now, f := s.clock.Now(), &s.facts
	if err := f.recallWork(ctx, s.store); err != nil {
		return err
	}
	if err := s.recallMemory(ctx); err != nil {
		return err
	}
	if err := s.recallReadings(ctx, now); err != nil {
		return err
	}
	var err error
	if f.forecasts, err = s.store.LatestForecasts(ctx); err != nil {
		return err
	}
	if err := f.recallPlans(ctx, s.store); err != nil {
		return err
	}
	unsent, err := s.store.Unsent(ctx, math.MaxInt32)
	if err != nil {
		return err
	}
	s.unsent = len(unsent)
	return s.nextPost(ctx)
}

// recallReadings reads back the last day, an hour at a time: most of it is thinned out at once,
// and what is left of a whole day read at once would lie about in all the memory that took.
func (s *Service) recallReadings(ctx context.Context, now time.Time) error {
	f := &s.facts
	f.readings, f.histories = nil, nil
	for from := now.Add(-memoryOfReadings); !from.After(now); from = from.Add(time.Hour) {
		q := store.Query{From: from, To: from.Add(time.Hour)}
		if q.To.After(now) {
			q.To = time.Time{} // a device's clock may be years ahead
		}
		readings, err := s.store.Readings(ctx, q)
		if err != nil {
			return err
		}
		for _, r := range readings {
			f.add(r, now)
			s.watch.heard(r.Source, earlier(r.At, now))
		}
	}
	return nil
}

// recallWork reads back the boats, what people reported and the clocks of their coats.
func (f *facts) recallWork(ctx context.Context, from *store.Store) error {
	if err := f.recallSystems(ctx, from); err != nil {
		return err
	}
	rows, err := from.Boats(ctx)
	if err != nil {
		return err
	}
	f.boats, f.revisions = nil, map[string]int64{}
	for _, r := range rows {
		f.boats = append(f.boats, r.Boat)
		f.revisions[r.Boat.Name] = r.Revision
	}
	if f.presses, err = from.Presses(ctx); err != nil {
		return err
	}
	if f.signed, err = from.SignOffs(ctx); err != nil {
		return err
	}
	f.work = planner.Replay(f.yard, f.boats, f.presses)
	clocks, err := from.Clocks(ctx)
	if err != nil {
		return err
	}
	f.clocks = map[planner.Key]planner.CoatNow{}
	for _, c := range clocks {
		f.clocks[c.Key] = c
	}
	return nil
}

// recallPlans reads back the draft, what people were told last and what they were told first.
func (f *facts) recallPlans(ctx context.Context, from *store.Store) (err error) {
	if f.draft, _, err = from.LatestPlan(ctx); err != nil {
		return err
	}
	if f.told, _, err = from.LatestTold(ctx); err != nil {
		return err
	}
	f.first, err = from.FirstTold(ctx)
	return err
}

// recallMemory reads back what was worked out and can't be worked out again.
func (s *Service) recallMemory(ctx context.Context) error {
	memory, err := s.store.Memory(ctx)
	if err != nil {
		return err
	}
	s.remembered = memory
	if s.facts.exposed, err = exposures(memory); err != nil {
		return err
	}
	if err := s.facts.learned.recall(memory); err != nil {
		return err
	}
	if err := s.unasked.recall(memory); err != nil {
		return err
	}
	return s.watch.recall(memory)
}
