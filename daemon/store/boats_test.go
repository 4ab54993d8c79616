package store

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"
)

func TestBoatsAreEditedByRevision(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	later := boat("Alder")
	later.Promised = "2026-05-20"
	commit(t, s, Change{Boats: []BoatEdit{{Boat: boat("Birch"), By: "ann"}, {Boat: boat("Alder"), By: "ann"}}})
	commit(t, s, Change{At: noon.Add(time.Hour), Boats: []BoatEdit{{Boat: later, Revision: 1, By: "bea"}}})

	rows, err := s.Boats(t.Context())
	if err != nil || len(rows) != 2 {
		t.Fatalf("%+v, %v", rows, err)
	}
	if r := rows[0]; r.Revision != 2 || r.By != "bea" || !r.At.Equal(noon.Add(time.Hour)) || !reflect.DeepEqual(r.Boat, later) {
		t.Errorf("got %+v", r)
	}
	if rows[1].Boat.Name != "Birch" || rows[1].Revision != 1 {
		t.Errorf("got %+v", rows[1])
	}

	mine := boat("Alder")
	mine.Colour = "dark"
	for name, test := range map[string]struct {
		edit BoatEdit
		says string
	}{
		"edited what bea changed": {BoatEdit{Boat: mine, Revision: 1}, "was changed by bea at 2026-04-03T13:00:00Z: it is at revision 2, you edited revision 1"},
		"put in a name twice":     {BoatEdit{Boat: mine}, `there is a boat "Alder" already, last changed by bea`},
		"removed an old revision": {BoatEdit{Boat: mine, Revision: 1, Removed: true}, "was changed by bea"},
		"changed one not there":   {BoatEdit{Boat: boat("Cedar"), Revision: 1}, `no boat "Cedar" to change`},
		"removed one not there":   {BoatEdit{Boat: boat("Cedar"), Removed: true}, `no boat "Cedar" to change`},
	} {
		_, err := s.Commit(t.Context(), Change{At: noon, Boats: []BoatEdit{test.edit}})
		var conflict *ConflictError
		if !errors.As(err, &conflict) || !strings.Contains(err.Error(), test.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestABoatRemovedAndPutInAgain(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	commit(t, s, Change{Boats: []BoatEdit{{Boat: boat("Alder"), By: "ann"}}})
	gone := BoatEdit{Boat: boat("Alder"), Removed: true, Revision: 1, By: "bea"}
	commit(t, s, Change{Boats: []BoatEdit{gone}})
	commit(t, s, Change{Boats: []BoatEdit{gone}}) // twice is once
	if rows, err := s.Boats(t.Context()); err != nil || len(rows) != 0 {
		t.Fatalf("%+v, %v", rows, err)
	}
	_, err := s.Commit(t.Context(), Change{At: noon, Boats: []BoatEdit{{Boat: boat("Alder"), Revision: 1}}})
	if err == nil || !strings.Contains(err.Error(), "taken out by bea") {
		t.Errorf("changed a removed boat: %v", err)
	}
	commit(t, s, Change{Boats: []BoatEdit{{Boat: boat("Alder"), By: "ann"}}})
	if rows, err := s.Boats(t.Context()); err != nil || len(rows) != 1 || rows[0].Revision != 3 {
		t.Errorf("%+v, %v", rows, err)
	}
	if n := census(t, s).boats; n != 3 {
		t.Errorf("%d revisions kept, want 3", n)
	}
}
