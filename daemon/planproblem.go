package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairwindow/planner"
	"fairwindow/planner/engine"
)

// twoTasks is a problem in JSON: a coat at most so many slots after its masking.
const twoTasks = `{"slots": 40, "crews": [{"name": "painters", "hours": [{"from": 0, "n": 2}]}],
 "tasks": [
  {"name": "mask", "owner": -1, "modes": [{"place": -1, "long": 4, "uses": [{"crew": 0, "n": 1}], "starts": -1, "works": -1, "soak": -1, "keeps": -1, "cost": -1}]},
  {"name": "coat", "owner": -1, "modes": [{"place": -1, "long": 3, "uses": [{"crew": 0, "n": 2}], "starts": -1, "works": -1, "soak": -1, "keeps": -1, "cost": -1}]}],
 "lags": [{"before": 0, "after": 1, "least": 0, "bounded": true, "greatest": 2}],
 "weights": {"makespan": 1}}`

// solveInput is a problem as it was kept beside a plan, or one of the engine's own.
type solveInput struct {
	file    string
	rounds  int
	workers int
	seed    uint64
}

func (in *solveInput) flags(c *cobra.Command) {
	c.Flags().StringVar(&in.file, "problem", "", "solve a problem in JSON instead: a kept plan's, or tasks, crews and lags as plan --schema tells")
	c.Flags().IntVar(&in.rounds, "rounds", 0, "how long to search; 0: as the size of the problem asks. The same rounds give the same answer")
	c.Flags().IntVar(&in.workers, "workers", 0, "logical workers for tasks, crews and lags; 0 is 1")
	c.Flags().Uint64Var(&in.seed, "seed", 0, "of their draws")
}

// solve solves the file and prints the answer.
func (in *solveInput) solve(c *cobra.Command, asJSON bool, days int) error {
	if in.rounds < 0 || in.workers < 0 {
		return usage("--rounds %d --workers %d: give 0 or more of each", in.rounds, in.workers)
	}
	text, err := os.ReadFile(in.file)
	if err != nil {
		return usage("the problem %s can't be read: %w", in.file, plain(err))
	}
	var kind struct {
		Tasks json.RawMessage `json:"tasks"`
		Yard  json.RawMessage `json:"yard"`
	}
	if err := json.Unmarshal(text, &kind); err != nil {
		return usage("%s: %w", in.file, jsonError(text, err))
	}
	switch {
	case kind.Yard != nil:
		return in.solveYard(c, text, asJSON, days)
	case kind.Tasks != nil:
		return in.solveTasks(c, text, asJSON)
	}
	return usage(`%s: this is no problem: write "tasks" for the engine's own, or "yard" as a kept plan's has it`, in.file)
}

func (in *solveInput) solveYard(c *cobra.Command, text []byte, asJSON bool, days int) error {
	var p planner.Problem
	if err := strictly(text, &p); err != nil {
		return usage("%s: %w", in.file, err)
	}
	if in.rounds > 0 {
		p.Rounds = in.rounds
	}
	plan, err := planner.Solve(p)
	if err != nil {
		return usage("%s: %w", in.file, err)
	}
	if asJSON {
		err = printJSON(c.OutOrStdout(), plan)
	} else {
		err = printWeek(c.OutOrStdout(), p.Yard, plan, days)
	}
	if err != nil {
		return err
	}
	if slices.ContainsFunc(plan.Stages, func(s planner.Planned) bool { return s.State == planner.Unplaced }) {
		return errNo
	}
	return nil
}

func (in *solveInput) solveTasks(c *cobra.Command, text []byte, asJSON bool) error {
	var p engine.Problem
	if err := strictly(text, &p); err != nil {
		return usage("%s: %w", in.file, err)
	}
	rounds := in.rounds
	if rounds == 0 {
		rounds = 100
	}
	r, err := engine.Solve(c.Context(), p, engine.Effort{Rounds: rounds, Workers: in.workers, Seed: in.seed})
	if err != nil {
		return usage("%s: %w", in.file, err)
	}
	if broken := engine.Check(p, r); r.Conflict == nil && len(broken) > 0 {
		return fmt.Errorf("the schedule breaks a rule and is not shown: %s", broken[0])
	}
	if asJSON {
		err = printJSON(c.OutOrStdout(), r)
	} else {
		err = printTasks(c.OutOrStdout(), p, r)
	}
	if err != nil {
		return err
	}
	if r.Conflict != nil || slices.ContainsFunc(r.Starts, func(s engine.Start) bool { return s.Mode < 0 }) {
		return errNo
	}
	return nil
}

// printTasks prints a schedule by start, what it costs, and how far that may be from
// the least.
func printTasks(w io.Writer, p engine.Problem, r engine.Result) error {
	if r.Conflict != nil {
		printConflict(w, p, *r.Conflict)
		return nil
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	at := make([]int, len(r.Starts))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(a, b int) int { return int(r.Starts[a].Start - r.Starts[b].Start) })
	for _, i := range at {
		s := r.Starts[i]
		if s.Mode < 0 {
			fmt.Fprintf(t, "%s\tno start\n", p.Tasks[i].Name)
			continue
		}
		where := ""
		if place := p.Tasks[i].Modes[s.Mode].Place; place >= 0 {
			where = p.Places[place].Name
		}
		fmt.Fprintf(t, "%s\t%d to %d\t%s\n", p.Tasks[i].Name, s.Start, s.Finish, where)
	}
	for _, term := range r.Terms {
		if term.Amount != 0 {
			fmt.Fprintf(t, "%s\t%d\n", term.Name, term.Amount)
		}
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "objective %d, no schedule costs less than %d; %d rounds, %d schedules\n", r.Objective, r.Bound, r.Rounds, r.Schedules)
	return nil
}

// printConflict says which facts contradict each other.
func printConflict(w io.Writer, p engine.Problem, c engine.Conflict) {
	if len(c.Chain) > 0 {
		fmt.Fprintf(w, "no schedule exists: these lags come back to where they began %d slots too late:\n", c.Lacks)
		for _, l := range c.Chain {
			lag := p.Lags[l.Lag]
			if l.Greatest {
				fmt.Fprintf(w, "  %s starts at most %d after %s\n", p.Tasks[lag.After].Name, lag.Greatest, p.Tasks[lag.Before].Name)
			} else {
				fmt.Fprintf(w, "  %s starts at least %d after %s\n", p.Tasks[lag.After].Name, lag.Least, p.Tasks[lag.Before].Name)
			}
		}
		return
	}
	crew := "the crews"
	if c.Crew >= 0 {
		crew = p.Crews[c.Crew].Name
	}
	fmt.Fprintf(w, "no schedule exists: %s can't do these within their lags:\n", crew)
	for _, i := range c.Tasks {
		fmt.Fprintf(w, "  %s\n", p.Tasks[i].Name)
	}
}

// strictly reads JSON with no field that nobody knows.
func strictly(text []byte, into any) error {
	d := json.NewDecoder(bytes.NewReader(text))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return jsonError(text, err)
	}
	return nil
}

// jsonError says where JSON is wrong, if that is known. Of a field that nobody knows the
// error tells the name alone, which is looked for.
func jsonError(text []byte, err error) error {
	offset := int64(-1)
	if _, name, ok := strings.Cut(err.Error(), "unknown field "); ok {
		offset = 1 + int64(bytes.Index(text, []byte(name)))
	}
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		offset = syntax.Offset
	case errors.As(err, &kind):
		offset = kind.Offset
	}
	if offset < 0 || offset > int64(len(text)) {
		return err
	}
	before := text[:offset]
	line := 1 + bytes.Count(before, []byte("\n"))
	column := len(before) - bytes.LastIndexByte(before, '\n') - 1
	return fmt.Errorf("%d:%d: %w", line, max(column, 1), err)
}
