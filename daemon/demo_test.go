package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fairwindow/daemon/demo"
	"fairwindow/notify"
)

// onceFor plays some days as fast as it can and returns the summary's text.
func onceFor(t *testing.T, args ...string) []byte {
	t.Helper()
	if testing.Short() {
		t.Skip("days of play are left out of short runs")
	}
	var out, talk bytes.Buffer
	all := append([]string{"demo", "--once", "--json", "--state", t.TempDir()}, args...)
	if code := run(all, &out, &talk); code != exitYes {
		t.Fatalf("%v: exit code %d: %s", args, code, talk.String())
	}
	return out.Bytes()
}

// TestDemoTellsOneStory: twice with one seed prints the same, and in those days
// coats are put on and windows are shut: a demo without either shows nothing.
func TestDemoTellsOneStory(t *testing.T) {
	t.Parallel()
	first, second := onceFor(t, "--days", "2"), onceFor(t, "--days", "2")
	if !bytes.Equal(first, second) {
		t.Errorf("two plays of one seed differ:\n%s\n%s", first, second)
	}
	var s demo.Summary
	if err := json.Unmarshal(first, &s); err != nil {
		t.Fatal(err)
	}
	// The starter's launch of 15 May is a day of the yard, not of Greenwich.
	if day := s.Boats[0].Promised.Format(time.DateTime); s.Boats[0].Boat != "Boat Kestrel" || day != "2026-05-15 00:00:00" {
		t.Errorf("%s is promised for %s", s.Boats[0].Boat, day)
	}
	held, broken, _ := s.Held()
	if s.Coats == 0 || held == 0 {
		t.Errorf("%d coats, %d passes held in truth: none is ever done", s.Coats, held)
	}
	if broken > held/4 {
		t.Errorf("%d passes broke their limits in truth, %d held: the program lets people paint in bad air", broken, held)
	}
	ended := s.Notices[string(notify.WindowClosed)] + s.Notices[string(notify.WindowLapsed)] + s.Notices[string(notify.WindowShortened)]
	if s.Notices[string(notify.WindowOpens)] == 0 || ended == 0 {
		t.Errorf("notices %v: no window is ever opened, or none ever ends", s.Notices)
	}
}

// TestDemoInRecordedWeather plays real days with the faults that are in the
// file: on 3 November 2013 one local hour comes twice.
func TestDemoInRecordedWeather(t *testing.T) {
	t.Parallel()
	weather := filepath.Join("..", "..", "shared", "weather", "newark_2013_hourly.csv")
	if _, err := os.Stat(weather); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("the recorded weather is missing: %v", err)
		}
		t.Skipf("no recorded weather here: %v", err)
	}
	var s demo.Summary
	if err := json.Unmarshal(onceFor(t, "--days", "2", "--weather", weather, "--start", "2013-11-03"), &s); err != nil {
		t.Fatal(err)
	}
	if s.Stages == 0 || s.Messages == 0 {
		t.Errorf("%d stages done from %d messages", s.Stages, s.Messages)
	}
}
