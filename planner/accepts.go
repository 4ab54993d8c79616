package planner

import (
	"fmt"
	"time"

	"fairwindow/config"
)

// Accepts says in one sentence why a press can't be taken as the work stands,
// and what to press instead; nil if it can.
func (w Work) Accepts(p Press) error {
	if w.boat(p.Key.Boat) == nil {
		return fmt.Errorf("%q is no boat here", p.Key.Boat)
	}
	switch p.Kind {
	case Arrived, Moved, Launched:
		return nil
	case Struck:
		return w.Corrects([]Press{p}, nil)
	}
	s, ok := w.Stage(p.Key)
	if !ok && w.repairs(p.Key) {
		return nil // a plan put it in; the press makes it part of the work
	}
	if !ok {
		return fmt.Errorf("%s has no stage %q of an area %q: name one as the boat's page does", p.Key.Boat, p.Key.Stage, p.Key.Area)
	}
	if err := s.follows(p); err != nil {
		return err
	}
	switch p.Kind {
	case Started, Override:
		before, open := w.openBefore(p.Key)
		switch {
		case s.Done:
			return fmt.Errorf("%s is finished: press rejected if it must be done again", p.Key)
		case s.Running && !s.Paused:
			return fmt.Errorf("%s runs already: press pass done, paused or finished", p.Key)
		case open && p.Kind == Started:
			return fmt.Errorf("%s comes after %s, which is not finished: press finished for that first, with the time it was, or override with a reason", p.Key, before.Stage)
		}
	case Paused, Resumed, PassDone, StoppedAt:
		if !s.Running && !s.Paused {
			return fmt.Errorf("%s does not run: press started first, with the time it began", p.Key)
		}
		if p.Kind == Resumed && !s.Paused {
			return fmt.Errorf("%s was not paused: there is nothing to resume, press pass done, paused or finished", p.Key)
		}
		if (p.Kind == PassDone || p.Kind == StoppedAt) && s.Stage.Kind != config.Coat {
			return fmt.Errorf("%s is no coat and has no passes: press paused or finished", p.Key)
		}
		if p.Kind == StoppedAt {
			return s.stops(p)
		}
		if next := len(s.Passes) + 1; p.Kind == PassDone && p.Pass != 0 && p.Pass != next {
			return fmt.Errorf("%s has %d of %d passes done: the next to report is pass %d, not %d", p.Key, len(s.Passes), max(s.Stage.Passes, 1), next, p.Pass)
		}
	case Mixed:
		if s.Stage.Kind != config.Coat {
			return fmt.Errorf("%s is no coat: nothing is mixed for it", p.Key)
		}
		if next := len(s.Passes) + 1; s.Done || p.Pass < next || p.Pass > max(s.Stage.Passes, 1) {
			return fmt.Errorf("%s has %d of %d passes done: no pot is mixed for pass %d", p.Key, len(s.Passes), max(s.Stage.Passes, 1), p.Pass)
		}
	case Finished:
		if s.Done {
			return fmt.Errorf("%s is finished already", p.Key)
		}
	case Rejected:
		if !s.Done && !s.Running {
			return fmt.Errorf("%s is not done, so it can't be rejected: press can't or held instead", p.Key)
		}
	case Cant, Held, Freed, Pinned, Unpinned, ComesAfter, AnyOrder:
		if s.Done {
			return fmt.Errorf("%s is finished: there is nothing to hold, pin or put in order", p.Key)
		}
		switch p.Kind {
		case Pinned:
			return s.pins(p)
		case ComesAfter:
			return w.orders(s, p)
		}
	default:
		return fmt.Errorf("nobody knows a press called %q: use started, pass_done, paused, resumed, stopped_here, finished, cant, rejected, held, freed, pinned, unpinned, comes_after, any_order, mixed or struck", p.Kind)
	}
	return nil
}

// TooEarlyError is a press that is said to have happened before what it follows. Its time
// is for the yard's clock, which nobody knows here.
type TooEarlyError struct {
	Key  Key
	Last time.Time // when what was reported last happened
}

func (e *TooEarlyError) Error() string { return e.Says(e.Last.UTC().Format("2 Jan 15:04 UTC")) }

// Says is the sentence with the time as its reader tells it.
func (e *TooEarlyError) Says(last string) string {
	return fmt.Sprintf("the last that was reported of %s was at %s: give a time no earlier", e.Key, last)
}

// stops refuses a stop after fewer passes than are reported, which would take paint off the
// hull, and one after all of them: that is a coat finished.
func (s Progress) stops(p Press) error {
	done, most := len(s.Passes), max(s.Stage.Passes, 1)
	switch {
	case p.Pass < done:
		return fmt.Errorf("%s has %d of %d passes reported done: it stopped after %d or more, not after %d", p.Key, done, most, done, p.Pass)
	case p.Pass >= most:
		return fmt.Errorf("%s has %d passes: if all of them are done press finished, else give how many whole ones are", p.Key, most)
	}
	return nil
}

// follows refuses a press that happened before what it follows: a cure clock
// would begin before the paint was on.
func (s Progress) follows(p Press) error {
	last := s.Started
	if n := len(s.Passes); n > 0 {
		last = s.Passes[n-1].To
	}
	switch p.Kind {
	case PassDone, Paused, Resumed, StoppedAt, Finished:
		if !last.IsZero() && p.Happened.Before(last) {
			return &TooEarlyError{p.Key, last}
		}
	}
	return nil
}

// openBefore is the first stage of an area before another that people have
// still to finish; a cure that nobody ended does not stand in the way.
func (w Work) openBefore(k Key) (Key, bool) {
	for _, s := range w.Stages(k.Boat, k.Area) {
		if s.Key == k {
			break
		}
		if !s.Done && s.Stage.Skill != "" {
			return s.Key, true
		}
	}
	return Key{}, false
}

// repairs reports whether a key names a repair of a stage that is there.
func (w Work) repairs(k Key) bool {
	a := w.area(k.Boat, k.Area)
	_, target, ok := repairOf(k.Stage)
	return a != nil && ok && a.find(target) >= 0
}
