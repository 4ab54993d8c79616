package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/planner/whatif"
)

var rewrite = flag.Bool("update", false, "rewrite golden files")

// twoPlans are invented: three boats, of which one is taken out, one is promised for
// another day and one finds its start only after the change.
func twoPlans() (before, after planner.Plan) {
	at := func(day, hour int) time.Time { return time.Date(2026, time.May, day, hour, 0, 0, 0, time.UTC) }
	stage := func(boat, name string, kind config.StageKind, start time.Time, chance float64, waits ...planner.Wait) planner.Planned {
		return planner.Planned{Key: planner.Key{Boat: boat, Area: "topsides", Stage: name}, Kind: kind, Start: start, Place: "shed", Crew: "paint", Chance: chance, Waits: waits}
	}
	wait := func(cause planner.Cause, of conditions.Quantity, hours int) planner.Wait {
		return planner.Wait{From: at(4, 0), To: at(4, hours), Cause: cause, Evidence: planner.Evidence{Bound: conditions.Bound{Of: of}, Sure: conditions.Foretold}}
	}
	before = planner.Plan{
		At: at(4, 7),
		Stages: []planner.Planned{
			stage("Heron", "prime", config.Coat, at(7, 8), 0.7, wait(planner.OutOfLimits, conditions.OfMargin, 30), wait(planner.NoShift, "", 10)),
			stage("Heron", "finish", config.Coat, at(9, 8), 0.9, wait(planner.OutOfLimits, conditions.OfHumidity, 5), wait(planner.CrewBusy, "", 3), wait(planner.EarlierMoved, "", 40)),
			stage("Tern", "sand", config.Sand, at(5, 8), 1, wait(planner.CrewBusy, "", 3)),
			stage("Wren", "prime", config.Coat, time.Time{}, 0, wait(planner.OutOfLimits, conditions.OfMargin, 900)),
			stage("Stilt", "prime", config.Coat, at(6, 8), 0.5),
		},
		Launches: []planner.Launch{
			{Boat: "Heron", Promised: at(12, 0), Likely: at(14, 10)}, {Boat: "Tern", Promised: at(20, 0), Likely: at(18, 0)},
			{Boat: "Wren", Promised: at(25, 0)}, {Boat: "Stilt", Promised: at(25, 0), Likely: at(24, 0)},
		},
		Cost: []planner.Term{{Name: "lateness", Amount: 3480}, {Name: "spoiling", Amount: 600}, {Name: "unplaced", Amount: 1440}},
	}
	after = planner.Plan{
		At: at(4, 7),
		Stages: []planner.Planned{
			stage("Heron", "prime", config.Coat, at(5, 8), 0.99, wait(planner.OutOfLimits, conditions.OfMargin, 2), wait(planner.NoShift, "", 14)),
			stage("Heron", "finish", config.Coat, at(7, 8), 0.9, wait(planner.CrewBusy, "", 3)),
			stage("Tern", "sand", config.Sand, at(5, 8), 1, wait(planner.CrewBusy, "", 3)),
			stage("Wren", "prime", config.Coat, at(8, 8), 0.8),
		},
		Launches: []planner.Launch{
			{Boat: "Heron", Promised: at(12, 0), Likely: at(11, 10)}, {Boat: "Tern", Promised: at(22, 0), Likely: at(18, 5)},
			{Boat: "Wren", Promised: at(25, 0), Likely: at(20, 0)},
		},
		Cost: []planner.Term{{Name: "lateness", Amount: 0}, {Name: "spoiling", Amount: 75}, {Name: "unplaced", Amount: 0}},
	}
	return before, after
}

func TestPrintedComparison(t *testing.T) {
	before, after := twoPlans()
	d := planner.Compare(before, after)
	var out bytes.Buffer
	a := whatif.Answer{
		Idle: []string{"slip 2 has a tent over it already: nothing changes"}, Assumed: []string{"the doors stay shut"},
		Sentence:   whatif.Sentence(d, config.Weights{Lateness: 2}, []string{"a dehumidifier in shed", "Stilt taken out"}, false),
		Difference: d, Before: before, After: after,
	}
	if err := printWhatif(&out, config.Yard{Zone: "UTC"}, a); err != nil {
		t.Fatal(err)
	}
	// Hours and chances of what has no start, or is in one plan only, would be unlike things.
	if d.Compared != 3 || len(d.Moved) != 2 || d.Spoiling.Coats != 2 {
		t.Errorf("compared %d, moved %d, coats %d", d.Compared, len(d.Moved), d.Spoiling.Coats)
	}
	path := filepath.Join("testdata", "whatif.golden")
	if *rewrite {
		if err := os.WriteFile(path, out.Bytes(), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if out.String() != string(want) {
		t.Errorf("printed:\n%s\nwanted:\n%s", out.String(), want)
	}
}

func TestSentenceOfAWorsePlan(t *testing.T) {
	before, after := twoPlans()
	before.Launches, after.Launches = before.Launches[:3], after.Launches[:3]
	d := planner.Compare(after, before)
	for _, c := range []struct {
		d     planner.Difference
		said  []string
		gives bool
		want  []string
	}{
		{d, nil, true, []string{"Nothing in the yard changes"}},
		{planner.Compare(before, before), []string{"one more painter"}, true, []string{"With one more painter the plan stays as it is: nothing in it waits for that."}},
		{d, []string{"one more painter"}, true, []string{"With one more painter, 2 launches are late and not 0", "Wren is no longer launched within the plan", "1 stage that had a start has none", "Heron is launched 3 days later", "plan is worse by as much as 3.8 days of one launch's delay", "is the search's doing"}},
	} {
		got := whatif.Sentence(c.d, config.Weights{Lateness: 1}, c.said, c.gives)
		for _, want := range c.want {
			if !strings.Contains(got, want) {
				t.Errorf("%q lacks %q", got, want)
			}
		}
	}
	if got := whatif.Sentence(d, config.Weights{}, []string{"Wren put off by 7 d"}, false); strings.Contains(got, "search's") || strings.Contains(got, "launch's delay") {
		t.Errorf("%q", got)
	}
}
