package service

import (
	"context"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// Kept is until when the evidence behind a boat's coats is kept raw, and by whose word.
func (s *Service) Kept(ctx context.Context, boat string) (config.Kept, error) {
	orders, err := s.store.Orders(ctx)
	if err != nil {
		return config.Kept{}, err
	}
	s.mu.Lock()
	yard, standing := s.facts.yard, planner.Standing(s.facts.presses)
	s.mu.Unlock()
	return keptOf(yard, orders[boat], launchedLast(standing)[boat]), nil
}

// warrantiesOver are the boats whose evidence may go, those taken out of the book among them.
func (s *Service) warrantiesOver(ctx context.Context, now time.Time) ([]string, error) {
	orders, err := s.store.Orders(ctx)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	yard, launched := s.facts.yard, launchedLast(planner.Standing(s.facts.presses))
	s.mu.Unlock()
	var over []string
	for boat, all := range orders {
		if keptOf(yard, all, launched[boat]).Over(now) {
			over = append(over, boat)
		}
	}
	return over, nil
}

// keptOf is what lasts longest: a boat that was taken out and came back has a warranty for
// each time, and its readings do not say which they belong to.
func keptOf(y config.Yard, orders []config.Boat, launched time.Time) config.Kept {
	var longest config.Kept
	for i, b := range orders {
		k := y.Keeps(b, launched)
		if i == 0 || !longest.Until.IsZero() && (k.Until.IsZero() || k.Until.After(longest.Until)) {
			longest = k
		}
	}
	return longest
}

// launchedLast is when each boat was launched; it has none if something was reported of it
// after that, for it is here again.
func launchedLast(standing []planner.Press) map[string]time.Time {
	launched, last := map[string]time.Time{}, map[string]time.Time{}
	for _, p := range standing {
		switch boat := p.Key.Boat; {
		case p.Kind == planner.Launched:
			launched[boat] = later(launched[boat], p.Happened)
		case worksOn(p.Kind):
			last[boat] = later(last[boat], p.Happened)
		}
	}
	for boat, at := range launched {
		if last[boat].After(at) {
			delete(launched, boat)
		}
	}
	return launched
}

// worksOn reports whether a press says that a boat is here.
func worksOn(k planner.PressKind) bool {
	switch k {
	case planner.Started, planner.Override, planner.Resumed, planner.PassDone, planner.StoppedAt, planner.Finished, planner.Arrived, planner.Moved:
		return true
	}
	return false
}
