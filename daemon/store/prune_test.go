package store

import (
	"fmt"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

func TestPruneKeepsTheEvidence(t *testing.T) {
	t.Parallel()
	const day = 24 * time.Hour
	coat, sand := noon, noon.Add(-40*day)
	readings := []struct {
		name, place, boat string
		at                time.Time
		stays             bool
	}{
		{"hours before the coat", "booth 1", "", coat.Add(-4 * time.Hour), true},
		{"protection after it", "booth 1", "", coat.Add(3 * day), true},
		{"the hull", "", "Alder", coat.Add(time.Hour), true},
		{"the air outdoors", config.Outdoors, "", coat, true},
		{"of no place", "", "", coat, true},
		{"another booth", "booth 2", "", coat, false},
		{"another hull", "", "Birch", coat, false},
		{"long before", "booth 1", "", coat.Add(-5 * day), false},
		{"long after", "booth 1", "", coat.Add(4 * day), false},
		{"while it was sanded", "booth 1", "", sand, false},
		{"a stage no plan knew", "booth 1", "", sand.Add(-20 * day), true},
		{"a press without a place", "booth 2", "", sand.Add(-30 * day), true},
		{"new", "booth 2", "", noon.Add(20 * day), true},
	}
	s := open(t, t.TempDir())
	c := Change{}
	for i, r := range readings {
		c.Readings = append(c.Readings, sensors.Reading{Key: fmt.Sprint(i), Source: r.name, Place: r.place, Boat: r.boat, At: r.at, Received: r.at})
	}
	sanding := planner.Planned{Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: "sand"}, Kind: config.Sand}
	p := plan(1)
	p.Stages = append(p.Stages, sanding)
	c.Plan = &NewPlan{Plan: p, Problem: problem(1)}
	nowhere := press(planner.Finished, "finish", sand.Add(-30*day))
	nowhere.Place = ""
	c.Presses = []planner.Press{press(planner.Started, "finish", coat), press(planner.Started, "sand", sand),
		press(planner.Started, "unheard of", sand.Add(-20*day)), press(planner.Held, "finish", coat.Add(-5*day)), nowhere}
	commit(t, s, c)

	for range 2 { // a second time finds nothing
		if _, err := s.Prune(t.Context(), Keep{ReadingsBefore: noon.Add(10 * day)}); err != nil {
			t.Fatal(err)
		}
	}
	left, err := s.Readings(t.Context(), Query{})
	if err != nil {
		t.Fatal(err)
	}
	there := map[string]bool{}
	for _, r := range left {
		there[r.Source] = true
	}
	for _, r := range readings {
		if there[r.name] != r.stays {
			t.Errorf("%s: stays %v, want %v", r.name, there[r.name], r.stays)
		}
	}
}

func TestPruneInChunks(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	c := Change{Readings: make([]sensors.Reading, 2*pruneChunk+10)}
	for i := range c.Readings {
		c.Readings[i] = reading(i)
	}
	commit(t, s, c)
	if got, err := s.Prune(t.Context(), Keep{}); err != nil || got != (Deleted{}) {
		t.Fatalf("asked for nothing: %+v, %v", got, err)
	}
	last := reading(2*pruneChunk - 40 + 5) // whole hours go, and this is minutes into one
	got, err := s.Prune(t.Context(), Keep{ReadingsBefore: last.At})
	if err != nil || got.Readings != 2*pruneChunk-40 || census(t, s).readings != 50 {
		t.Errorf("deleted %+v, %v; %d left", got, err, census(t, s).readings)
	}
}

func TestPruneDropsDraftsOnly(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	var id [5]int64
	for i := range id {
		at := noon.Add(time.Duration(i) * time.Hour)
		id[i] = commit(t, s, Change{At: at, Plan: &NewPlan{Plan: plan(i), Problem: problem(i), Released: i == 1}}).Plan
	}
	got, err := s.Prune(t.Context(), Keep{PlansBefore: noon.Add(3 * time.Hour)})
	if err != nil || got != (Deleted{Plans: 2, Problems: 2}) {
		t.Fatalf("deleted %+v, %v", got, err)
	}
	if got, err = s.Prune(t.Context(), Keep{PlansBefore: noon.Add(100 * time.Hour)}); err != nil || got != (Deleted{Plans: 1, Problems: 1}) {
		t.Fatalf("the latest must stay: deleted %+v, %v", got, err)
	}
	for _, kept := range []int64{id[1], id[4]} {
		row, err := s.Plan(t.Context(), kept)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Problem(t.Context(), row.Problem); err != nil {
			t.Error(err)
		}
	}
	var lost int
	if err := s.reader.QueryRow(`SELECT count(*) FROM parts WHERE hash NOT IN (SELECT part FROM problem_parts)`).Scan(&lost); err != nil || lost != 0 {
		t.Errorf("%d parts of no problem, %v", lost, err)
	}
}
