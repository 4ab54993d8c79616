package store

import (
	"errors"
	"fmt"
	"reflect"
	"testing"
	"time"

	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// Each release keeps what it told anew, in its own transaction; to release again what was
// told last tells nothing.
func TestReleasesKeepWhatMoved(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	for i := range 3 {
		commit(t, s, Change{Plan: &NewPlan{Plan: plan(i), Problem: problem(i), Released: i != 1, By: "Ines"}, At: noon.Add(time.Duration(i) * time.Minute)})
	}
	moves, err := s.Moves(t.Context(), 0)
	if err != nil || len(moves) != 1 {
		t.Fatalf("%d moves (%v), want the one of the second release", len(moves), err)
	}
	m := moves[0]
	if m.Plan != 3 || m.By != "Ines" || !m.At.Equal(noon.Add(2*time.Minute)) || !m.From.Equal(noon) || !m.To.Equal(noon.Add(2*time.Hour)) || m.Key.Stage != "finish" {
		t.Errorf("it is %+v", m)
	}
	commit(t, s, Change{Release: &Release{Plan: 3, By: "Rui"}})
	if again, err := s.Moves(t.Context(), 0); err != nil || len(again) != 1 {
		t.Errorf("released again: %d moves (%v)", len(again), err)
	}
	if since, err := s.Moves(t.Context(), m.ID); err != nil || len(since) != 0 {
		t.Errorf("since the last: %d moves (%v)", len(since), err)
	}
}

// What is worked out of an older file's releases is what would have been kept with them.
func TestAnOlderFileCatchesUp(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := open(t, dir)
	releases := moveChunk + 7 // more than one transaction takes
	for i := range releases {
		made := plan(i % 9)
		made.At = noon.Add(time.Duration(i) * time.Minute)
		if i%9 == 4 || i%9 == 5 { // gone, and still gone
			made.Stages[0].Start, made.Stages[0].State = time.Time{}, planner.Unplaced
		}
		commit(t, s, Change{Plan: &NewPlan{Plan: made, Problem: planner.Problem{At: made.At}, Released: true, By: "rule"}, At: made.At})
	}
	kept, err := s.Moves(t.Context(), 0)
	gone := 0
	for _, m := range kept {
		if m.To.IsZero() {
			gone++
		}
	}
	if err != nil || len(kept) < releases/2 || gone != 6 {
		t.Fatalf("%d moves, %d to no start, %v", len(kept), gone, err)
	}
	for _, forget := range []string{`DELETE FROM moves`, `DELETE FROM last_told`, `UPDATE moved SET release = 0`} {
		if _, err := s.writer.Exec(forget); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	again, err := s.Moves(t.Context(), 0)
	if err != nil || !reflect.DeepEqual(kept, again) {
		t.Errorf("%d moves worked out anew, %d kept (%v)", len(again), len(kept), err)
	}
}

func TestTheDailyLog(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	line := waits.Logged{Crew: "paint", Day: "2026-04-03", Boat: "Alder", Area: "topsides", Stage: "sand 320", Hours: 2.5, Remark: "by hand", By: "Ines", At: noon, Once: "f/0"}
	other := waits.Logged{Crew: "prep", Day: "2026-04-05", What: "yard", By: "Ines", At: noon}
	for range 2 { // sent twice
		if err := s.LogDay(t.Context(), []waits.Logged{line}); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.LogDay(t.Context(), []waits.Logged{other, {Crew: "prep"}}); err == nil {
		t.Error("a line without a day is kept")
	}
	if err := s.LogDay(t.Context(), []waits.Logged{other}); err != nil {
		t.Fatal(err)
	}
	all, err := s.CrewLog(t.Context(), "2026-04-03", "2026-04-04")
	if err != nil || len(all) != 1 {
		t.Fatalf("%d lines (%v), want 1", len(all), err)
	}
	line.ID, line.Once = all[0].ID, ""
	if all[0] != line {
		t.Errorf("came back as %+v", all[0])
	}
	if err := s.StrikeLog(t.Context(), line.ID, "Rui", "it was the deck", noon.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	if err := s.StrikeLog(t.Context(), line.ID, "Ana", "again", noon.Add(2*time.Hour)); !errors.Is(err, ErrStruck) {
		t.Errorf("struck twice: %v", err)
	}
	all, err = s.CrewLog(t.Context(), "2026-04-01", "2026-04-30")
	if err != nil || len(all) != 2 || all[0].Stands() || all[0].StruckBy != "Rui" || !all[1].Stands() || all[0].Hours != 2.5 {
		t.Errorf("after it was struck: %+v (%v)", all, err)
	}
}

// BenchmarkMoves reads what a season of a thousand told plans put off.
func BenchmarkMoves(b *testing.B) {
	s := open(b, b.TempDir())
	for i := range 1000 {
		made := planner.Plan{At: noon.Add(time.Duration(i) * time.Hour)}
		for n := range 5 {
			k := planner.Key{Boat: fmt.Sprintf("Boat %d", n), Area: "topsides", Stage: fmt.Sprintf("coat %d", i/100)}
			start := made.At.Add(24 * time.Hour)
			if i%5 != n {
				start = noon.Add(time.Duration(i/5*5+n) * time.Hour)
			}
			made.Stages = append(made.Stages, planner.Planned{Key: k, Start: start, Waits: []planner.Wait{{From: made.At, To: start, Cause: planner.OutOfLimits}}})
		}
		if _, err := s.Commit(b.Context(), Change{At: made.At, Plan: &NewPlan{Plan: made, Problem: planner.Problem{At: made.At}, Released: true}}); err != nil {
			b.Fatal(err)
		}
	}
	for b.Loop() {
		all, err := s.Moves(b.Context(), 0)
		if err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(len(all)), "moves")
	}
}
