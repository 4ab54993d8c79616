package service

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// aheadBy is how far ahead of us a person's clock may run.
const aheadBy = 5 * time.Minute

// Press takes what a person reports of the work. It is on disk when Press
// returns nil; pressed twice with one Once, it counts once. An error says what
// to press instead.
func (s *Service) Press(ctx context.Context, p planner.Press) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	p.Entered = now
	if p.Happened.IsZero() {
		p.Happened = now
	}
	if p.Once != "" && slices.ContainsFunc(s.facts.presses, func(q planner.Press) bool { return q.Once == p.Once }) {
		return nil
	}
	if p.Kind == planner.Struck {
		return refuse("what was reported is struck through on the boat's page, beside what it strikes")
	}
	if err := s.facts.accepts(p, now); err != nil {
		return err
	}
	return s.keepPresses(ctx, []planner.Press{p}, now)
}

// keepPresses commits presses that are one act, and all that follows from them. Callers
// hold the turn.
func (s *Service) keepPresses(ctx context.Context, presses []planner.Press, now time.Time) error {
	if err := s.facts.unlocked(presses); err != nil {
		return err
	}
	change := store.Change{}
	for i := range presses {
		if err := s.facts.under(&presses[i], &change); err != nil {
			return err
		}
	}
	before := s.facts.presses
	s.facts.take(presses...)
	change.Presses, change.Clocks = presses, s.runClocks(now)
	change.Notices = s.guard(now, nil)
	done, err := s.commit(ctx, change)
	if err != nil {
		return err
	}
	s.facts.presses = before
	s.facts.take(done.Presses...)
	for _, q := range done.Presses {
		if q.Kind == planner.Launched {
			s.watch.forget(q.Key.Boat)
		}
		if q.Kind != planner.Mixed { // a pot changes no plan
			s.cycle.ask(now, fmt.Sprintf("%s: %s", q.Key, q.Kind))
		}
	}
	s.cycle.review(&s.facts, &s.watch, now)
	return nil
}

// take adds presses in the order in which things happened.
func (f *facts) take(presses ...planner.Press) {
	all := slices.Clone(f.presses)
	for _, p := range presses {
		at := len(all)
		for at > 0 && p.Happened.Before(all[at-1].Happened) {
			at--
		}
		all = slices.Insert(all, at, p)
	}
	f.presses = all
	f.work = planner.Replay(f.yard, f.boats, f.presses)
}

// accepts says why a press can't be taken, and what would be right.
func (f *facts) accepts(p planner.Press, now time.Time) error {
	if p.By == "" {
		return refuse("nobody's name is on it: say who reports this")
	}
	if p.Happened.After(now.Add(aheadBy)) {
		return refuse("it can't have happened at %s, which is still to come: give the time it happened",
			p.Happened.In(f.zone).Format("Mon 2 Jan 15:04"))
	}
	switch p.Kind {
	case planner.Cant, planner.Rejected, planner.Held, planner.Override:
		if p.Note == "" {
			return refuse("say why: a reason is kept with every %q", p.Kind)
		}
	case planner.Moved, planner.Arrived, planner.Pinned:
		if _, ok := f.yard.Place(p.Place); !ok && (p.Place != "" || p.Kind != planner.Pinned) {
			return refuse("%q is no place of this yard: name one of the yard file's places", p.Place)
		}
	}
	if !slices.ContainsFunc(f.boats, func(b config.Boat) bool { return b.Name == p.Key.Boat }) {
		return refuse("%q is no boat of this yard", p.Key.Boat)
	}
	if err := f.work.Accepts(p); err != nil {
		if last, is := f.toCome(p.Key, now); is {
			return refuse("%s was reported as %s at %s, which is still to come: this machine's clock was set back since. Strike that through on the boat's page and give the time it was, then press again",
				p.Key, last.Kind, last.Happened.In(f.zone).Format("Mon 2 Jan 15:04"))
		}
		if early := (*planner.TooEarlyError)(nil); errors.As(err, &early) {
			return refuse("%s", early.Says(early.Last.In(f.zone).Format("Mon 2 Jan 15:04")))
		}
		return refuse("%s", err)
	}
	return f.answered(p)
}

// toCome is what was reported of a stage with a time that has become one to come: nothing
// that happens now can follow it.
func (f *facts) toCome(k planner.Key, now time.Time) (planner.Press, bool) {
	for _, p := range planner.Standing(f.presses) {
		if p.Key == k && p.Kind != planner.Struck && p.Happened.After(now.Add(aheadBy)) {
			return p, true
		}
	}
	return planner.Press{}, false
}

// Release tells people the draft: from now on it is the plan they were given.
func (s *Service) Release(ctx context.Context, plan int64, by string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if plan != s.facts.draft.ID {
		return refuse("plan %d is not the newest draft, %d is: look at that one first", plan, s.facts.draft.ID)
	}
	if s.facts.draft.Released {
		return nil
	}
	now := s.clock.Now()
	notices := s.moves(s.facts.draft.Plan, now)
	if _, err := s.commit(ctx, store.Change{Release: &store.Release{Plan: plan, By: by}, Notices: notices}); err != nil {
		return err
	}
	s.facts.draft.Released, s.facts.draft.ReleasedBy = true, by
	s.facts.told = s.facts.draft
	var err error
	s.facts.first, err = s.store.FirstTold(ctx)
	return err
}

// TakeReading takes a reading that a person typed in.
func (s *Service) TakeReading(ctx context.Context, r sensors.Reading) error {
	return s.TakeReadings(ctx, []sensors.Reading{r})
}

// PutBoats takes boats in, or new facts about boats that are here, checked against each other
// and the yard by whoever read them. All or none; what people reported keeps its stage.
func (s *Service) PutBoats(ctx context.Context, boats []config.Boat, by string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	edits, err := s.facts.putting(boats, by)
	if err != nil {
		return err
	}
	if _, err := s.commit(ctx, store.Change{Boats: edits}); err != nil {
		return err
	}
	if err := s.facts.recallWork(ctx, s.store); err != nil {
		return err
	}
	s.cycle.ask(now, fmt.Sprintf("%d boats entered by %s", len(boats), by))
	return nil
}

// putting are the edits that put boats in; a refusal if work or a signature would be lost by them.
func (f *facts) putting(boats []config.Boat, by string) ([]store.BoatEdit, error) {
	var edits []store.BoatEdit
	next := slices.Clone(f.boats)
	for _, b := range boats {
		if i := slices.IndexFunc(next, func(o config.Boat) bool { return o.Name == b.Name }); i >= 0 {
			next[i] = b
		} else {
			next = append(next, b)
		}
		edits = append(edits, store.BoatEdit{Boat: b, Revision: f.revisions[b.Name], By: by})
	}
	return edits, f.keepsWork(f.yard, next)
}

// PuttingBoats are the edits by which PutBoats would put boats into a store; for who has no service.
func PuttingBoats(ctx context.Context, into *store.Store, y config.Yard, boats []config.Boat, by string) ([]store.BoatEdit, error) {
	f := factsOf(y.WithDefaults())
	var err error
	if f.zone, err = y.Location(); err != nil {
		return nil, err
	}
	if err := f.recallWork(ctx, into); err != nil {
		return nil, err
	}
	return f.putting(boats, by)
}

// Notices are the newest ones since a time.
func (s *Service) Notices(ctx context.Context, since time.Time) ([]notify.Notice, error) {
	return s.store.Notices(ctx, since, 500)
}
