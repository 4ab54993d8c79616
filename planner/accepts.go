package planner

import (
	"errors"
	"fmt"

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
	}
	s, ok := w.Stage(p.Key)
	if !ok && w.repairs(p.Key) {
		return nil // a plan put it in; the press makes it part of the work
	}
	if !ok {
		return fmt.Errorf("%s has no stage %q of an area %q: name one as the boat's page does", p.Key.Boat, p.Key.Stage, p.Key.Area)
	}
	switch p.Kind {
	case Started, Override:
		switch {
		case s.Done:
			return fmt.Errorf("%s is finished: press rejected if it must be done again", p.Key)
		case s.Running && !s.Paused:
			return fmt.Errorf("%s runs already: press pass done, paused or finished", p.Key)
		}
	case Paused, Resumed, PassDone, StoppedAt:
		if !s.Running && !s.Paused {
			return fmt.Errorf("%s does not run: press started first, with the time it began", p.Key)
		}
		if (p.Kind == PassDone || p.Kind == StoppedAt) && s.Stage.Kind != config.Coat {
			return fmt.Errorf("%s is no coat and has no passes: press paused or finished", p.Key)
		}
		if p.Kind == PassDone && p.Pass > s.Stage.Passes {
			return fmt.Errorf("%s has %d passes, there is no pass %d", p.Key, s.Stage.Passes, p.Pass)
		}
	case Finished:
		if s.Done {
			return fmt.Errorf("%s is finished already", p.Key)
		}
	case Rejected:
		if !s.Done && !s.Running {
			return fmt.Errorf("%s is not done, so it can't be rejected: press can't or held instead", p.Key)
		}
	case Cant, Held, Freed, Pinned, Unpinned:
		if s.Done {
			return fmt.Errorf("%s is finished: there is nothing to hold or pin", p.Key)
		}
	default:
		return errors.New("nobody knows a press called " + string(p.Kind))
	}
	return nil
}

// repairs reports whether a key names a repair of a stage that is there.
func (w Work) repairs(k Key) bool {
	a := w.area(k.Boat, k.Area)
	_, target, ok := repairOf(k.Stage)
	return a != nil && ok && a.find(target) >= 0
}
