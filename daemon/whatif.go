package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"fairwindow/planner"
	"fairwindow/planner/whatif"
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
--at they are read from files instead. Each plan also tries what the other found,
or luck would look like a gain. Nothing in the yard is changed.

Say a change in plain words; --with may be given several times:
  ` + strings.Join(whatif.Forms(), "\n  ") + `

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
			w, err := whatif.Ask(problem, changes)
			var wrong whatif.Wrong
			switch {
			case errors.As(err, &wrong):
				return usage("--with: %w", err)
			case err != nil:
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
		return nil, usage("say what would be otherwise, like --with %q; --help has all that can be said", whatif.Forms()[0])
	}
	var changes []planner.Change
	for _, text := range with {
		change, err := whatif.Parse(text)
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
