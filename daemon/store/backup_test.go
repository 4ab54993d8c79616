package store

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sync/errgroup"

	"fairwindow/notify"
	"fairwindow/sensors"
)

// A backup made while somebody writes is the history up to some commit: each reading
// with its notice, none missing before the last, and at least all that was acknowledged
// when the backup began. The store that is made from it works on.
func TestABackupIsTheHistoryUpToAMoment(t *testing.T) {
	t.Parallel()
	dir, file := t.TempDir(), filepath.Join(t.TempDir(), "yard.db")
	s := unsynced(t, open(t, dir))
	ctx, stop := context.WithCancel(t.Context())
	begun := make(chan struct{})
	var writer errgroup.Group
	last := -1
	writer.Go(func() error {
		for i := 0; ctx.Err() == nil; i++ {
			if _, err := s.Commit(t.Context(), Change{At: noon, Readings: []sensors.Reading{reading(i)}, Notices: []notify.Notice{notice(i)}}); err != nil {
				return err
			}
			if last = i; i == 200 {
				close(begun)
			}
		}
		return nil
	})
	<-begun
	err := Backup(t.Context(), dir, file)
	stop()
	if werr := writer.Wait(); err != nil || werr != nil {
		t.Fatal(err, werr)
	}
	if err := Backup(t.Context(), dir, file); err == nil || !strings.Contains(err.Error(), "is there already") {
		t.Errorf("overwrote: %v", err)
	}
	if is, err := os.Stat(file); err != nil || is.Mode().Perm()&0o007 != 0 {
		t.Errorf("everybody on the machine can read it: %v, %v", is.Mode(), err)
	}
	if left, err := os.ReadDir(filepath.Dir(file)); err != nil || len(left) != 1 {
		t.Errorf("left beside it: %v, %v", left, err)
	}
	restored := filepath.Join(t.TempDir(), "new")
	if err := Restore(t.Context(), file, restored); err != nil {
		t.Fatal(err)
	}
	if err := Restore(t.Context(), file, restored); err == nil || !strings.Contains(err.Error(), "holds a store already") {
		t.Errorf("restored over a store: %v", err)
	}
	if err := Restore(t.Context(), file, dir); err == nil || !strings.Contains(err.Error(), "is used by another fairwindow") {
		t.Errorf("restored under a daemon: %v", err)
	}
	back := open(t, restored)
	unsent, err := back.Unsent(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	readings, err := back.Readings(t.Context(), Query{})
	if err != nil || len(readings) != len(unsent) || len(readings) < 201 || len(readings) > last+1 {
		t.Fatalf("%d readings and %d notices of %d, %v", len(readings), len(unsent), last+1, err)
	}
	for i, r := range readings {
		if r.Key != reading(i).Key || unsent[i].ID != notice(i).ID {
			t.Fatalf("the %d-th is %s and %s", i, r.Key, unsent[i].ID)
		}
	}
	commit(t, back, Change{Readings: []sensors.Reading{reading(last + 1)}})
}

func TestRestoreRefuses(t *testing.T) {
	t.Parallel()
	dir, good := t.TempDir(), filepath.Join(t.TempDir(), "good.db")
	s := open(t, dir)
	for i := range 300 {
		commit(t, s, Change{Readings: []sensors.Reading{reading(i)}, Notices: []notify.Notice{notice(i)}})
	}
	if err := Backup(t.Context(), dir, good); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(good)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.writer.Exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, 1)`); err != nil {
		t.Fatal(err)
	}
	s.Close()
	holed := append([]byte(nil), text...)
	for i := len(holed) / 3; i < len(holed)/2; i++ {
		holed[i] ^= 0x55
	}
	for name, test := range map[string]struct {
		text []byte
		want string
	}{
		"no database":   {[]byte(strings.Repeat("not a database ", 500)), "no store of fairwindow"},
		"empty":         {nil, "no store of fairwindow"},
		"cut off":       {text[:len(text)/2], "broken"},
		"with a hole":   {holed, "broken"},
		"a newer one's": {nil, "newer fairwindow (its schema is 9999"},
		"none":          {nil, "no such file"},
	} {
		path, into := filepath.Join(t.TempDir(), "x.db"), filepath.Join(t.TempDir(), "into")
		switch name {
		case "a newer one's":
			path = filepath.Join(dir, fileName)
		case "none":
		default:
			if err := os.WriteFile(path, test.text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		if err := Restore(t.Context(), path, into); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v; want %s", name, err, test.want)
		}
		if there, _ := filepath.Glob(filepath.Join(into, fileName+"*")); len(there) > 0 {
			t.Errorf("%s: left %v", name, there)
		}
	}
	if err := Backup(t.Context(), t.TempDir(), filepath.Join(t.TempDir(), "y")); err == nil || !strings.Contains(err.Error(), "no store") {
		t.Errorf("of nothing: %v", err)
	}
	if err := Restore(t.Context(), good, filepath.Join(t.TempDir(), "a [b] *")); err != nil {
		t.Error(err)
	}
}
