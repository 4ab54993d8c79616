package service

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"time"

	"fairwindow/daemon/record"
	"fairwindow/daemon/store"
	"fairwindow/planner"
)

// slipFor is how long the one who pressed may strike his own press.
const slipFor = 10 * time.Minute

// Correct strikes presses of one boat through, and takes what comes instead of them, as
// one act. Slip says that nobody answers for it but the one who pressed: then he must be
// the same, within minutes. Otherwise who may is the caller's to know, and a reason is
// needed. What would be left standing alone comes back as a *Contradiction.
func (s *Service) Correct(ctx context.Context, boat string, ids []int64, instead []planner.Press, by planner.Press, slip bool) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now, f := s.clock.Now(), &s.facts
	if by.By == "" {
		return refuse("nobody's name is on it: say who strikes this")
	}
	if by.Note == "" && slip {
		by.Note = "that was a slip"
	}
	if by.Note == "" {
		return refuse("say why: a reason is kept beside what is struck through")
	}
	var strikes []planner.Press
	for _, id := range ids {
		once := ""
		if by.Once != "" {
			once = fmt.Sprintf("%s/strike/%d", by.Once, id)
		}
		if once != "" && slices.ContainsFunc(f.presses, func(q planner.Press) bool { return q.Once == once }) {
			return nil
		}
		at := slices.IndexFunc(f.presses, func(q planner.Press) bool { return q.ID == id && q.Key.Boat == boat && q.Kind != planner.Struck })
		if at < 0 {
			return refuse("nothing that was reported of %s has the number %d: look at its record again", boat, id)
		}
		was := f.presses[at]
		switch {
		case slip && was.By != by.By:
			return refuse("%s reported that: only he takes it back himself, or scheduler or manager with a reason", was.By)
		case slip && now.Sub(was.Entered) > slipFor:
			return refuse("that was reported more than %.0f minutes ago: ask scheduler or manager to strike it, with a reason", slipFor.Minutes())
		}
		strikes = append(strikes, planner.Press{
			Kind: planner.Struck, Key: was.Key, Pass: was.Pass, Strikes: id, Happened: now, Entered: now, By: by.By, Note: by.Note, Once: once,
		})
	}
	for i := range instead {
		p := &instead[i]
		p.Entered, p.By = now, cmp.Or(p.By, by.By)
		if by.Once != "" {
			p.Once = fmt.Sprintf("%s/instead/%d", by.Once, i)
		}
		if p.Happened.After(now.Add(aheadBy)) {
			return refuse("it can't have happened at %s, which is still to come", p.Happened.In(f.zone).Format("Mon 2 Jan 15:04"))
		}
	}
	if err := f.work.Corrects(strikes, instead); err != nil {
		return contradiction(err, f.zone)
	}
	return s.keepPresses(ctx, append(strikes, instead...), now)
}

// Contradiction refuses a correction for what it would leave standing alone; Also are
// the presses that would have to be struck too.
type Contradiction struct {
	Refusal
	Also []int64
}

// WithIt are the numbers of the presses to strike along.
func (c Contradiction) WithIt() []int64 { return c.Also }

func contradiction(err error, zone *time.Location) error {
	stands, ok := err.(*planner.ContradictionError)
	if !ok {
		return refuse("%s", err)
	}
	c := Contradiction{}
	words := ""
	for i, p := range stands.Others {
		c.Also = append(c.Also, p.ID)
		if i > 0 {
			words += ", "
		}
		words += fmt.Sprintf("%s of %s at %s", string(p.Kind), cmp.Or(p.Key.Stage, p.Key.Boat), p.Happened.In(zone).Format("Mon 2 Jan 15:04"))
	}
	c.Refusal = Refusal{fmt.Sprintf("Without that there could not be what was reported after it: %s. Strike those too, or none.", words)}
	return c
}

// under notes with a press on a coat the card and the limits that are in force.
func (f *facts) under(p *planner.Press, change *store.Change) error {
	progress, known := f.work.Stage(p.Key)
	card, coat := f.yard.Card(progress.Stage.Card)
	if !known || !coat || p.Kind == planner.Struck {
		return nil
	}
	place, _ := f.yard.Place(f.work.Place(p.Key.Boat).Place)
	text, err := json.Marshal(record.Terms{Card: card, Rules: f.yard.Rules(progress.Stage, place)})
	if err != nil {
		return fmt.Errorf("terms of %s: %w", p.Key, err)
	}
	p.Terms = record.Sum(text)
	if change.Terms == nil {
		change.Terms = map[string]json.RawMessage{}
	}
	change.Terms[p.Terms] = text
	return nil
}

// unlocked refuses presses that would change what somebody signed off.
func (f *facts) unlocked(presses []planner.Press) error {
	after := *f
	after.take(presses...)
	for _, p := range presses {
		if s, locked := record.Locked(f.signed, p.Key); locked {
			return f.shut(s)
		}
		for _, s := range record.LockedCoats(f.signed, p.Key.Boat) {
			was, _ := f.work.Stage(s.Key)
			if is, _ := after.work.Stage(s.Key); !reflect.DeepEqual(was, is) {
				return f.shut(s)
			}
		}
	}
	return nil
}

// shut says who signed, and the way out.
func (f *facts) shut(s record.Signature) error {
	return refuse("%s signed off %s on %s: nothing more is taken into it. The manager can open it again on the boat's page, with a reason",
		s.By, signedWhat(s.Key), s.At.In(f.zone).Format("Mon 2 Jan 2006 15:04"))
}

// signedWhat is what a signature stands under.
func signedWhat(k planner.Key) string {
	if k.Stage == "" {
		return "the record of " + k.Boat
	}
	return fmt.Sprintf("%s on %s of %s", k.Stage, k.Area, k.Boat)
}
