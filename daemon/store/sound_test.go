package store

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairwindow/sensors"
)

// copied is a copy of the files of an open store, as a crash leaves them: its log is
// not taken in yet.
func copied(t *testing.T, from string) string {
	t.Helper()
	to := t.TempDir()
	for _, name := range []string{fileName, fileName + "-wal"} {
		text, err := os.ReadFile(filepath.Join(from, name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(to, name), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return to
}

// A store that was left open opens with all that was committed, and says that it was;
// one that was closed does not.
func TestLeftOpen(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := open(t, dir)
	for i := range 20 {
		commit(t, s, Change{Readings: []sensors.Reading{reading(i)}})
	}
	crashed := open(t, copied(t, dir))
	if !crashed.LeftOpen() || census(t, crashed).readings != 20 {
		t.Errorf("left open: %v, %d readings of 20", crashed.LeftOpen(), census(t, crashed).readings)
	}
	if err := crashed.Sound(t.Context()); err != nil {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s = open(t, dir); s.LeftOpen() {
		t.Error("a store that was closed is said to have been left open")
	}
}

// A log that was cut off anywhere gives the commits before the cut, each whole and
// none out of its turn, and the store opens without help.
func TestCutOffLog(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := open(t, dir)
	for i := range 30 {
		commit(t, s, Change{Readings: []sensors.Reading{reading(i), reading(1000 + i)}})
	}
	info, err := os.Stat(filepath.Join(dir, fileName+"-wal"))
	if err != nil {
		t.Fatal(err)
	}
	last := -1
	for cut := int64(0); cut <= info.Size(); cut += info.Size() / 23 {
		crashed := copied(t, dir)
		if err := os.Truncate(filepath.Join(crashed, fileName+"-wal"), cut); err != nil {
			t.Fatal(err)
		}
		s := open(t, crashed)
		if err := s.Sound(t.Context()); err != nil {
			t.Errorf("cut at %d of %d: %v", cut, info.Size(), err)
		}
		readings, err := s.Readings(t.Context(), Query{})
		if err != nil {
			t.Fatal(err)
		}
		have := map[string]bool{}
		for _, r := range readings {
			have[r.Key] = true
		}
		whole := len(readings) / 2
		for i := range whole {
			if !have[reading(i).Key] || !have[reading(1000+i).Key] {
				t.Errorf("cut at %d: %d readings, and commit %d is not whole among them", cut, len(readings), i)
			}
		}
		if len(readings) != 2*whole || whole < last {
			t.Errorf("cut at %d: %d readings, a shorter log gave %d commits", cut, len(readings), last)
		}
		last = whole
	}
	if last < 28 { // the last cut is within a 23rd of the whole log
		t.Errorf("the longest log gave %d commits of 30", last)
	}
}

// A damaged page is found when the process before left the store open.
func TestDamaged(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := unsynced(t, open(t, dir))
	for i := range 400 {
		commit(t, s, Change{Readings: []sensors.Reading{reading(i)}})
	}
	if _, err := s.writer.Exec(`PRAGMA wal_checkpoint(FULL)`); err != nil {
		t.Fatal(err)
	}
	crashed := copied(t, dir)
	path := filepath.Join(crashed, fileName)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	// The page that holds a reading's key, behind its own head of cells.
	at := bytes.LastIndex(text, []byte(reading(300).Key)) / 4096 * 4096
	copy(text[at:], bytes.Repeat([]byte{0xff}, 512))
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	// The log holds the same pages; without it the damage counts.
	if err := os.WriteFile(path+"-wal", []byte("no log"), 0o600); err != nil {
		t.Fatal(err)
	}
	damaged, err := Open(crashed)
	if err == nil {
		damaged.Close()
		t.Fatal("a damaged store was opened")
	}
	if !strings.Contains(err.Error(), "damaged") || !strings.Contains(err.Error(), "restore a backup") {
		t.Errorf("%v: want that it is damaged, and what to do", err)
	}
}
