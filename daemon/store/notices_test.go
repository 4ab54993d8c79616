package store

import (
	"encoding/json"
	"reflect"
	"slices"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/notify"
	"fairwindow/planner"
)

func TestOutboxInTheOrderOfCommits(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	second := notice(1)
	second.Revision, second.Until = 2, noon.Add(3*time.Hour)
	commit(t, s, Change{Notices: []notify.Notice{notice(3), notice(1)}})
	commit(t, s, Change{Notices: []notify.Notice{notice(2), second, notice(1)}})
	want := []notify.Notice{notice(3), notice(1), notice(2), second}

	unsent, err := s.Unsent(t.Context(), 0)
	if err != nil || !reflect.DeepEqual(unsent, want) {
		t.Fatalf("got  %+v, %v\nwant %+v", unsent, err, want)
	}
	if some, err := s.Unsent(t.Context(), 2); err != nil || !reflect.DeepEqual(some, want[:2]) {
		t.Errorf("the first two: %+v, %v", some, err)
	}
	for range 2 { // marked twice is marked
		if err := s.MarkSent(t.Context(), []Sent{{ID: want[0].ID, Revision: 1, At: noon}, {ID: second.ID, Revision: 2, At: noon}}); err != nil {
			t.Fatal(err)
		}
	}
	if left, err := s.Unsent(t.Context(), 0); err != nil || !reflect.DeepEqual(left, want[1:3]) {
		t.Errorf("left: %+v, %v", left, err)
	}
	// A notice that went out and is committed again does not go out again.
	commit(t, s, Change{Notices: []notify.Notice{notice(3)}})
	if left, err := s.Unsent(t.Context(), 0); err != nil || len(left) != 2 {
		t.Errorf("left: %+v, %v", left, err)
	}

	if got, err := s.Notices(t.Context(), noon.Add(2*time.Minute), 0); err != nil || !slices.Equal(ids(got), ids([]notify.Notice{want[0], want[2]})) {
		t.Errorf("since: %v, %v", ids(got), err)
	}
	if got, err := s.Notices(t.Context(), time.Time{}, 2); err != nil || !reflect.DeepEqual(got, want[2:]) {
		t.Errorf("the newest two: %v, %v", ids(got), err)
	}
}

func TestMemoryAndClocks(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	clock := func(area, stage string, recoat float64) planner.CoatNow {
		return planner.CoatNow{Key: planner.Key{Boat: "Alder", Area: area, Stage: stage}, Clock: conditions.Clock{Coated: noon, At: noon,
			Slow: map[conditions.Milestone]float64{conditions.Recoat: recoat}}}
	}
	commit(t, s, Change{Memory: map[string]json.RawMessage{"guard": json.RawMessage(`[1]`), "cycle": json.RawMessage(`null`)},
		Clocks: []planner.CoatNow{clock("topsides", "primer", 1), clock("deck", "primer", 0.5)}})
	commit(t, s, Change{Memory: map[string]json.RawMessage{"guard": nil, "cycle": json.RawMessage(`{"a":2}`), "none": nil},
		Clocks: []planner.CoatNow{clock("topsides", "finish", 0.1)}})
	memory, err := s.Memory(t.Context())
	if err != nil || !reflect.DeepEqual(memory, map[string]json.RawMessage{"cycle": json.RawMessage(`{"a":2}`)}) {
		t.Errorf("memory %s, %v", memory, err)
	}
	clocks, err := s.Clocks(t.Context())
	if err != nil || !reflect.DeepEqual(clocks, []planner.CoatNow{clock("deck", "primer", 0.5), clock("topsides", "finish", 0.1)}) {
		t.Errorf("clocks %+v, %v", clocks, err)
	}
}
