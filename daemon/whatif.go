package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"fairwindow/planner"
)

func whatifCommand() *cobra.Command {
	var from planInput
	var state string
	var with []string
	var asJSON bool
	c := &cobra.Command{
		Use:   "whatif YARD --with CHANGE",
		Short: "Print what a change of the yard would do to the plan",
		Long: `Makes two plans, by the same rules and from the same facts: one of the yard as it
is, one with the changes. Prints both side by side, and the difference in a
sentence. The facts are those of the daemon's newest plan; with --forecast or
--at they are read from files instead. Nothing in the yard is changed.

Say a change in plain words; --with may be given several times:
  ` + strings.Join(changeForms, "\n  ") + `

Exit code 0: the plan gets better by the yard's weights; 1: it does not.`,
		Example: `  fairwindow whatif my-yard --with "dehumidifier tent at 55 %"
  fairwindow whatif my-yard --forecast model.csv --with "one more painter" --with "saturday shifts for crew paint" --json`,
		Args: exactly("YARD"),
		RunE: func(c *cobra.Command, args []string) error {
			changes, err := parseChanges(with)
			if err != nil {
				return err
			}
			problem, err := newestProblem(c, args[0], state, from)
			if err != nil {
				return err
			}
			w, err := compare(problem, changes)
			if err != nil {
				return err
			}
			if asJSON {
				err = printJSON(c.OutOrStdout(), w)
			} else {
				err = printWhatif(c.OutOrStdout(), problem.Yard, w)
			}
			if err == nil && w.Difference.Gained() <= 0 {
				err = errNo
			}
			return err
		},
	}
	from.flags(c)
	c.Flags().StringArrayVar(&with, "with", nil, "a change in plain words; may be given several times")
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().BoolVar(&asJSON, "json", false, "print both plans and their difference as JSON")
	return c
}

func parseChanges(with []string) ([]planner.Change, error) {
	if len(with) == 0 {
		return nil, usage("say what would be otherwise, like --with %q; --help has all that can be said", changeForms[0])
	}
	var changes []planner.Change
	for _, text := range with {
		change, err := parseChange(text)
		if err != nil {
			return nil, usage("--with: %w", err)
		}
		changes = append(changes, change)
	}
	return changes, nil
}

// newestProblem is what the daemon's newest plan was made from, or one from files
// when a forecast or a time is named.
func newestProblem(c *cobra.Command, arg, state string, from planInput) (planner.Problem, error) {
	if from.forecast != "" || from.at != "" {
		return from.problem(arg)
	}
	_, kept, err := openKept(arg, state)
	if err != nil {
		return planner.Problem{}, err
	}
	defer kept.Close()
	row, ok, err := kept.LatestPlan(c.Context())
	switch {
	case err != nil:
		return planner.Problem{}, err
	case !ok:
		return planner.Problem{}, usage("no plan has been made for this yard yet: fairwindow run %s makes them, or name a --forecast", arg)
	}
	p, err := kept.Problem(c.Context(), row.Problem)
	if err != nil {
		return p, usageError{err}
	}
	return p, nil
}

// whatif is the answer: two plans and what the change made of the one.
type whatif struct {
	Changes    []planner.Change   `json:"changes"`
	Idle       []string           `json:"idle,omitempty"`    // changes after which the yard would be as it is
	Assumed    []string           `json:"assumed,omitempty"` // what nobody said
	Sentence   string             `json:"sentence"`
	Difference planner.Difference `json:"difference"`
	Before     planner.Plan       `json:"before"`
	After      planner.Plan       `json:"after"`
}

// compare plans a problem as it is and with changes, one after the other made.
func compare(p planner.Problem, changes []planner.Change) (whatif, error) {
	w := whatif{Changes: changes}
	changed := p
	var said []string
	for _, c := range changes {
		next, err := c.Apply(changed)
		var none planner.NoChange
		switch {
		case errors.As(err, &none):
			w.Idle = append(w.Idle, none.Error())
		case err != nil:
			return w, usage("--with: %w", err)
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
	w.Sentence = sentence(w.Difference, changed.Yard.Weights, said, onlyGives(changes))
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
		return plan, usageError{err}
	}
	for _, b := range planner.Check(p, plan) {
		return plan, fmt.Errorf("the plan breaks a rule and is not shown: %s: %s", b.Rule, b.What)
	}
	return plan, nil
}
