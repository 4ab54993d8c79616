package service

import (
	"context"
	"fmt"
	"slices"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/daemon/store"
	"fairwindow/planner"
)

// Enter keeps what a person adds to a coat: batches, amounts, films. It is on disk when
// Enter returns nil; entered twice with one Once, it counts once. One that strikes
// another is for the one who entered that, within minutes, when slip is said; otherwise
// who may is the caller's to know.
func (s *Service) Enter(ctx context.Context, e record.Entry, slip bool) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now, f := s.clock.Now(), &s.facts
	e.Entered, e.Struck = now, nil
	if e.At.IsZero() {
		e.At = now
	}
	entries, err := s.store.Entries(ctx, e.Key.Boat)
	if err != nil {
		return err
	}
	if e.Once != "" && slices.ContainsFunc(entries, func(o record.Entry) bool { return o.Once == e.Once }) {
		return nil
	}
	if e.Strikes != 0 {
		if err := s.strikesEntry(&e, entries, slip); err != nil {
			return err
		}
	}
	if err := e.Check(); err != nil {
		return refuse("%s", err)
	}
	if e.At.After(now.Add(aheadBy)) {
		return refuse("it can't have been measured at %s, which is still to come", e.At.In(f.zone).Format("Mon 2 Jan 15:04"))
	}
	stage, ok := f.work.Stage(e.Key)
	switch {
	case !ok || stage.Stage.Kind != config.Coat:
		return refuse("%s is no coat of a boat here: what goes on is entered with its coat", e.Key)
	case e.Pass < 0 || e.Pass > max(stage.Stage.Passes, len(stage.Passes), 1):
		return refuse("%s has no pass %d", e.Key, e.Pass)
	}
	if g, locked := record.Locked(f.signed, e.Key); locked {
		return f.shut(g)
	}
	_, err = s.commit(ctx, store.Change{Entries: []record.Entry{e}})
	return err
}

// strikesEntry makes of a strike one of the coat that it strikes in.
func (s *Service) strikesEntry(e *record.Entry, entries []record.Entry, slip bool) error {
	at := slices.IndexFunc(entries, func(o record.Entry) bool { return o.ID == e.Strikes && o.Strikes == 0 })
	if at < 0 {
		return refuse("no entry of %s has the number %d: look at its record again", e.Key.Boat, e.Strikes)
	}
	was := entries[at]
	switch {
	case slices.ContainsFunc(entries, func(o record.Entry) bool { return o.Strikes == e.Strikes }):
		return refuse("entry %d is struck through already", e.Strikes)
	case slip && was.By != e.By:
		return refuse("%s entered that: only he takes it back himself, or scheduler or manager with a reason", was.By)
	case slip && s.clock.Now().Sub(was.Entered) > slipFor:
		return refuse("that was entered more than %.0f minutes ago: ask scheduler or manager to strike it, with a reason", slipFor.Minutes())
	}
	if slip && e.Note == "" {
		e.Note = "that was a slip"
	}
	*e = record.Entry{Key: was.Key, At: e.At, Entered: e.Entered, By: e.By, Note: e.Note, Once: e.Once, Strikes: e.Strikes}
	return nil
}

// Sign signs a boat's record off or opens it again, the whole or one coat. The digest
// must be that of the record as it is now: what somebody has read is what he signs.
func (s *Service) Sign(ctx context.Context, g record.Signature) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now, f := s.clock.Now(), &s.facts
	g.At = now
	if g.Once != "" && slices.ContainsFunc(f.signed, func(o record.Signature) bool { return o.Once == g.Once }) {
		return nil
	}
	if g.By == "" || g.Role == "" {
		return refuse("a signature is a name and what he is here: write both")
	}
	if !slices.ContainsFunc(f.boats, func(b config.Boat) bool { return b.Name == g.Key.Boat }) {
		return refuse("%q is no boat of this yard", g.Key.Boat)
	}
	own, locked := record.Locked(f.signed, g.Key)
	if locked && own.Key != g.Key {
		return f.shut(own) // the whole boat's stands above a coat's
	}
	var body []byte
	switch g.Act {
	case record.Reopened:
		switch {
		case !locked:
			return refuse("it is not signed off, so there is nothing to open again")
		case g.Remark == "":
			return refuse("say why it is opened again: the reason stays beside both signatures")
		}
		g.Digest = ""
	case record.Signed:
		if locked {
			return f.shut(own)
		}
		full, err := s.made(ctx, g.Key.Boat)
		if err != nil {
			return err
		}
		of := full.Of(g.Key)
		if g.Key.Stage != "" && len(of.Coats) == 0 {
			return refuse("nothing of %s has been reported yet: there is nothing to sign", g.Key)
		}
		if body, err = of.Canonical(); err != nil {
			return err
		}
		if is := record.Sum(body); g.Digest != is {
			return refuse("the record has changed since it was shown to you: read it again, then sign")
		}
	default:
		return refuse("%q is nothing to sign: use signed or reopened", g.Act)
	}
	done, err := s.commit(ctx, store.Change{Signed: []store.NewSignature{{Signature: g, Record: body}}})
	if err != nil {
		return err
	}
	f.signed = append(slices.Clone(f.signed), done.Signed...)
	return nil
}

// Record is the record of what went on a boat.
func (s *Service) Record(ctx context.Context, boat string) (record.Record, error) {
	s.mu.Lock()
	yard, f := s.facts.yard, s.facts
	s.mu.Unlock()
	return recordOf(ctx, s.store, yard, &f, boat)
}

// made is Record for who holds the turn.
func (s *Service) made(ctx context.Context, boat string) (record.Record, error) {
	return recordOf(ctx, s.store, s.facts.yard, &s.facts, boat)
}

// onBoat are the presses of one boat.
func onBoat(presses []planner.Press, boat string) []planner.Press {
	var out []planner.Press
	for _, p := range presses {
		if p.Key.Boat == boat {
			out = append(out, p)
		}
	}
	return out
}

// errNoBoat says that a boat is not known.
func errNoBoat(boat string) error { return fmt.Errorf("there is no boat %q in this yard", boat) }
