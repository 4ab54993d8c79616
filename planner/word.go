package planner

import (
	"fmt"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// pins says why a stage can't be pinned so; nil if it can.
func (s Progress) pins(p Press) error {
	switch {
	case p.Until.IsZero() && p.Place == "":
		return fmt.Errorf("%s is pinned to neither a time nor a place: give one of them, or both", p.Key)
	case p.Place != "" && s.Stage.Skill == "" && len(s.Stage.Places) == 0:
		return fmt.Errorf("nobody works at %s, so it is wherever its boat is: pin the stage before or after it to a place", p.Key)
	}
	return nil
}

// orders says why a stage can't be put behind another; nil if it can. Only what people
// work at ends when it is planned to, and areas of one boat have an order of their own.
func (w Work) orders(s Progress, p Press) error {
	first, ok := w.Stage(p.Other)
	switch {
	case !ok:
		return fmt.Errorf("there is no stage %s to put %s behind: name a boat, an area of it and a stage", p.Other, p.Key)
	case p.Other.Boat == p.Key.Boat:
		return fmt.Errorf("%s and %s are of one boat: its areas' order is the boat's, its stages' the system's", p.Key, p.Other)
	case s.Stage.Skill == "" || first.Stage.Skill == "":
		return fmt.Errorf("of %s and %s people work at one only: put stages in order that both are work", p.Key, p.Other)
	case first.Done:
		return fmt.Errorf("%s is finished: nothing has to wait for it", p.Other)
	case w.before(p.Key, p.Other, map[Key]bool{}):
		return fmt.Errorf("%s comes after %s already: take that order back first", p.Other, p.Key)
	}
	return nil
}

// before reports whether a stage has to be done before another, by the order of its
// area or by people's word.
func (w Work) before(one, other Key, seen map[Key]bool) bool {
	if one == other {
		return true
	}
	if seen[other] {
		return false
	}
	seen[other] = true
	for _, s := range w.Stages(other.Boat, other.Area) {
		if s.Key == one || s.After != (Key{}) && !s.Done && w.before(one, s.After, seen) {
			return true
		}
		if s.Key == other {
			break
		}
	}
	return false
}

// openJob is the open job of a key; nil if it is done or not known.
func (m *model) openJob(k Key) *job {
	for i := range m.areas {
		a := &m.areas[i]
		if a.Name != k.Area || m.boats[a.boat].Name != k.Boat {
			continue
		}
		for _, j := range a.jobs {
			if j.key == k {
				return j
			}
		}
	}
	return nil
}

// endOf is when an open job ends as planned; never if it has no start.
func (s *schedule) endOf(j *job) engine.Slot {
	for _, p := range s.areas[j.area].done {
		if p.job == j {
			return p.end
		}
	}
	return never
}

// behind refuses a start before another boat's stage, which people said goes first, has
// ended.
func (s *schedule) behind(j *job, t engine.Slot) refusal {
	if j.at.After == (Key{}) {
		return refusal{}
	}
	first := s.openJob(j.at.After)
	if first == nil {
		return refusal{}
	}
	if end := s.endOf(first); t < end {
		return refusal{cause: HeldBy, next: end, other: first.key, person: j.at.AfterBy}
	}
	return refusal{}
}

// goFirst plans what people said goes before an area's next block, whoever's turn it is;
// what in turn waits for this block is not planned on its account.
func (s *schedule) goFirst(a int) {
	was := s.going[a]
	s.going[a] = true
	defer func() { s.going[a] = was }()
	for _, j := range s.block(a) {
		if j.at.After == (Key{}) {
			continue
		}
		if first := s.openJob(j.at.After); first != nil {
			s.reach(first.area, first)
		}
	}
}

// reach plans an area up to a job, and what it comes after; all of it without one. An
// area that is being planned so already waits for itself: its stage will find no start.
func (s *schedule) reach(a int, upto *job) {
	if s.going[a] {
		return
	}
	s.going[a] = true
	defer func() { s.going[a] = false }()
	if after := s.model.areas[a].after; after >= 0 {
		s.reach(after, nil)
	}
	for s.free(a) && (upto == nil || s.endOf(upto) >= never) {
		s.place(a, -1)
	}
}

// pinnedEarlier are the boats that can't be kept to what they were told, because
// somebody has pinned a stage to an earlier time since, or to another place.
func (m *model) pinnedEarlier() []bool {
	loose := make([]bool, len(m.boats))
	for i := range m.areas {
		for _, j := range m.areas[i].jobs {
			told, ok := m.told[j.key]
			earlier := !j.at.Pinned.IsZero() && j.at.Pinned.Before(told.Start)
			if ok && (earlier || j.at.PinnedTo != "" && j.at.PinnedTo != told.Place) {
				loose[m.areas[i].boat] = true
			}
		}
	}
	return loose
}

// pinnedPlace reports whether a block has a stage that somebody pinned to a place.
func pinnedPlace(jobs []*job) bool {
	for _, j := range jobs {
		if j.at.PinnedTo != "" {
			return true
		}
	}
	return false
}

// weighs is what schedules are chosen by: first how many stages do not start when they
// were pinned to, for a person's word is no cost; then the objective.
func (s *schedule) weighs() int64 {
	const dearer = 1 << 40 // than any objective
	total := s.cost().total()
	for i := range s.model.areas {
		for _, j := range s.model.areas[i].jobs {
			if !j.at.Pinned.IsZero() && !j.at.Running && !s.startsBy(j, max(s.grid.Ceil(j.at.Pinned), s.now)) {
				total += dearer
			}
		}
	}
	return total
}

func (s *schedule) startsBy(j *job, t engine.Slot) bool {
	for _, p := range s.areas[j.area].done {
		if p.job == j {
			return p.start <= t
		}
	}
	return false
}

// orders are the lags between boats that people asked for.
func (k *sketch) orders() {
	for i := range k.areas {
		for _, j := range k.areas[i].jobs {
			if j.at.After == (Key{}) {
				continue
			}
			if first := k.openJob(j.at.After); first != nil {
				k.follows(first, j)
			}
		}
	}
}

// may reports whether a job may be done in a place: of a kind that its stage allows,
// and where somebody pinned it to.
func (j *job) may(p config.Place) bool {
	return j.allows(p.Kind) && (j.at.PinnedTo == "" || j.at.PinnedTo == p.Name)
}
