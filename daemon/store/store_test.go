package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// noon is the now of these tests; invented, as is all data here.
var noon = time.Date(2026, 4, 3, 12, 0, 0, 0, time.UTC)

func open(t testing.TB, dir string) *Store {
	t.Helper()
	s, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// unsynced spares the disk where a test commits hundreds of times and asks only what
// is then read: the one connection that writes no longer waits for the platter.
func unsynced(t interface{ Fatal(...any) }, s *Store) *Store {
	if _, err := s.writer.Exec(`PRAGMA synchronous = OFF`); err != nil {
		t.Fatal(err)
	}
	return s
}

func commit(t testing.TB, s *Store, c Change) Committed {
	t.Helper()
	if c.At.IsZero() {
		c.At = noon
	}
	done, err := s.Commit(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	return done
}

// reading is the i-th of a source, a minute after the one before.
func reading(i int) sensors.Reading {
	at := noon.Add(time.Duration(i) * time.Minute)
	return sensors.Reading{
		Source: "hygro 1", Place: "booth 1", At: at, Received: at.Add(2 * time.Second), FromDevice: true,
		Key:    fmt.Sprintf("hygro 1@%d", at.UnixMilli()),
		Values: map[conditions.Variable]float64{conditions.AirTemperature: 18.25, conditions.RelHumidity: 55},
	}
}

func notice(i int) notify.Notice {
	n := notify.Notice{Kind: notify.WindowOpens, Boat: "Alder", Area: "topsides", Stage: "finish", Occurrence: i,
		Revision: 1, Place: "booth 1", At: noon.Add(time.Duration(i) * time.Minute)}
	n.ID = notify.ID(n)
	return n
}

func press(kind planner.PressKind, stage string, happened time.Time) planner.Press {
	return planner.Press{Kind: kind, Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: stage},
		Place: "booth 1", Happened: happened, Entered: happened.Add(time.Minute), By: "foreman"}
}

func boat(name string) config.Boat {
	return config.Boat{Name: name, Length: unit.Of(unit.Length(14)), Beam: unit.Of(unit.Length(4.2)),
		Arrives: "2026-04-01", Promised: "2026-05-01 16:00",
		Areas: []config.Area{{Name: "topsides", System: "full", Size: unit.Of(unit.Area(52))}}}
}

func TestOpenMakesTheFolderAndKeepsItsSettings(t *testing.T) {
	t.Parallel()
	// A folder whose name means something to a URI is a folder like any other.
	dir := filepath.Join(t.TempDir(), "yard ?mode=memory#100%25 é", "data")
	s := open(t, dir)
	if _, err := os.Stat(filepath.Join(dir, "fairwindow.db")); err != nil {
		t.Fatal(err)
	}
	for pragma, want := range map[string]string{"journal_mode": "wal", "synchronous": "2", "busy_timeout": "2000", "foreign_keys": "1"} {
		var got string
		if err := s.writer.QueryRow("PRAGMA " + pragma).Scan(&got); err != nil || got != want {
			t.Errorf("writer %s = %s, %v; want %s", pragma, got, err, want)
		}
	}
	if _, err := s.reader.Exec(`DELETE FROM readings`); err == nil || !strings.Contains(err.Error(), "readonly") {
		t.Errorf("the read pool writes: %v", err)
	}
	if _, err := s.writer.Exec(`INSERT INTO memory (name, value) VALUES ('x', x'00')`); err == nil {
		t.Error("a table is not STRICT")
	}
}

func TestOpenRefuses(t *testing.T) {
	t.Parallel()
	t.Run("a folder in use", func(t *testing.T) {
		dir := t.TempDir()
		first := open(t, dir)
		_, err := Open(dir)
		want := fmt.Sprintf("%s is used by another fairwindow (process %d)", dir, os.Getpid())
		if err == nil || !strings.HasPrefix(err.Error(), want) || strings.Contains(err.Error(), "\n") {
			t.Fatalf("got %v, want one line: %s", err, want)
		}
		if err := first.Close(); err != nil {
			t.Fatal(err)
		}
		open(t, dir)
	})
	t.Run("a file from a newer program", func(t *testing.T) {
		dir := t.TempDir()
		s := open(t, dir)
		if _, err := s.writer.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)`); err != nil {
			t.Fatal(err)
		}
		s.Close()
		_, err := Open(dir)
		if err == nil || !strings.Contains(err.Error(), "newer fairwindow (its schema is 9999") || strings.Contains(err.Error(), "\n") {
			t.Fatalf("got %v", err)
		}
	})
	t.Run("a file that is no database", func(t *testing.T) {
		dir := t.TempDir()
		path := filepath.Join(dir, "fairwindow.db")
		if err := os.WriteFile(path, []byte(strings.Repeat("not a database ", 500)), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(dir); err == nil || !strings.Contains(err.Error(), path) {
			t.Fatalf("got %v", err)
		}
	})
}

func TestCloseTwice(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	for range 2 {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

func TestReadBesideADaemon(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if _, err := Read(dir); err == nil || !strings.Contains(err.Error(), "no store") {
		t.Errorf("read an empty folder: %v", err)
	}
	daemon := open(t, dir)
	beside, err := Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer beside.Close()
	commit(t, daemon, whole())
	if got, err := beside.Readings(t.Context(), Query{From: noon}); err != nil || len(got) != 2 {
		t.Errorf("sees %d readings, %v", len(got), err)
	}
	if _, err := beside.Commit(t.Context(), whole()); err == nil || !strings.Contains(err.Error(), "read only") {
		t.Errorf("wrote beside the daemon: %v", err)
	}
	if _, err := beside.Prune(t.Context(), Keep{ReadingsBefore: noon}); err == nil {
		t.Error("pruned beside the daemon")
	}
}

func TestReopenFindsEverything(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := open(t, dir)
	commit(t, s, whole())
	s.Close()
	s = open(t, dir)
	if got := census(t, s); got != (count{readings: 2, forecasts: 1, boats: 1, presses: 1, plans: 1, told: 1, clocks: 1, notices: 2, memory: 1}) {
		t.Errorf("after reopening: %+v", got)
	}
}

// whole is a change with something of everything.
func whole() Change {
	return Change{
		At:        noon,
		Readings:  []sensors.Reading{reading(0), reading(1)},
		Forecasts: []NewForecast{{Forecast: forecast("model a", noon, 12), Raw: []byte(`{"raw":1}`)}},
		Boats:     []BoatEdit{{Boat: boat("Alder"), By: "scheduler"}},
		Presses:   []planner.Press{{Kind: planner.Arrived, Key: planner.Key{Boat: "Alder"}, Happened: noon, Entered: noon, Once: "p1"}},
		Plan:      &NewPlan{Plan: plan(1), Problem: problem(1), Released: true, By: "scheduler"},
		Clocks:    []planner.CoatNow{{Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: "primer"}, Clock: conditions.Clock{Coated: noon, At: noon}}},
		Notices:   []notify.Notice{notice(1), notice(2)},
		Memory:    map[string]json.RawMessage{"guard": json.RawMessage(`{"held":[1]}`)},
	}
}

type count struct{ readings, forecasts, boats, presses, plans, told, clocks, notices, memory int }

func census(t testing.TB, s *Store) count {
	t.Helper()
	var c count
	for table, n := range map[string]*int{"readings": &c.readings, "forecasts": &c.forecasts, "boats": &c.boats, "presses": &c.presses,
		"plans": &c.plans, "first_told": &c.told, "clocks": &c.clocks, "notices": &c.notices, "memory": &c.memory} {
		if err := s.reader.QueryRow("SELECT count(*) FROM " + table).Scan(n); err != nil {
			t.Fatal(err)
		}
	}
	return c
}

// A write begun with a context that then ends is kept whole or not at all.
func TestACancelledContextNeverSplitsAChange(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	ctx, cancel := context.WithCancel(t.Context())
	err := s.write(ctx, func(tx *sql.Tx) error {
		if _, err := tx.Exec(`INSERT INTO memory (name, value) VALUES ('a', '1')`); err != nil {
			return err
		}
		cancel()
		_, err := tx.Exec(`INSERT INTO memory (name, value) VALUES ('b', '2')`)
		return err
	})
	if err != nil || census(t, s).memory != 2 {
		t.Fatalf("%v, %d kept", err, census(t, s).memory)
	}
	if _, err := s.Commit(ctx, whole()); err == nil || census(t, s).readings != 0 {
		t.Errorf("a change was begun after its context had ended: %v", err)
	}
}
