package store

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"fairwindow/planner"
)

func TestPressesInTheOrderTheyHappened(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	full := press(planner.Pinned, "finish", noon.Add(2*time.Hour))
	full.Pass, full.Note, full.Until, full.Once = 2, "owner asked", noon.Add(48*time.Hour), "phone-7"
	full.For, full.Checks = "Rui", []planner.Point{{Words: "tack done", Go: true}, {Words: "fan on", Why: "it stands"}}
	full.Other = planner.Key{Boat: "Tern", Area: "house", Stage: "sand"}
	commit(t, s, Change{Presses: []planner.Press{full, press(planner.Finished, "wipe", noon.Add(time.Hour))}})
	commit(t, s, Change{Presses: []planner.Press{press(planner.Started, "wipe", noon), press(planner.Paused, "sand", noon.Add(time.Hour))}})
	// Two reports without an id are two reports.
	commit(t, s, Change{Presses: []planner.Press{press(planner.Started, "wipe", noon)}})

	got, err := s.Presses(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var order []planner.PressKind
	for _, p := range got {
		order = append(order, p.Kind)
	}
	want := []planner.PressKind{planner.Started, planner.Started, planner.Finished, planner.Paused, planner.Pinned}
	if !reflect.DeepEqual(order, want) {
		t.Errorf("got %v, want %v", order, want)
	}
	full.ID = 1
	if last := got[len(got)-1]; !reflect.DeepEqual(last, full) {
		t.Errorf("got  %+v\nwant %+v", last, full)
	}
}

func TestPressedTwiceCountsOnce(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	p := press(planner.Started, "finish", noon)
	p.Once = "phone-1"
	commit(t, s, Change{Presses: []planner.Press{p}})
	p.Happened, p.Entered = p.Happened.Add(time.Second), p.Entered.Add(time.Second)
	if done := commit(t, s, Change{Presses: []planner.Press{p}}); len(done.Presses) != 0 {
		t.Errorf("counted twice: %+v", done.Presses)
	}
	p.Kind = planner.Finished
	_, err := s.Commit(t.Context(), Change{At: noon, Presses: []planner.Press{p}})
	if err == nil || !strings.Contains(err.Error(), "already used") {
		t.Errorf("another press under the same id: %v", err)
	}
}
