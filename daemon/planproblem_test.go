package main

import (
	"bytes"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/planner"
	"fairwindow/planner/engine"
)

func planProblem(t *testing.T, text string, args ...string) (string, error) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "problem.json")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	c := planCommand()
	var out bytes.Buffer
	c.SetOut(&out)
	c.SetErr(&out)
	c.SilenceErrors, c.SilenceUsage = true, true
	c.SetArgs(append([]string{"--problem", file}, args...))
	err := c.Execute()
	return out.String(), err
}

func TestPlanProblem(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		says string // on the way out, or in the error
		fine bool
	}{
		"fits":          {twoTasks, "objective 7, no schedule costs less than 7", true},
		"contradicts":   {strings.Replace(twoTasks, `"greatest": 2`, `"greatest": -2`, 1), "coat starts at most -2 after mask", false},
		"unknown field": {strings.Replace(twoTasks, `"slots"`, `"slts"`, 1), `1:2: json: unknown field "slts"`, false},
		"not JSON":      {strings.Replace(twoTasks, `"tasks": [`, `"tasks" [`, 1), "2:", false},
		"malformed":     {strings.Replace(twoTasks, `"long": 4`, `"long": -4`, 1), "tasks[0].modes[0].long: -4", false},
		"no problem":    {`{"boats": 3}`, "this is no problem", false},
	} {
		out, err := planProblem(t, c.text)
		if err != nil {
			out += err.Error()
		}
		if !strings.Contains(out, c.says) || (err == nil) != c.fine {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
	}
}

// TestPlanProblemAgain: what is printed as JSON is the result, and the same again.
func TestPlanProblemAgain(t *testing.T) {
	first, err := planProblem(t, twoTasks, "--json", "--rounds", "5")
	if err != nil {
		t.Fatal(err)
	}
	var r engine.Result
	if err := json.Unmarshal([]byte(first), &r); err != nil || r.Objective != 7 || r.Version != engine.Version {
		t.Fatalf("%v: %+v", err, r)
	}
	if again, _ := planProblem(t, twoTasks, "--json", "--rounds", "5"); again != first {
		t.Errorf("other:\n%s%s", first, again)
	}
}

// TestPlanKeptProblem: a yard's problem that was written down gives the plan it gave.
func TestPlanKeptProblem(t *testing.T) {
	yard := t.TempDir()
	c := initCommand()
	c.SetArgs([]string{yard})
	c.SetOut(io.Discard)
	if err := c.Execute(); err != nil {
		t.Fatal(err)
	}
	p, err := (&planInput{at: "2026-04-06 07:00"}).problem(yard)
	if err != nil {
		t.Fatal(err)
	}
	p.Rounds, p.Horizon = 3, 14*24*time.Hour
	text, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	var back planner.Problem
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	want, err := planner.Solve(back)
	if err != nil {
		t.Fatal(err)
	}
	out, _ := planProblem(t, string(text), "--json") // whether or not all stages have a start
	var got planner.Plan
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	a, _ := json.Marshal(want)
	b, _ := json.Marshal(got)
	if !bytes.Equal(a, b) || len(got.Stages) == 0 {
		t.Errorf("another plan, of %d stages", len(got.Stages))
	}
}
