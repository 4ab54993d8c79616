package service

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/planner"
)

// Overtaken refuses an edit of what somebody else changed meanwhile.
type Overtaken struct{ Refusal }

// Overtaken tells it from other refusals.
func (Overtaken) Overtaken() bool { return true }

// overtaken puts what the store says of an edit into a refusal.
func overtaken(err error) error {
	var conflict *store.ConflictError
	if !errors.As(err, &conflict) {
		return err
	}
	return Overtaken{Refusal{conflict.Error()}}
}

// BoatVersions are all that a boat has been, newest first.
func (s *Service) BoatVersions(ctx context.Context, name string) ([]config.Version[config.Boat], error) {
	return s.store.BoatVersions(ctx, name)
}

// RemovedBoats are those taken out of the book.
func (s *Service) RemovedBoats(ctx context.Context) ([]config.Version[config.Boat], error) {
	return s.store.RemovedBoats(ctx)
}

// EditBoats takes what a person makes of boats, all or none. What people reported
// keeps the stage it was reported of, and no boat with work on it goes.
func (s *Service) EditBoats(ctx context.Context, edits []config.Edit[config.Boat]) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if len(edits) == 0 {
		return nil
	}
	var kept []store.BoatEdit
	for _, e := range edits {
		kept = append(kept, store.BoatEdit{Boat: e.To, Revision: e.From, Removed: e.Removed, By: e.By, Why: e.Why, Once: e.Once})
	}
	if err := s.facts.takesBoats(edits); err != nil {
		return err
	}
	if _, err := s.commit(ctx, store.Change{Boats: kept}); err != nil {
		return overtaken(err)
	}
	if err := s.facts.recallWork(ctx, s.store); err != nil {
		return err
	}
	what := edits[0].To.Name
	if len(edits) > 1 {
		what = fmt.Sprintf("%d boats", len(edits))
	}
	s.cycle.ask(s.clock.Now(), fmt.Sprintf("%s changed by %s", what, edits[0].By))
	return nil
}

// takesBoats says why edits can't be taken, and what would be right.
func (f *facts) takesBoats(edits []config.Edit[config.Boat]) error {
	next := slices.Clone(f.boats)
	for _, e := range edits {
		if e.By == "" {
			return refuse("nobody's name is on it: say who changes %s", e.To.Name)
		}
		i := slices.IndexFunc(next, func(b config.Boat) bool { return b.Name == e.To.Name })
		if e.Removed {
			if err := f.letsGo(e); err != nil && i >= 0 { // else it is gone already, or the store says that it never was
				return err
			}
			if i >= 0 {
				next = slices.Delete(next, i, i+1)
			}
			continue
		}
		others := slices.DeleteFunc(slices.Clone(next), func(b config.Boat) bool { return b.Name == e.To.Name })
		if err := refuseFaults(e.To.Name, config.CheckBoat(f.yard, e.To, others)); err != nil {
			return err
		}
		if i < 0 {
			next = append(next, e.To)
		} else {
			next[i] = e.To
		}
	}
	return f.keepsWork(f.yard, next)
}

// letsGo says why a boat may not be taken out.
func (f *facts) letsGo(e config.Edit[config.Boat]) error {
	if e.Why == "" {
		return refuse("say why %s is taken out: the reason is kept", e.To.Name)
	}
	is := f.work.Place(e.To.Name)
	if !is.Launched.IsZero() {
		return nil
	}
	for _, p := range f.presses {
		if p.Key.Boat == e.To.Name && p.Key.Stage != "" {
			return refuse("work was reported on %s: report it launched before you take it out", e.To.Name)
		}
	}
	if is.Place != "" {
		return refuse("%s stands at %s: report it launched before you take it out", e.To.Name, is.Place)
	}
	return nil
}

// keepsWork refuses a change after which something reported would have no stage, or that
// would change what was signed off.
func (f *facts) keepsWork(y config.Yard, next []config.Boat) error {
	known := map[int64]bool{}
	for _, p := range f.work.Strays {
		known[p.ID] = true
	}
	after := planner.Replay(y, next, f.presses)
	for _, p := range after.Strays {
		stays := slices.ContainsFunc(next, func(b config.Boat) bool { return b.Name == p.Key.Boat })
		if stays && !known[p.ID] {
			return refuse("%q was reported of %s: keep that area, and a stage of that name in its system", string(p.Kind), p.Key)
		}
	}
	return f.keepsSigned(next, after)
}

// refuseFaults words the first fault, if there is one besides warnings.
func refuseFaults(name string, faults []config.Fault) error {
	for _, f := range faults {
		if !f.Warning {
			return refuse("%s: %s: %s; %s", name, f.Path, f.What, f.Right)
		}
	}
	return nil
}
