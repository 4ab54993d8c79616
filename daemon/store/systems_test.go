package store

import (
	"errors"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
)

func system(name string, stages ...string) config.System {
	s := config.System{Name: name}
	for _, stage := range stages {
		s.Stages = append(s.Stages, config.Stage{Name: stage, Kind: config.Hold})
	}
	return s
}

// Systems are kept by revision, come back from the disk and from a backup as they were,
// and nobody writes over another's.
func TestSystemsAreEditedByRevision(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := open(t, dir)
	put := func(e config.Edit[config.System]) error {
		_, err := s.Commit(t.Context(), Change{At: noon, Systems: []config.Edit[config.System]{e}})
		return err
	}
	for _, e := range []config.Edit[config.System]{
		{To: system("gloss", "cure"), By: "ann", Once: "a"},
		{To: system("gloss", "cure"), By: "ann", Once: "a"}, // twice is once
		{To: system("gloss", "cure", "rest"), From: 1, By: "bea", Once: "b"},
		{To: system("gloss", "other"), From: 1, By: "bea", Once: "b"}, // a form counts once, whatever is in it
		{To: system("matt", "cure"), By: "ann"},
	} {
		if err := put(e); err != nil {
			t.Fatal(err)
		}
	}
	var conflict *ConflictError
	if err := put(config.Edit[config.System]{To: system("gloss"), From: 1, By: "cem", Once: "c"}); !errors.As(err, &conflict) || !strings.Contains(err.Error(), `system "gloss" was changed by bea`) {
		t.Errorf("an old revision changed: %v", err)
	}
	if err := put(config.Edit[config.System]{To: system("matt"), From: 1, Removed: true, By: "ann", Why: "not used"}); err != nil {
		t.Fatal(err)
	}
	check := func(where string, s *Store) {
		t.Helper()
		rows, err := s.Systems(t.Context())
		if err != nil || len(rows) != 1 || rows[0].Revision != 2 || rows[0].By != "bea" || !reflect.DeepEqual(rows[0].Of, system("gloss", "cure", "rest")) {
			t.Errorf("%s: %+v, %v", where, rows, err)
		}
		all, err := s.SystemVersions(t.Context(), "matt")
		if err != nil || len(all) != 2 || !all[0].Removed || all[0].Why != "not used" || !reflect.DeepEqual(all[0].Of, system("matt", "cure")) {
			t.Errorf("%s: %+v, %v", where, all, err)
		}
	}
	check("at once", s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	copied := filepath.Join(t.TempDir(), "copy.db")
	if err := Backup(t.Context(), dir, copied); err != nil {
		t.Fatal(err)
	}
	restored := t.TempDir()
	if err := Restore(t.Context(), copied, restored); err != nil {
		t.Fatal(err)
	}
	check("opened again", open(t, dir))
	check("restored", open(t, restored))
}

// What a boat has been is kept, with who and why; those taken out are known.
func TestBoatVersions(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	later := boat("Alder")
	later.Owner = "Owner Two"
	commit(t, s, Change{Boats: []BoatEdit{{Boat: boat("Alder"), By: "ann"}, {Boat: boat("Birch"), By: "ann"}}})
	commit(t, s, Change{At: noon.Add(time.Hour), Boats: []BoatEdit{{Boat: later, Revision: 1, By: "bea", Once: "x"}}})
	commit(t, s, Change{At: noon.Add(2 * time.Hour), Boats: []BoatEdit{{Boat: later, Revision: 2, Removed: true, By: "cem", Why: "sold"}}})
	commit(t, s, Change{At: noon.Add(3 * time.Hour), Boats: []BoatEdit{{Boat: boat("Alder"), Revision: 1, By: "bea", Once: "x"}}}) // late, and known
	all, err := s.BoatVersions(t.Context(), "Alder")
	if err != nil || len(all) != 3 {
		t.Fatalf("%+v, %v", all, err)
	}
	if v := all[0]; !v.Removed || v.Why != "sold" || v.By != "cem" || !v.At.Equal(noon.Add(2*time.Hour)) || v.Of.Owner != "Owner Two" {
		t.Errorf("the last is %+v", v)
	}
	if all[1].Of.Owner != "Owner Two" || all[2].Of.Owner != "" || all[2].Revision != 1 {
		t.Errorf("before: %+v", all[1:])
	}
	gone, err := s.RemovedBoats(t.Context())
	if err != nil || len(gone) != 1 || gone[0].Of.Name != "Alder" {
		t.Errorf("taken out: %+v, %v", gone, err)
	}
}
