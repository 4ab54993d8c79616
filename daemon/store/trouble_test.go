package store

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairwindow/sensors"
)

// A database that may not grow stands for a full disk: the change is refused whole, in
// words, and the next one is kept when the cause is gone.
func TestAFullDatabaseKeepsNothingByHalves(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	commit(t, s, whole())
	was := census(t, s)
	if _, err := s.writer.Exec(`PRAGMA max_page_count = 1`); err != nil { // of this connection, which the fault ends
		t.Fatal(err)
	}
	c := Change{At: noon}
	for i := range 5000 {
		c.Readings = append(c.Readings, reading(i+10))
	}
	if _, err := s.Commit(t.Context(), c); err == nil || !strings.HasPrefix(err.Error(), "the disk with the state folder is full: free some room") {
		t.Fatalf("got %v", err)
	}
	if got := census(t, s); got != was {
		t.Errorf("left behind: %+v", got)
	}
	commit(t, s, c)
}

// A journal that was cut off, as by a crash of the machine, costs what was being written
// and no more: the store opens, and what it has is whole.
func TestAJournalThatWasCutOff(t *testing.T) {
	t.Parallel()
	dir, crashed := t.TempDir(), t.TempDir()
	s := open(t, dir)
	for i := range 100 {
		commit(t, s, Change{Readings: []sensors.Reading{reading(i)}})
	}
	for _, suffix := range []string{"", "-wal"} {
		text, err := os.ReadFile(filepath.Join(dir, fileName+suffix))
		if err != nil {
			t.Fatal(err)
		}
		if suffix != "" {
			text = text[:len(text)-2000]
		}
		if err := os.WriteFile(filepath.Join(crashed, fileName+suffix), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	again := open(t, crashed)
	if n := census(t, again).readings; n != 99 {
		t.Errorf("%d of 100 readings after the last commit was cut off", n)
	}
	commit(t, again, Change{Readings: []sensors.Reading{reading(99)}})
}

// Damage is said with what to do, on opening or at the first change that meets it.
func TestADamagedDatabaseSaysWhatToDo(t *testing.T) {
	t.Parallel()
	const want = "restore the last backup with fairwindow restore"
	dir := t.TempDir()
	s := open(t, dir)
	c := Change{At: noon}
	for i := range 3000 {
		c.Readings = append(c.Readings, reading(100+i))
	}
	commit(t, s, c)
	s.Close()
	path := filepath.Join(dir, fileName)
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := 200 << 10; i < len(text); i++ { // the pages of the readings
		text[i] = 0x5a
	}
	if err := os.WriteFile(path, text, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err = Open(dir)
	if err == nil {
		defer s.Close()
		_, err = s.Commit(t.Context(), c)
	}
	if err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("got %v", err)
	}
	if err := os.WriteFile(path, []byte(strings.Repeat("no database ", 1000)), 0o600); err != nil {
		t.Fatal(err)
	}
	if s != nil {
		s.Close()
	}
	if _, err := Open(dir); err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("got %v", err)
	}
}
