package planner

import (
	"cmp"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// Difference is one plan beside another. Waits and spoiling are of the stages that
// have a start in both, so that like is held against like; NoStart names the rest.
type Difference struct {
	Launches []LaunchPair `json:"launches"` // as the plan before has them, then what only the one after has
	Waits    []WaitPair   `json:"waits"`    // those that differ most first
	Spoiling Spoiling     `json:"spoiling"`
	Cost     []TermPair   `json:"cost"` // the objective, term by term; the last is the sum
	NoStart  KeyPair      `json:"no_start"`
	Compared int          `json:"compared"` // stages that have a start in both
	Moved    []Move       `json:"moved"`    // of those, with another start, place or crew; by boat, area and start before
}

// LaunchPair is a boat's launch in both plans; a promise is zero in a plan that does
// not have the boat, Likely beyond the plan.
type LaunchPair struct {
	Boat   string `json:"boat"`
	Before Launch `json:"before"`
	After  Launch `json:"after"`
}

// Sooner is by how much the boat is launched sooner after the change, less than zero
// if later; false if either plan does not launch it.
func (l LaunchPair) Sooner() (time.Duration, bool) {
	if l.Before.Likely.IsZero() || l.After.Likely.IsZero() {
		return 0, false
	}
	return l.Before.Likely.Sub(l.After.Likely), true
}

// WaitPair is the hours waited for one cause, both ledgers, summed over stages:
// two areas that wait side by side count twice.
type WaitPair struct {
	Cause  Cause               `json:"cause"`
	Of     conditions.Quantity `json:"of,omitempty"` // of conditions: what was outside its limit, none where it is not known
	Before float64             `json:"before"`       // h
	After  float64             `json:"after"`        // h
}

// Again reports whether the hours are of waits that are counted already: a stage
// that waits moves all that come after it.
func (w WaitPair) Again() bool { return w.Cause == EarlierMoved }

// Spoiling is how likely coats are spoilt.
type Spoiling struct {
	Coats  int         `json:"coats"`
	Before float64     `json:"before"` // coats spoilt, on average: the sum of 1 − chance
	After  float64     `json:"after"`
	Boats  []SoundPair `json:"boats"`
}

// SoundPair is the chance that none of a boat's coats is spoilt: the product of
// their chances, as if the errors of two coats, which are mostly days apart, had
// nothing to do with each other. Our judgement.
type SoundPair struct {
	Boat   string  `json:"boat"`
	Coats  int     `json:"coats"`
	Before float64 `json:"before"`
	After  float64 `json:"after"`
}

// TermPair is one term of the objective, cost-minutes.
type TermPair struct {
	Name   string `json:"name"`
	Before int64  `json:"before"`
	After  int64  `json:"after"`
}

// KeyPair are stages without a start.
type KeyPair struct {
	Before []Key `json:"before"`
	After  []Key `json:"after"`
}

// Move is a stage that is planned otherwise.
type Move struct {
	Key    Key  `json:"key"`
	Before Told `json:"before"`
	After  Told `json:"after"`
}

// Sum names the last of a difference's terms.
const Sum = "in all"

// Compare holds a plan against one made before a change.
func Compare(before, after Plan) Difference {
	d := Difference{
		Launches: launchPairs(before.Launches, after.Launches),
		Cost:     termPairs(before.Cost, after.Cost),
		NoStart:  KeyPair{noStart(before), noStart(after)},
		Moved:    []Move{},
	}
	then := map[Key]Planned{}
	for _, s := range after.Stages {
		then[s.Key] = s
	}
	waits := map[WaitPair]*WaitPair{}
	sound := map[string]*SoundPair{}
	for _, was := range before.Stages {
		is, ok := then[was.Key]
		if !ok || was.Start.IsZero() || is.Start.IsZero() {
			continue
		}
		d.Compared++
		if !was.Start.Equal(is.Start) || was.Place != is.Place || was.Crew != is.Crew {
			d.Moved = append(d.Moved, Move{was.Key, Told{Key: was.Key, Start: was.Start, Place: was.Place}, Told{Key: is.Key, Start: is.Start, Place: is.Place}})
		}
		for _, w := range was.Waits {
			wait(waits, w).Before += w.To.Sub(w.From).Hours()
		}
		for _, w := range is.Waits {
			wait(waits, w).After += w.To.Sub(w.From).Hours()
		}
		if was.Kind == config.Coat {
			d.Spoiling.add(sound, was, is)
		}
	}
	d.Waits = values(waits, func(a, b WaitPair) int {
		return cmp.Or(cmp.Compare(math.Abs(b.After-b.Before), math.Abs(a.After-a.Before)), cmp.Compare(a.Cause, b.Cause), cmp.Compare(a.Of, b.Of))
	})
	d.Spoiling.Boats = values(sound, func(a, b SoundPair) int { return cmp.Compare(a.Boat, b.Boat) })
	slices.SortStableFunc(d.Moved, func(a, b Move) int {
		return cmp.Or(cmp.Compare(a.Key.Boat, b.Key.Boat), cmp.Compare(a.Key.Area, b.Key.Area), a.Before.Start.Compare(b.Before.Start))
	})
	return d
}

// Gained is by how much the objective is less after the change, cost-minutes.
func (d Difference) Gained() int64 {
	sum := d.Cost[len(d.Cost)-1]
	return sum.Before - sum.After
}

func launchPairs(before, after []Launch) []LaunchPair {
	pairs := []LaunchPair{}
	for _, l := range before {
		pairs = append(pairs, LaunchPair{Boat: l.Boat, Before: l})
	}
	for _, l := range after {
		i := slices.IndexFunc(pairs, func(p LaunchPair) bool { return p.Boat == l.Boat })
		if i < 0 {
			pairs, i = append(pairs, LaunchPair{Boat: l.Boat}), len(pairs)
		}
		pairs[i].After = l
	}
	return pairs
}

func termPairs(before, after []Term) []TermPair {
	var pairs []TermPair
	sum := TermPair{Name: Sum}
	at := func(name string) *TermPair {
		i := slices.IndexFunc(pairs, func(p TermPair) bool { return p.Name == name })
		if i < 0 {
			pairs, i = append(pairs, TermPair{Name: name}), len(pairs)
		}
		return &pairs[i]
	}
	for _, t := range before {
		at(t.Name).Before += t.Amount
		sum.Before += t.Amount
	}
	for _, t := range after {
		at(t.Name).After += t.Amount
		sum.After += t.Amount
	}
	return append(pairs, sum)
}

func noStart(p Plan) []Key {
	keys := []Key{}
	for _, s := range p.Stages {
		if s.Start.IsZero() {
			keys = append(keys, s.Key)
		}
	}
	return keys
}

// wait is the sum that a wait belongs to.
func wait(sums map[WaitPair]*WaitPair, w Wait) *WaitPair {
	of := WaitPair{Cause: w.Cause}
	if w.Cause == OutOfLimits && w.Evidence.Sure != conditions.Unknown {
		of.Of = w.Evidence.Bound.Of
	}
	if sums[of] == nil {
		one := of
		sums[of] = &one
	}
	return sums[of]
}

func (s *Spoiling) add(boats map[string]*SoundPair, was, is Planned) {
	s.Coats++
	s.Before += 1 - was.Chance
	s.After += 1 - is.Chance
	b := boats[was.Key.Boat]
	if b == nil {
		b = &SoundPair{Boat: was.Key.Boat, Before: 1, After: 1}
		boats[was.Key.Boat] = b
	}
	b.Coats++
	b.Before *= was.Chance
	b.After *= is.Chance
}

// values are a map's, in an order that leaves none to chance.
func values[K comparable, V any](of map[K]*V, order func(a, b V) int) []V {
	all := []V{}
	for _, v := range of {
		all = append(all, *v)
	}
	slices.SortFunc(all, order)
	return all
}
