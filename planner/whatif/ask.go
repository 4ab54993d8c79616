package whatif

import (
	"errors"
	"fmt"

	"fairwindow/planner"
)

// Answer is two plans and what the changes made of the one.
type Answer struct {
	Changes    []planner.Change   `json:"changes"`
	Idle       []string           `json:"idle,omitempty"`    // changes after which the yard would be as it is
	Assumed    []string           `json:"assumed,omitempty"` // what nobody said
	Sentence   string             `json:"sentence"`
	Difference planner.Difference `json:"difference"`
	Before     planner.Plan       `json:"before"`
	After      planner.Plan       `json:"after"`
}

// Wrong is a change that can't be made in this yard, or a problem that makes no sense: what
// was asked is at fault, and the error says how.
type Wrong struct{ Err error }

// Error is the cause's sentence.
func (w Wrong) Error() string { return w.Err.Error() }

// Unwrap is the cause.
func (w Wrong) Unwrap() error { return w.Err }

// Ask plans a problem as it is and with changes, one after the other made.
func Ask(p planner.Problem, changes []planner.Change) (Answer, error) {
	w := Answer{Changes: changes}
	changed := p
	var said []string
	for _, c := range changes {
		next, err := c.Apply(changed)
		var none planner.NoChange
		switch {
		case errors.As(err, &none):
			w.Idle = append(w.Idle, none.Error())
		case err != nil:
			return w, Wrong{err}
		default:
			w.Assumed = append(w.Assumed, assumed(c, changed, next)...)
			said = append(said, described(c, changed.Yard))
			changed = next
		}
	}
	var err error
	if w.Before, err = checkedPlan(p); err != nil {
		return w, err
	}
	w.After = w.Before
	if len(said) > 0 {
		if w.After, err = seeded(changed, w.Before); err != nil {
			return w, err
		}
		// What the one search found is tried by the other, or luck would look like a gain.
		again, err := seeded(p, w.After)
		if err != nil {
			return w, err
		}
		if objective(again) < objective(w.Before) {
			w.Before = again
		}
	}
	w.Difference = planner.Compare(w.Before, w.After)
	w.Sentence = Sentence(w.Difference, changed.Yard.Weights, said, onlyGives(changes))
	return w, nil
}

// seeded is the plan of a problem, with the turns of another plan among those that are
// tried; where people were told something, theirs are.
func seeded(p planner.Problem, by planner.Plan) (planner.Plan, error) {
	if len(p.Told) == 0 {
		p.Turns = by.Turns
	}
	return checkedPlan(p)
}

func objective(p planner.Plan) int64 {
	sum := int64(0)
	for _, t := range p.Cost {
		sum += t.Amount
	}
	return sum
}

func checkedPlan(p planner.Problem) (planner.Plan, error) {
	plan, err := planner.Solve(p)
	if err != nil {
		return plan, Wrong{err}
	}
	for _, b := range planner.Check(p, plan) {
		return plan, fmt.Errorf("the plan breaks a rule and is not shown: %s: %s", b.Rule, b.What)
	}
	return plan, nil
}
