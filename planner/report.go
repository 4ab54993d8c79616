package planner

import (
	"slices"
	"time"

	"fairwindow/config"
)

// take folds one press in; false if it names nothing that is known.
func (w *Work) take(p Press) bool {
	b := w.boat(p.Key.Boat)
	if b == nil {
		return false
	}
	if p.Key.Stage == "" {
		return b.take(p)
	}
	a := w.area(p.Key.Boat, p.Key.Area)
	if a == nil {
		return false
	}
	i := a.find(p.Key.Stage)
	if i < 0 {
		if i = a.putIn(p.Key.Stage); i < 0 {
			return false
		}
	}
	switch p.Kind {
	case StoppedAt:
		a.stop(i, p)
	case Rejected:
		a.reject(i, p)
	default:
		return a.stages[i].take(p, *b)
	}
	return true
}

func (b *BoatNow) take(p Press) bool {
	switch p.Kind {
	case Arrived:
		if b.Arrived.IsZero() {
			b.Arrived = p.Happened
		}
		if p.Place == "" || p.Place == b.Place {
			return true
		}
	case Moved:
		if p.Place == b.Place {
			return true
		}
		if b.Arrived.IsZero() {
			b.Arrived = p.Happened // a boat that was moved is here, whoever forgot to say so
		}
	case Launched:
		b.Launched = p.Happened
		return true
	default:
		return false
	}
	b.Place, b.Since = p.Place, p.Happened
	return true
}

// take folds in a press that changes this stage alone.
func (s *Progress) take(p Press, b BoatNow) bool {
	switch p.Kind {
	case Started, Resumed:
		s.start(p, b)
	case Override:
		s.Override, s.OverBy = p.Note, p.By
		s.start(p, b)
	case PassDone:
		s.pass(p, b)
	case Paused:
		if s.Running && !s.Paused {
			s.close(p)
			s.Paused = true
		}
	case Finished:
		s.finish(p, b)
	case Cant:
		s.Cant, s.CantAt, s.CantBy = p.Note, p.Happened, p.By
		if s.Cant == "" {
			s.Cant = "no reason given"
		}
	case Mixed:
		s.Pots = append(s.Pots, Pot{max(p.Pass, 1), p.Happened})
	case Held:
		s.Held, s.HeldWhy = p.By, p.Note
	case Freed:
		s.Held, s.HeldWhy = "", ""
	case Pinned:
		s.Pinned, s.PinnedTo, s.PinnedBy = p.Until, p.Place, p.By
	case Unpinned:
		s.Pinned, s.PinnedTo, s.PinnedBy = time.Time{}, "", ""
	case ComesAfter:
		s.After, s.AfterBy = p.Other, p.By
	case AnyOrder:
		s.After, s.AfterBy = Key{}, ""
	default:
		return false
	}
	return true
}

func (s *Progress) start(p Press, b BoatNow) {
	if s.Done || s.Running && !s.Paused {
		return
	}
	if s.Started.IsZero() {
		s.Started, s.Place, s.By = p.Happened, b.Place, p.By
	}
	s.Running, s.Paused, s.since, s.Cant = true, false, p.Happened, ""
}

// close ends the part that runs.
func (s *Progress) close(p Press) {
	if s.Running && !s.Paused && p.Happened.After(s.since) {
		s.Worked = append(s.Worked, Span{s.since, p.Happened})
	}
}

// pass counts one pass; the last one finishes the coat. A number that was
// counted before is a doubled press.
func (s *Progress) pass(p Press, b BoatNow) {
	if s.Done || p.Pass > 0 && p.Pass <= len(s.Passes) {
		return
	}
	s.start(p, b)
	from := s.since
	if n := len(s.Passes); n > 0 && s.Passes[n-1].To.After(from) {
		from = s.Passes[n-1].To
	}
	s.Passes = append(s.Passes, Span{from, p.Happened})
	if len(s.Passes) >= max(s.Stage.Passes, 1) {
		s.finish(p, b)
	}
}

func (s *Progress) finish(p Press, b BoatNow) {
	if s.Done {
		return
	}
	if s.Started.IsZero() {
		s.Started, s.Place, s.By = p.Happened, b.Place, p.By
	}
	s.close(p)
	s.Done, s.Running, s.Paused, s.Ended, s.Cant = true, false, false, p.Happened, ""
}

// putIn makes room for a repair that a plan named: before the wipe that comes
// right before its stage, else before the stage. It is -1 if the name is no repair's.
func (a *areaWork) putIn(name string) int {
	_, target, ok := repairOf(name)
	i := a.find(target)
	if !ok || i < 0 {
		return -1
	}
	r := repairStage(name, a.stages[i].Stage, a.recipe())
	if r.Kind == config.Sand && i > 0 && a.stages[i-1].Stage.Kind == config.Wipe && !a.stages[i-1].Done {
		i--
	}
	a.insert(i, r, true)
	return i
}

func (a *areaWork) recipe() []config.Stage {
	stages := make([]config.Stage, len(a.stages))
	for i, p := range a.stages {
		stages[i] = p.Stage
	}
	return stages
}

func (a *areaWork) insert(i int, s config.Stage, repair bool) {
	key := Key{Boat: a.boat, Area: a.area, Stage: s.Name}
	a.stages = slices.Insert(a.stages, i, Progress{Key: key, Stage: s, Repair: repair})
}

// stop ends a coat after so many of its passes. What is left becomes a stage of
// its own; a coat stopped before its first pass was done is open again.
func (a *areaWork) stop(i int, p Press) {
	s := &a.stages[i]
	if s.Done || s.Stage.Kind != config.Coat {
		return
	}
	n := len(s.Passes)
	if p.Pass > n {
		for len(s.Passes) < min(p.Pass, max(s.Stage.Passes, 1)) {
			s.Passes = append(s.Passes, Span{s.since, p.Happened})
		}
		n = len(s.Passes)
	}
	left := max(s.Stage.Passes, 1) - n
	s.close(p)
	s.Running, s.Paused = false, false
	if n == 0 {
		s.Worked = nil
		return
	}
	s.Done, s.Ended = true, s.Passes[n-1].To
	if left <= 0 {
		return
	}
	rest := s.Stage
	rest.Name, rest.Passes = restOf+rest.Name, left
	s.Stage.Passes = n
	a.insert(i+1, rest, false)
}

// reject opens the last coat up to stage i again, and all that was done after
// it, behind an abrading.
func (a *areaWork) reject(i int, p Press) {
	c := i
	for c >= 0 && a.stages[c].Stage.Kind != config.Coat {
		c--
	}
	if c < 0 {
		c = i
	}
	if !a.stages[c].Done && !a.stages[c].Running {
		return // rejected twice, or before it was done
	}
	for j := c; j < len(a.stages); j++ {
		s := &a.stages[j]
		if s.Done || s.Running {
			*s = Progress{Key: s.Key, Stage: s.Stage, Repair: s.Repair, Held: s.Held, HeldWhy: s.HeldWhy}
			s.Rejected = p.Note
		}
	}
	coat := a.stages[c].Stage
	if coat.Kind != config.Coat {
		return
	}
	name := repairName(abrade, coat.Name, func(string) bool { return false })
	if old := a.find(name); old >= 0 {
		s := &a.stages[old]
		*s = Progress{Key: s.Key, Stage: s.Stage, Repair: true, Rejected: p.Note}
		return
	}
	a.insert(c, repairStage(name, coat, a.recipe()), true)
	a.stages[c].Rejected = p.Note
}
