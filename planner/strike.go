package planner

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"fairwindow/config"
)

// reported is what a Work was folded from: a correction is held against it.
type reported struct {
	yard    config.Yard
	boats   []config.Boat
	presses []Press // in order, each once, those that were struck among them
}

// Standing are the presses that count: neither those that were struck through nor the
// strikes themselves.
func Standing(presses []Press) []Press {
	struck := map[int64]bool{}
	for _, p := range presses {
		if p.Kind == Struck {
			struck[p.Strikes] = true
		}
	}
	if len(struck) == 0 {
		return presses
	}
	return slices.DeleteFunc(slices.Clone(presses), func(p Press) bool {
		return p.Kind == Struck || p.ID != 0 && struck[p.ID]
	})
}

// ContradictionError is a correction that would leave presses standing which could not
// have been reported without what it strikes.
type ContradictionError struct {
	Struck []Press
	Others []Press // in the order they happened; struck too, the correction can be taken
}

func (e *ContradictionError) Error() string {
	return fmt.Sprintf("without %s there could not be %s: strike those too, or none", words(e.Struck), words(e.Others))
}

func words(presses []Press) string {
	var all []string
	for _, p := range presses {
		name := string(p.Kind)
		if p.Pass > 0 {
			name = fmt.Sprintf("%s %d", name, p.Pass)
		}
		all = append(all, fmt.Sprintf("%s (%s, %s)", name, cmp.Or(p.Key.Stage, p.Key.Boat), p.Happened.UTC().Format("2 Jan 15:04 UTC")))
	}
	return strings.Join(all, ", ")
}

// Corrects says why strikes and the presses that come instead of what they strike
// can't be taken as the work stands; nil if they can. Where presses would be left that
// contradict them it is a *ContradictionError, which names all that must go along.
func (w Work) Corrects(strikes, instead []Press) error {
	if w.from == nil || len(strikes) == 0 {
		return fmt.Errorf("a correction strikes at least one press: name it by its number")
	}
	boat := strikes[0].Key.Boat
	of := slices.IndexFunc(w.from.boats, func(b config.Boat) bool { return b.Name == boat })
	if of < 0 {
		return fmt.Errorf("%q is no boat here", boat)
	}
	history := slices.DeleteFunc(slices.Clone(w.from.presses), func(p Press) bool { return p.Key.Boat != boat })
	standing := Standing(history)
	struck := map[int64]bool{}
	for _, s := range strikes {
		switch {
		case !slices.ContainsFunc(history, func(p Press) bool { return p.ID == s.Strikes && p.ID != 0 && p.Kind != Struck }):
			return fmt.Errorf("nothing that was reported of %s has the number %d: look at its record again", boat, s.Strikes)
		case !slices.ContainsFunc(standing, func(p Press) bool { return p.ID == s.Strikes }):
			return fmt.Errorf("number %d of %s is struck through already", s.Strikes, boat)
		}
		struck[s.Strikes] = true
	}
	one := []config.Boat{w.from.boats[of]}
	before := walk(w.from.yard, one, standing)
	gone := maps.Clone(struck)
	for {
		left := slices.DeleteFunc(slices.Clone(standing), func(p Press) bool { return gone[p.ID] })
		after := walk(w.from.yard, one, append(left, instead...))
		more := false
		for _, p := range left {
			if before[p.ID] == nil && after[p.ID] != nil {
				gone[p.ID], more = true, true
			}
		}
		if more {
			continue
		}
		if len(gone) == len(struck) {
			return after[0]
		}
		e := &ContradictionError{}
		for _, p := range standing {
			if struck[p.ID] {
				e.Struck = append(e.Struck, p)
			} else if gone[p.ID] {
				e.Others = append(e.Others, p)
			}
		}
		return e
	}
}

// walk replays one boat's presses and says of each, by ID, why it could not be reported
// as the work then stood; those to come, which have no ID yet, share 0.
func walk(y config.Yard, boat []config.Boat, presses []Press) map[int64]error {
	w := Replay(y, boat, nil)
	faults := map[int64]error{}
	for _, p := range inOrder(presses) {
		err := w.Accepts(p)
		if s, ok := w.Stage(p.Key); err == nil && p.ID != 0 && p.Kind == Finished && ok && !s.Running {
			// Taken where nobody pressed started; but what was started must not end alone.
			err = fmt.Errorf("%s was not started", p.Key)
		}
		if err != nil && faults[p.ID] == nil {
			faults[p.ID] = err
		}
		w.take(p)
	}
	return faults
}
