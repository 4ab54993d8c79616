package pages

import (
	"fmt"
	"strconv"

	"fairwindow/config"
	"fairwindow/planner"
)

// action is one thing a person can report.
type action struct {
	Kind planner.PressKind
	Name string
	Ask  string // what the note must say; "" for no note
	Must bool   // a note is required
	More string // a further field: pass, until, place
}

// actionOf is what is asked with each kind of press.
func actionOf(k planner.PressKind) (action, bool) {
	a := action{Kind: k}
	switch k {
	case planner.Started:
		a.Name = "Started"
	case planner.PassDone:
		a.Name = "Pass done"
	case planner.Paused:
		a.Name = "Paused"
	case planner.Resumed:
		a.Name = "Resumed"
	case planner.StoppedAt:
		a.Name, a.Ask, a.More = "Stopped here", "Why it stopped", "pass"
	case planner.Finished:
		a.Name = "Finished"
	case planner.Cant:
		a.Name, a.Ask, a.Must = "Can't", "Why it cannot be done", true
	case planner.Rejected:
		a.Name, a.Ask, a.Must = "Rejected", "What is wrong with it", true
	case planner.Held:
		a.Name, a.Ask, a.Must = "Hold back", "Why it is held back", true
	case planner.Freed:
		a.Name = "Free it"
	case planner.Pinned:
		a.Name, a.More = "Pin", "until"
	case planner.Unpinned:
		a.Name = "Unpin"
	case planner.ComesAfter:
		a.Name = "Goes after"
	case planner.AnyOrder:
		a.Name = "Any order again"
	case planner.Arrived:
		a.Name, a.More = "Arrived", "place"
	case planner.Moved:
		a.Name, a.More = "Moved", "place"
	case planner.Launched:
		a.Name, a.Ask = "Launched", "A word on it"
	case planner.Mixed:
		a.Name = "Pot mixed"
	case planner.Override:
		a.Name, a.Ask, a.Must = "Started outside limits", "Why, by your decision", true
	default:
		return action{}, false
	}
	return a, true
}

// sensible are the presses that fit a stage as it is. Within says that it may
// be started by its card now: a coat that may not is offered the override, by name.
func sensible(s planner.Progress, within bool) []planner.PressKind {
	coat := s.Stage.Kind == config.Coat
	waits := s.Stage.Kind == config.Inspect || s.Stage.Kind == config.Hold
	switch {
	case s.Done:
		if coat || s.Stage.Kind == config.Inspect {
			return []planner.PressKind{planner.Rejected}
		}
		return nil
	case s.Held != "":
		return []planner.PressKind{planner.Freed}
	case s.Paused:
		return []planner.PressKind{planner.Resumed, planner.Finished, planner.Cant}
	case s.Running:
		var all []planner.PressKind
		if coat {
			all = append(all, planner.PassDone)
		}
		all = append(all, planner.Finished)
		if s.Stage.Interruptible() {
			all = append(all, planner.Paused)
		}
		if coat {
			all = append(all, planner.StoppedAt)
		}
		if coat || s.Stage.Kind == config.Inspect {
			all = append(all, planner.Rejected)
		}
		return all
	}
	all := []planner.PressKind{planner.Started}
	if waits {
		all = []planner.PressKind{planner.Finished}
	}
	if coat && !within {
		all = append(all, planner.Override)
	}
	all = append(all, planner.Cant)
	if s.Stage.Kind == config.Inspect {
		all = append(all, planner.Rejected)
	}
	all = append(all, planner.Held)
	if s.After != (planner.Key{}) {
		all = append(all, planner.AnyOrder)
	}
	if s.Pinned.IsZero() && s.PinnedTo == "" {
		return append(all, planner.Pinned)
	}
	return append(all, planner.Unpinned)
}

// sensibleBoat are the presses that fit a boat as it is.
func sensibleBoat(b planner.BoatNow) []planner.PressKind {
	switch {
	case !b.Launched.IsZero():
		return nil
	case b.Arrived.IsZero():
		return []planner.PressKind{planner.Arrived}
	}
	return []planner.PressKind{planner.Moved, planner.Launched}
}

// buttonName is what an action's button says on one stage.
func buttonName(a action, s planner.Progress) string {
	switch {
	case a.Kind == planner.PassDone:
		return fmt.Sprintf("Pass %d of %d done", len(s.Passes)+1, max(s.Stage.Passes, 1))
	case a.Kind == planner.Finished && s.Stage.Kind == config.Inspect:
		return "Passed"
	case a.Kind == planner.Finished && s.Stage.Kind == config.Hold:
		return "Hold is over"
	}
	return a.Name
}

// nextPass is the number of the pass that comes.
func nextPass(s planner.Progress) string { return strconv.Itoa(len(s.Passes) + 1) }
