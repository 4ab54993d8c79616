package main

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// The command tells from the store what the daemon told: two plans, the second a day
// later for the weather.
func TestWaitsAtTheCommandLine(t *testing.T) {
	dir := t.TempDir()
	kept, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	monday := time.Date(2026, time.May, 4, 7, 0, 0, 0, time.UTC)
	coat := planner.Key{Boat: "Heron", Area: "topsides", Stage: "gloss"}
	for day := range 2 {
		made := monday.AddDate(0, 0, day).Add(-time.Hour)
		start := monday.AddDate(0, 0, day)
		plan := planner.Plan{At: made, Stages: []planner.Planned{{Key: coat, Kind: config.Coat, Place: "booth 1", Start: start, End: start.Add(time.Hour), Ready: monday,
			Waits: []planner.Wait{{From: monday, To: start, Cause: planner.OutOfLimits}}}}}
		if _, err := kept.Commit(t.Context(), store.Change{At: made, Plan: &store.NewPlan{Plan: plan, Problem: planner.Problem{At: made}, Released: true, By: "Ines"}}); err != nil {
			t.Fatal(err)
		}
	}
	all, err := putOff(t.Context(), kept)
	if err != nil || len(all) != 1 {
		t.Fatalf("%d deferrals, %v", len(all), err)
	}
	if err := kept.Close(); err != nil {
		t.Fatal(err)
	}
	y := config.Yard{Zone: "UTC", Places: []config.Place{{Name: "booth 1", Kind: config.Booth}}}
	printed := func(o waits.Only, asCSV bool) string {
		var out bytes.Buffer
		if err := printWaits(&out, y, all, o, asCSV, false); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	text := printed(waits.Only{}, false)
	for _, want := range []string{"Heron topsides, gloss: put off 1 d, from Mon 4 May 07:00 to Tue 5 May 07:00.", "24.0 h put off in all\n", "weather or air outside the limits", "2026-W19"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q lacks %q", text, want)
		}
	}
	if text := printed(waits.Only{Boat: "Tern"}, false); text != "Nothing has been put off.\n" {
		t.Errorf("of another boat: %q", text)
	}
	rows, err := csv.NewReader(strings.NewReader(printed(waits.Only{Week: "2026-W19"}, true))).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Errorf("as CSV: %v, %v", rows, err)
	}
	y.Rates = &config.Rates{Currency: "EUR", BoatDay: 500}
	if text := printed(waits.Only{}, false); !strings.Contains(text, "24.0 h put off in all, 500 EUR") {
		t.Errorf("with rates: %q", text)
	}
}
