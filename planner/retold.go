package planner

import "time"

// Retold is a stage that will not begin when or where people were told it would.
type Retold struct {
	Key   Key       `json:"key"`
	Told  Told      `json:"told"`
	Start time.Time `json:"start"` // zero: it has no start now
	Place string    `json:"place,omitempty"`
	// Why is what stands in the way of the start that was told, at that time. It is
	// empty for a stage that begins sooner, or elsewhere, only because that costs less:
	// the plan's Bought says what.
	Why Wait `json:"why,omitzero"`
}

// retold compares a plan with what people were told. What is done or runs has not moved.
func retold(p Problem, plan Plan) []Retold {
	by := map[Key]*Planned{}
	for i := range plan.Stages {
		by[plan.Stages[i].Key] = &plan.Stages[i]
	}
	var all []Retold
	for _, told := range p.Told {
		s := by[told.Key]
		if s == nil || s.State == Running {
			continue
		}
		elsewhere := told.Place != "" && told.Place != s.Place
		if s.Start.Equal(told.Start) && !elsewhere {
			continue
		}
		one := Retold{Key: told.Key, Told: told, Start: s.Start, Place: s.Place}
		if s.Start.IsZero() || s.Start.After(told.Start) {
			one.Why = inTheWay(s, told.Start)
		} else if elsewhere {
			one.Why = takenBy(plan, told)
		}
		all = append(all, one)
	}
	return all
}

// inTheWay is what a stage waits for at a time. Before it is ready, that is the stage
// before it, if nothing else is known.
func inTheWay(s *Planned, at time.Time) Wait {
	for _, w := range s.Waits {
		if !w.From.After(at) && w.To.After(at) {
			return w
		}
	}
	if len(s.Waits) > 0 && s.Start.IsZero() {
		return s.Waits[0]
	}
	return Wait{From: at, To: s.Ready, Cause: EarlierMoved}
}

// takenBy is the boat that stands in a told place at the told time, if one does.
func takenBy(plan Plan, told Told) Wait {
	for _, b := range plan.Blocks {
		if b.Place == told.Place && b.Boat != told.Key.Boat && !b.From.After(told.Start) && b.To.After(told.Start) {
			return Wait{From: b.From, To: b.To, Cause: PlaceTaken, Evidence: Evidence{Other: Key{Boat: b.Boat}}}
		}
	}
	return Wait{}
}

// bought is what a plan saves against the one that keeps to what people were told as
// far as it can, term by term; nothing where nothing was told.
func bought(kept, chosen cost) []Term {
	for i := range kept {
		kept[i] -= chosen[i]
	}
	return kept.table()
}

// Since is what begins at another time or place in a plan than in an earlier one of the
// same yard, with why, as for what people were told.
func Since(was, is Plan) []Retold {
	p := Problem{}
	for _, s := range was.Stages {
		if s.placed() {
			p.Told = append(p.Told, Told{Key: s.Key, Start: s.Start, Place: s.Place})
		}
	}
	return retold(p, is)
}
