package store

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// What the hours say is what SQLite's own aggregates say of the same values, however
// long the chunks are, in whatever order the readings came, and whoever prunes again.
func TestHoursAreTheReadingsOfTheirHour(t *testing.T) {
	t.Parallel()
	s, round := unsynced(t, open(t, t.TempDir())), 0
	if _, err := s.writer.Exec(`CREATE TABLE plain (source TEXT, at INTEGER, x REAL, good INTEGER)`); err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		round++
		place := fmt.Sprint("booth ", round)
		if _, err := s.writer.Exec(`DELETE FROM plain`); err != nil {
			t.Fatal(err)
		}
		var readings []sensors.Reading
		for i := range rapid.IntRange(1, 60).Draw(t, "readings") {
			at := noon.Add(time.Duration(rapid.IntRange(0, 300).Draw(t, "minute")) * time.Minute)
			r := sensors.Reading{Source: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "source"), Place: place, At: at, Received: at, Key: fmt.Sprint(i),
				Values: map[conditions.Variable]float64{conditions.AirTemperature: float64(rapid.IntRange(-400, 4000).Draw(t, "air")) / 100}}
			if rapid.IntRange(0, 4).Draw(t, "doubtful") == 0 {
				r.Flags = []sensors.Flag{{Of: conditions.AirTemperature, Fault: sensors.Spike}}
			}
			if _, err := s.writer.Exec(`INSERT INTO plain VALUES (?, ?, ?, ?)`, r.Source, millis(at), r.Values[conditions.AirTemperature], len(r.Flags) == 0); err != nil {
				t.Fatal(err)
			}
			readings = append(readings, r)
		}
		cut := rapid.IntRange(0, len(readings)).Draw(t, "committed first")
		for _, part := range [][]sensors.Reading{readings[:cut], readings[cut:]} {
			if _, err := s.Commit(t.Context(), Change{At: noon, Readings: part}); err != nil {
				t.Fatal(err)
			}
		}
		before := noon.Add(time.Duration(rapid.IntRange(0, 7).Draw(t, "hours")) * time.Hour)
		for range 2 {
			if _, err := s.Prune(t.Context(), Keep{ReadingsBefore: before}); err != nil {
				t.Fatal(err)
			}
		}
		got, err := s.Hours(t.Context(), Query{Place: place})
		if err != nil {
			t.Fatal(err)
		}
		rows, err := s.reader.Query(`SELECT source, at/3600000, sum(good), sum(1-good), min(x) FILTER (WHERE good), avg(x) FILTER (WHERE good), max(x) FILTER (WHERE good)
			FROM plain WHERE at < ? GROUP BY 1, 2 ORDER BY 2, 1`, millis(before))
		if err != nil {
			t.Fatal(err)
		}
		defer rows.Close()
		seen := 0
		for ; rows.Next(); seen++ {
			var source string
			var hour int64
			var good, doubted int
			var least, mean, greatest *float64
			if err := rows.Scan(&source, &hour, &good, &doubted, &least, &mean, &greatest); err != nil {
				t.Fatal(err)
			}
			var h *Hour
			for i := range got {
				if got[i].Source == source && millis(got[i].Hour) == hour*3600000 {
					h = &got[i]
				}
			}
			if h == nil || h.Good != good || h.Doubted != doubted {
				t.Fatalf("%s, hour %d: %+v; want %d good and %d doubted", source, hour, h, good, doubted)
			}
			if good == 0 {
				if !math.IsNaN(h.Mean) || !math.IsNaN(h.First) {
					t.Fatalf("numbers of nothing good: %+v", h)
				}
			} else if h.Least != *least || h.Greatest != *greatest || math.Abs(h.Mean-*mean) > 1e-9 {
				t.Fatalf("%+v; want %g %g %g", h, *least, *mean, *greatest)
			}
		}
		if seen != len(got) {
			t.Fatalf("%d hours, want %d", len(got), seen)
		}
		left, err := s.Readings(t.Context(), Query{Place: place})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range left {
			if r.At.Before(before) {
				t.Fatalf("%v is in the hours and still there", r)
			}
		}
	})
}

// A file that is read again brings the same readings again, without their keys to be
// known by: the hour counts them once. One late reading alone takes no hour's place.
func TestAnHourIsNotFoldedTwice(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	var day []sensors.Reading
	for i := range 120 {
		day = append(day, reading(i))
	}
	late := reading(30)
	late.At, late.Key, late.Values = late.At.Add(time.Second), "late", map[conditions.Variable]float64{conditions.AirTemperature: 40}
	for _, again := range [][]sensors.Reading{day, day, {late}} {
		commit(t, s, Change{Readings: again})
		if _, err := s.Prune(t.Context(), Keep{ReadingsBefore: noon.Add(24 * time.Hour)}); err != nil {
			t.Fatal(err)
		}
	}
	got, err := s.Hours(t.Context(), Query{Source: "hygro 1", From: noon.Add(time.Minute), To: noon.Add(time.Hour)})
	if err != nil || len(got) != 2 {
		t.Fatalf("%+v, %v", got, err)
	}
	if h := got[0]; h.Variable != conditions.AirTemperature || h.Good != 60 || h.Greatest != 18.25 || !h.Hour.Equal(noon) {
		t.Errorf("%+v", h)
	}
	if n := census(t, s).readings; n != 0 {
		t.Errorf("%d readings left", n)
	}
	if gone, err := s.Prune(t.Context(), Keep{HoursBefore: noon.Add(time.Hour)}); err != nil || gone.Hours != 2 {
		t.Errorf("hours deleted: %+v, %v", gone, err)
	}
	if got, err = s.Hours(t.Context(), Query{}); err != nil || len(got) != 2 {
		t.Errorf("left: %+v, %v", got, err)
	}
}

// An instrument that has lost its clock may say a time before 1970: its hour begins before it too.
func TestHourOf(t *testing.T) {
	t.Parallel()
	for at, want := range map[int64]int64{0: 0, 1: 0, 3_599_999: 0, 3_600_000: 3_600_000, -1: -3_600_000, -3_600_000: -3_600_000, -3_600_001: -7_200_000} {
		if got := hourOf(at); got != want {
			t.Errorf("the hour of %d begins at %d, want %d", at, got, want)
		}
	}
}
