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
	on := func(p planner.Press, area, place string) planner.Press {
		p.Key.Area, p.Place = area, place
		return p
	}
	c.Presses = []planner.Press{press(planner.Started, "finish", coat), press(planner.Started, "sand", sand),
		on(press(planner.Started, "unheard of", sand.Add(-20*day)), "deck", "booth 1"), press(planner.Held, "finish", coat.Add(-5*day)),
		on(press(planner.Finished, "finish", sand.Add(-30*day)), "house", "")}
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

// What is evidence of which coat: in each row one reading and the presses that make it one,
// or do not.
func TestWhatIsEvidence(t *testing.T) {
	t.Parallel()
	const day, hour = 24 * time.Hour, time.Hour
	on := func(kind planner.PressKind, stage, place string, at time.Duration) planner.Press {
		p := press(kind, stage, noon.Add(at))
		p.Place = place
		if stage == "" {
			p.Key = planner.Key{Boat: "Alder"}
		}
		return p
	}
	struck := func(p planner.Press) planner.Press {
		p.Kind, p.Strikes, p.Place = planner.Struck, 1, ""
		return p
	}
	for name, c := range map[string]struct {
		place, boat string
		at          time.Duration
		presses     []planner.Press
		stays       bool
	}{
		"an override alone":                 {"booth 1", "", hour, []planner.Press{on(planner.Override, "finish", "booth 1", 0)}, true},
		"a stop alone":                      {"booth 1", "", hour, []planner.Press{on(planner.StoppedAt, "finish", "booth 1", 0)}, true},
		"a pot that was mixed":              {"booth 1", "", hour, []planner.Press{on(planner.Mixed, "finish", "booth 1", 0)}, false},
		"where it was moved to":             {"booth 1", "", hour, []planner.Press{on(planner.Moved, "", "booth 1", -9*day), on(planner.Started, "finish", "", 0)}, true},
		"where it was not":                  {"booth 2", "", hour, []planner.Press{on(planner.Moved, "", "booth 1", -9*day), on(planner.Started, "finish", "", 0)}, false},
		"where it was before":               {"booth 2", "", hour, []planner.Press{on(planner.Moved, "", "booth 2", -12*day), on(planner.Moved, "", "booth 1", -9*day), on(planner.Started, "finish", "", 0)}, false},
		"where it went a day later":         {"booth 2", "", 2 * day, []planner.Press{on(planner.Moved, "", "booth 1", -9*day), on(planner.Started, "finish", "", 0), on(planner.Moved, "", "booth 2", day)}, true},
		"nobody knows where it came from":   {"booth 2", "", hour, []planner.Press{on(planner.Started, "finish", "", 0), on(planner.Moved, "", "booth 1", day)}, true},
		"where a slip of the finger had it": {"booth 1", "", hour, []planner.Press{on(planner.Moved, "", "booth 2", -9*day), struck(on(planner.Moved, "", "", 0)), on(planner.Moved, "", "booth 1", -10*day), on(planner.Started, "finish", "", 0)}, true},
		"between two coats":                 {"booth 1", "", 9 * day, []planner.Press{on(planner.Finished, "prime", "booth 1", 0), on(planner.Started, "finish", "booth 1", 20*day)}, true},
		"between them, moved":               {"booth 2", "", 9 * day, []planner.Press{on(planner.Finished, "prime", "booth 1", 0), on(planner.Moved, "", "booth 2", 8*day), on(planner.Started, "finish", "booth 2", 20*day)}, true},
		"launched between two coats":        {"booth 1", "", 9 * day, []planner.Press{on(planner.Finished, "prime", "booth 1", 0), on(planner.Launched, "", "", 7*day), on(planner.Started, "finish", "booth 1", 20*day)}, false},
		"the hull between them":             {"", "Alder", 9 * day, []planner.Press{on(planner.Finished, "prime", "booth 1", 0), on(planner.Started, "finish", "booth 1", 20*day)}, true},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := unsynced(t, open(t, t.TempDir()))
			at := noon.Add(c.at)
			commit(t, s, Change{Readings: []sensors.Reading{{Key: "r", Source: "s", Place: c.place, Boat: c.boat, At: at, Received: at}}, Presses: c.presses})
			if _, err := s.Prune(t.Context(), Keep{ReadingsBefore: noon.Add(200 * day)}); err != nil {
				t.Fatal(err)
			}
			if left := census(t, s).readings; (left == 1) != c.stays {
				t.Errorf("%d readings are left", left)
			}
		})
	}
}

// A draft is the plan behind a coat that was begun before anybody was told a plan.
func TestPruneKeepsTheDraftBehindACoat(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	for i := range 4 {
		commit(t, s, Change{At: noon.Add(time.Duration(i) * time.Hour), Plan: &NewPlan{Plan: plan(i), Problem: problem(i), Released: i == 3}})
	}
	commit(t, s, Change{Presses: []planner.Press{press(planner.Override, "finish", noon.Add(90*time.Minute))}})
	before, _, err := s.PlanBehind(t.Context(), noon.Add(90*time.Minute))
	if err != nil {
		t.Fatal(err)
	}
	if got, err := s.Prune(t.Context(), Keep{PlansBefore: noon.Add(100 * time.Hour)}); err != nil || got != (Deleted{Plans: 2, Problems: 2}) {
		t.Errorf("deleted %+v, %v", got, err)
	}
	if after, ok, err := s.PlanBehind(t.Context(), noon.Add(90*time.Minute)); err != nil || !ok || after.ID != before.ID {
		t.Errorf("behind the coat was plan %d, now %d, %v", before.ID, after.ID, err)
	}
}
