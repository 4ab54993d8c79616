package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/daemon/pages"
	"fairwindow/daemon/store"
	"fairwindow/planner"
)

func whyCommand() *cobra.Command {
	var from planInput
	var state string
	var again int64
	var asJSON bool
	c := &cobra.Command{
		Use:   "why YARD [BOAT [STAGE]]",
		Short: "Print why each stage of a boat is not earlier",
		Long: `Prints, for each open stage of a boat, every span of waiting with its one cause
and the evidence, from the daemon's newest plan; of a stage without a start, the
facts that leave it without one. Without a boat it prints the hours that all
stages wait, by cause, place, boat and week. With --forecast it plans from files
instead. With --again it makes a kept plan once more from what was known then,
and says whether it is the same. Exit code 0: found (with --again: the same); 1:
no such open stage (with --again: different).`,
		Example: `  fairwindow why my-yard
  fairwindow why my-yard "Boat Tern"
  fairwindow why my-yard "Boat Tern" topcoat
  fairwindow why my-yard --again 12`,
		Args: func(c *cobra.Command, args []string) error {
			if again != 0 {
				return exactly("YARD")(c, args)
			}
			return between(1, "YARD", "BOAT", "STAGE")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if again != 0 {
				return recompute(c, args[0], state, again)
			}
			y, problem, plan, err := newestPlan(c, args[0], state, from)
			if err != nil {
				return err
			}
			if len(args) == 1 {
				return totals(c.OutOrStdout(), y, plan, asJSON)
			}
			stage := ""
			if len(args) == 3 {
				stage = args[2]
			}
			found := stagesOf(plan, args[1], stage)
			planner.Explain(problem, found)
			if asJSON {
				if err := printJSON(c.OutOrStdout(), found); err != nil {
					return err
				}
			} else if err := printWhy(c.OutOrStdout(), y, plan, found); err != nil {
				return err
			}
			if len(found) == 0 {
				if !asJSON {
					fmt.Fprintln(c.ErrOrStderr(), notFound(plan, args[1], stage))
				}
				return errNo
			}
			return nil
		},
	}
	from.flags(c)
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().Int64Var(&again, "again", 0, "number of a kept plan to make again")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// newestPlan is the daemon's newest plan, or one made from files when a forecast
// is named, with the problem it answers; none if that is no longer kept.
func newestPlan(c *cobra.Command, arg, state string, from planInput) (config.Yard, planner.Problem, planner.Plan, error) {
	if from.forecast != "" || from.at != "" {
		problem, err := from.problem(arg)
		if err != nil {
			return config.Yard{}, problem, planner.Plan{}, err
		}
		plan, err := planner.Solve(problem)
		return problem.Yard, problem, plan, err
	}
	none := planner.Problem{}
	y, kept, err := openKept(arg, state)
	if err != nil {
		return y, none, planner.Plan{}, err
	}
	defer kept.Close()
	row, ok, err := kept.LatestPlan(c.Context())
	if err == nil && !ok {
		err = usage("no plan has been made for this yard yet: fairwindow run %s makes them, or name a --forecast", arg)
	}
	if err != nil {
		return y, none, planner.Plan{}, err
	}
	problem, err := kept.Problem(c.Context(), row.Problem)
	if err != nil {
		fmt.Fprintf(c.ErrOrStderr(), "what is impossible is not explained: %v\n", err)
		problem = none
	}
	return y, problem, row.Plan, nil
}

// openKept opens a yard's store to read, whether or not a daemon runs on it.
func openKept(arg, state string) (config.Yard, *store.Store, error) {
	y, err := readYard(arg)
	if err != nil {
		return y, nil, err
	}
	if state, err = stateFolder(state, y.Name); err != nil {
		return y, nil, err
	}
	kept, err := store.Read(state)
	if err != nil {
		if errors.Is(err, store.ErrNone) {
			err = fmt.Errorf("%w; fairwindow run %s makes one, --state names another folder; plan, why and whatif do without: see their --forecast", err, arg)
		}
		return y, nil, usageError{err}
	}
	if y, _, err = withKept(context.Background(), y, kept); err != nil {
		return y, nil, errors.Join(err, kept.Close())
	}
	return y, kept, nil
}

// recompute makes a kept plan once more and compares.
func recompute(c *cobra.Command, arg, state string, id int64) error {
	_, kept, err := openKept(arg, state)
	if err != nil {
		return err
	}
	defer kept.Close()
	row, err := kept.Plan(c.Context(), id)
	if err != nil {
		return usageError{err}
	}
	remade := planner.Remade{Is: planner.OtherVersion, Version: planner.Version, Was: row.Plan.Version}
	if row.Plan.Version == planner.Version { // the problem of an older plan need not be readable
		problem, err := kept.Problem(c.Context(), row.Problem)
		if err != nil {
			return usageError{err}
		}
		if remade, err = planner.Again(row.Plan, problem); err != nil {
			return err
		}
	}
	switch remade.Is {
	case planner.OtherVersion:
		fmt.Fprintf(c.OutOrStdout(), "other version: plan %d was made by planner %d, this is planner %d\n", id, remade.Was, remade.Version)
		return errNo
	case planner.Different:
		fmt.Fprintf(c.OutOrStdout(), "different: plan %d made again from what was known then is not what was kept\n", id)
		return errNo
	}
	fmt.Fprintf(c.OutOrStdout(), "same: plan %d made again from what was known then is what was kept, %d stages\n", id, remade.Stages)
	return nil
}

// notFound says what there is instead of a boat or a stage that is not in the plan.
func notFound(plan planner.Plan, boat, stage string) string {
	all := stagesOf(plan, boat, "")
	if len(all) == 0 {
		return fmt.Sprintf("the plan has no open stage of a boat %q; it has stages of %s", boat, strings.Join(boatsIn(plan), ", "))
	}
	var names []string
	for _, s := range all {
		names = append(names, s.Key.Stage)
	}
	return fmt.Sprintf("the plan has no open stage %q of %s; it has %s", stage, boat, strings.Join(names, ", "))
}

func stagesOf(plan planner.Plan, boat, stage string) []planner.Planned {
	found := []planner.Planned{}
	for _, s := range plan.Stages {
		if strings.EqualFold(s.Key.Boat, boat) && (stage == "" || strings.EqualFold(s.Key.Stage, stage)) {
			found = append(found, s)
		}
	}
	return found
}

func boatsIn(plan planner.Plan) []string {
	var names []string
	for _, s := range plan.Stages {
		if !slices.Contains(names, s.Key.Boat) {
			names = append(names, s.Key.Boat)
		}
	}
	slices.Sort(names)
	return names
}

func printWhy(w io.Writer, y config.Yard, plan planner.Plan, stages []planner.Planned) error {
	zone, err := y.Location()
	if err != nil {
		return err
	}
	for _, s := range stages {
		fmt.Fprintf(w, "%s, %s\n", s.Key.Area, s.Key.Stage)
		switch {
		case s.Start.IsZero():
			fmt.Fprintln(w, "  has no start within this plan")
		default:
			fmt.Fprintf(w, "  planned %s in %s, %s\n", s.Start.In(zone).Format("Mon 2 Jan 15:04"), s.Place, s.State)
		}
		if len(s.Waits) == 0 && !s.Start.IsZero() {
			fmt.Fprintln(w, "  starts as soon as what comes before it is done")
		}
		for _, wait := range s.Waits {
			fmt.Fprintf(w, "  %s\n", pages.Why(wait, zone))
		}
		if s.Next != nil && (s.Next.Extra != 0 || s.Next.Start.Sub(s.Start).Abs() >= time.Hour) {
			fmt.Fprintf(w, "  %s\n", nextSentence(*s.Next, zone))
		}
		printFacts(w, s, zone)
	}
	if len(stages) > 0 {
		fmt.Fprintf(w, "by the plan of %s\n", plan.At.In(zone).Format("Mon 2 Jan 15:04"))
	}
	return nil
}
