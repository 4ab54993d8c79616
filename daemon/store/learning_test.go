package store

import (
	"fmt"
	"testing"
	"time"

	"fairwindow/sensors"
)

// TestIssues: one issue of each source and six hours, the newest, by time.
func TestIssues(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	var all []NewForecast
	for _, f := range []sensors.Forecast{
		forecast("model a", noon.Add(-time.Minute), 1), // before the span
		forecast("model a", noon, 2),
		forecast("model b", noon.Add(5*time.Hour), 3),
		forecast("model a", noon.Add(4*time.Hour), 4),
		forecast("model b", noon.Add(7*time.Hour), 5),
		forecast("model a", noon.Add(7*time.Hour), 6),
		forecast("model a", noon.Add(7*time.Hour), 7),  // corrected
		forecast("model a", noon.Add(18*time.Hour), 8), // after it
	} {
		all = append(all, NewForecast{Forecast: f})
	}
	commit(t, s, Change{Forecasts: all})
	got, err := s.Issues(t.Context(), noon, noon.Add(18*time.Hour), 6*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	said := ""
	for _, f := range got {
		said += fmt.Sprintf("%s %s %v; ", f.Issued.Format("15:04"), f.Source, f.Points[0].Air)
	}
	if want := "16:00 model a 4; 17:00 model b 3; 19:00 model a 7; 19:00 model b 5; "; said != want {
		t.Errorf("%s, want %s", said, want)
	}
}

// TestReadingsAtEach: those at the hours asked for and shortly before, no others.
func TestReadingsAtEach(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	var all []sensors.Reading
	for i := range 8 * 60 / 10 {
		all = append(all, reading(10*i))
	}
	commit(t, s, Change{Readings: all})
	got, err := s.Readings(t.Context(), Query{Place: "booth 1", From: noon.Add(time.Minute), Each: 3 * time.Hour, Before: 20 * time.Minute})
	if err != nil {
		t.Fatal(err)
	}
	said := ""
	for _, r := range got {
		said += r.At.Format("15:04 ")
	}
	if want := "14:40 14:50 15:00 17:40 17:50 18:00 "; said != want {
		t.Errorf("%s, want %s", said, want)
	}
	with, err := s.Readings(t.Context(), Query{Place: "booth 1", From: noon.Add(time.Minute), To: noon.Add(240 * time.Hour), Each: 3 * time.Hour, Before: 20 * time.Minute})
	if err != nil || keys(with) != keys(got) {
		t.Fatalf("with a span %q, without an end %q, %v", keys(with), keys(got), err)
	}
	if got, err = s.Readings(t.Context(), Query{Place: "booth 1", Each: 3 * time.Hour}); err != nil || len(got) != 3 {
		t.Errorf("at the hours alone: %d, %v", len(got), err)
	}
}
