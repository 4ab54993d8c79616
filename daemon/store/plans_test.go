package store

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// problem has a month of weather, so that it has parts; i tells it from others.
func problem(i int) planner.Problem {
	p := planner.Problem{At: noon.Add(time.Duration(i) * time.Minute), Horizon: 30 * 24 * time.Hour,
		Yard: config.Yard{Name: "North & <South>", Zone: "Europe/Lisbon"}, Boats: []config.Boat{boat("Alder")},
		Presses:  []planner.Press{press(planner.Started, "wipe", noon)},
		Measured: []planner.PlaceNow{{Place: "booth 1", Moment: conditions.Moment{At: noon, Air: unit.Temperature(18 + float64(i)/7), Wind: unit.NaN[unit.Speed]()}}},
		Coats: []planner.CoatNow{{Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: "primer"}, Clock: conditions.Clock{
			Slow: map[conditions.Milestone]float64{conditions.Recoat: 1. / 3, conditions.Sandable: 0.25}}}},
	}
	for h := range 720 {
		p.Outdoors = append(p.Outdoors, conditions.Weather{At: noon.Add(time.Duration(h) * time.Hour),
			Air: unit.Temperature(15 + 5*math.Sin(float64(h)/4)), DewPoint: 9, Wind: unit.NaN[unit.Speed](), Shortwave: math.NaN(), Sure: conditions.Foretold})
	}
	return p
}

func plan(i int) planner.Plan {
	return planner.Plan{At: noon.Add(time.Duration(i) * time.Minute), Version: planner.Version, Stages: []planner.Planned{
		{Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: "finish"}, Kind: config.Coat, Place: "booth 1",
			Start: noon.Add(time.Duration(i) * time.Hour), End: noon.Add(time.Duration(i+4) * time.Hour), State: planner.Firm, Chance: 0.9},
		{Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: "unmask"}, Kind: config.Unmask, State: planner.Unplaced},
	}}
}

func TestProblemComesBackByteForByte(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	text, _, err := canonical(problem(1))
	if err != nil {
		t.Fatal(err)
	}
	done := commit(t, s, Change{Plan: &NewPlan{Plan: plan(1), Problem: problem(1)}})
	row, err := s.Plan(t.Context(), done.Plan)
	if err != nil || row.Problem != digest(text) {
		t.Fatalf("problem %s, %v; want %s", row.Problem, err, digest(text))
	}
	kept, err := s.problemText(t.Context(), row.Problem)
	if err != nil || !bytes.Equal(kept, text) {
		t.Fatalf("kept %d bytes of %d, %v", len(kept), len(text), err)
	}
	back, err := s.Problem(t.Context(), row.Problem)
	if err != nil {
		t.Fatal(err)
	}
	again, _, err := canonical(back)
	if err != nil || !bytes.Equal(again, text) {
		t.Errorf("written again it differs, %v", err)
	}
	if len(back.Outdoors) != 720 || !math.IsNaN(back.Outdoors[5].Shortwave) || back.Yard.Name != "North & <South>" || back.Coats[0].Clock.Slow[conditions.Recoat] != 1./3 {
		t.Errorf("came back as %+v", back.Yard)
	}
	if _, err := s.Problem(t.Context(), "none"); err == nil {
		t.Error("found a problem that is not there")
	}
}

func TestADamagedProblemIsAnError(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	commit(t, s, Change{Plan: &NewPlan{Plan: plan(1), Problem: problem(1)}})
	row, _, err := s.LatestPlan(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.writer.Exec(`UPDATE parts SET body = ?`, s.packer.pack([]byte(`[]`))); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Problem(t.Context(), row.Problem); err == nil {
		t.Error("read a problem that is not what was kept")
	}
}

// DESIGN.md allows the problems 5 MB a day. A quarter of a day with a plan every five
// minutes, each with new readings and every hour a new outlook, must fit in a
// quarter of that; an outlook that did not change is kept once.
func TestADayOfProblemsFits(t *testing.T) {
	t.Parallel()
	const plans, perHour = 6 * 12, 12
	s := unsynced(t, open(t, t.TempDir()))
	for i := range plans {
		p := problem(i)
		for h := range p.Outdoors {
			p.Outdoors[h].Air += unit.Temperature(float64(i/perHour) * 0.0137)
		}
		commit(t, s, Change{Plan: &NewPlan{Plan: plan(i), Problem: p}})
	}
	var size, outlooks int64
	if err := s.reader.QueryRow(`SELECT (SELECT sum(length(rest)) FROM problems) + (SELECT sum(length(body)) FROM parts),
		(SELECT count(*) FROM parts)`).Scan(&size, &outlooks); err != nil {
		t.Fatal(err)
	}
	if outlooks != plans/perHour {
		t.Errorf("%d outlooks kept, want %d", outlooks, plans/perHour)
	}
	if size > 5e6/4 {
		t.Errorf("%d bytes in a quarter of a day", size)
	}
}

func TestPlansAndWhatPeopleWereTold(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	if _, ok, err := s.LatestPlan(t.Context()); ok || err != nil {
		t.Fatalf("a plan in an empty store: %v", err)
	}
	if _, ok, err := s.LatestTold(t.Context()); ok || err != nil {
		t.Fatalf("told in an empty store: %v", err)
	}
	var id [4]int64
	for i := range id {
		id[i] = commit(t, s, Change{At: plan(i).At, Plan: &NewPlan{Plan: plan(i), Problem: problem(i), Released: i == 1, By: "rule"}}).Plan
	}
	check := func(step string, latestTold int64, by string, toldStart, firstStart int) {
		t.Helper()
		row, ok, err := s.LatestTold(t.Context())
		if err != nil || !ok || row.ID != latestTold || !row.Released || row.ReleasedBy != by {
			t.Fatalf("%s: told %d by %s, %v; want %d by %s", step, row.ID, row.ReleasedBy, err, latestTold, by)
		}
		now := told(row.Plan)
		want := []planner.Told{{Key: plan(0).Stages[0].Key, Start: noon.Add(time.Duration(toldStart) * time.Hour), Place: "booth 1"}}
		if !reflect.DeepEqual(now, want) {
			t.Errorf("%s: told now %v", step, now)
		}
		first, err := s.FirstTold(t.Context())
		want[0].Start = noon.Add(time.Duration(firstStart) * time.Hour)
		if err != nil || !reflect.DeepEqual(first, want) {
			t.Errorf("%s: first told %v, %v", step, first, err)
		}
	}
	check("released at once", id[1], "rule", 1, 1)
	commit(t, s, Change{Release: &Release{Plan: id[3], By: "ann"}})
	check("released by hand", id[3], "ann", 3, 1)
	commit(t, s, Change{Release: &Release{Plan: id[3], By: "bea"}})
	check("released twice", id[3], "ann", 3, 1)
	commit(t, s, Change{Release: &Release{Plan: id[1], By: "bea"}})
	check("gone back", id[1], "bea", 1, 1)

	latest, ok, err := s.LatestPlan(t.Context())
	if err != nil || !ok || latest.ID != id[3] || !reflect.DeepEqual(latest.Plan, plan(3)) || !latest.At.Equal(plan(3).At) {
		t.Errorf("latest %+v, %v", latest, err)
	}
	draft, err := s.Plan(t.Context(), id[0])
	if err != nil || draft.Released || draft.ReleasedBy != "" {
		t.Errorf("draft %+v, %v", draft, err)
	}
	rows, err := s.Plans(t.Context(), 2)
	if err != nil || len(rows) != 2 || rows[0].ID != id[3] || rows[1].ID != id[2] {
		t.Errorf("plans %v, %v", len(rows), err)
	}
	if _, err := s.Plan(t.Context(), 99); err == nil || err.Error() != fmt.Sprint("there is no plan ", 99) {
		t.Errorf("got %v", err)
	}
}
