package planner

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/config"
)

// TestPots: a pot stands until its pass is done, and is mixed only for a pass to come.
func TestPots(t *testing.T) {
	k, start := Key{Boat: "Tern", Area: "topsides", Stage: "gloss"}, time.Date(2026, 4, 7, 8, 0, 0, 0, time.UTC)
	y := config.Yard{Zone: "UTC", Systems: []config.System{{Name: "s", Stages: []config.Stage{
		{Name: "gloss", Kind: config.Coat, Passes: 2}, {Name: "inspect", Kind: config.Inspect},
	}}}}
	boats := []config.Boat{{Name: "Tern", Areas: []config.Area{{Name: "topsides", System: "s"}}}}
	after := func(presses ...Press) (Work, Progress) {
		w := Replay(y, boats, presses)
		s, _ := w.Stage(k)
		return w, s
	}
	mixed := Press{Kind: Mixed, Key: k, Pass: 1, Happened: start}
	w, s := after(mixed)
	if len(s.Standing()) != 1 || !s.Standing()[0].Mixed.Equal(start) || s.Running || !s.Started.IsZero() {
		t.Errorf("a pot was mixed and the stage is %+v", s)
	}
	for _, c := range []struct {
		stage string
		pass  int
		says  string
	}{{"gloss", 1, ""}, {"gloss", 2, ""}, {"gloss", 3, "0 of 2 passes"}, {"gloss", 0, "0 of 2 passes"}, {"inspect", 1, "is no coat"}} {
		err := w.Accepts(Press{Kind: Mixed, Key: Key{k.Boat, k.Area, c.stage}, Pass: c.pass, Happened: start})
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s pass %d: %v, want %q", c.stage, c.pass, err, c.says)
		}
	}
	w, s = after(mixed, Press{Kind: Started, Key: k, Happened: start}, Press{Kind: PassDone, Key: k, Pass: 1, Happened: start.Add(time.Hour)})
	if len(s.Standing()) != 0 || len(s.Pots) != 1 {
		t.Errorf("its pass is done and %+v stands", s.Standing())
	}
	if err := w.Accepts(mixed); err == nil {
		t.Error("a pot for a pass that is done was taken")
	}
}

// TestPotsChangeNoWork: whenever pots are mixed, the work stands as without them.
func TestPotsChangeNoWork(t *testing.T) {
	y := config.Yard{Zone: "UTC", Systems: []config.System{{Name: "s", Stages: []config.Stage{{Name: "gloss", Kind: config.Coat, Passes: 3}}}}}
	boats := []config.Boat{{Name: "Tern", Areas: []config.Area{{Name: "topsides", System: "s"}}}}
	k := Key{Boat: "Tern", Area: "topsides", Stage: "gloss"}
	rapid.Check(t, func(t *rapid.T) {
		var bare, potted []Press
		for i, kind := range rapid.SliceOfN(rapid.SampledFrom([]PressKind{Started, PassDone, Paused, Resumed, Finished, Mixed, Mixed}), 0, 12).Draw(t, "kinds") {
			p := Press{ID: int64(i + 1), Kind: kind, Key: k, Happened: time.Unix(int64(i)*600, 0)}
			potted = append(potted, p)
			if kind != Mixed {
				bare = append(bare, p)
			}
		}
		want, _ := Replay(y, boats, bare).Stage(k)
		got, _ := Replay(y, boats, potted).Stage(k)
		if got.Done != want.Done || got.Running != want.Running || got.Paused != want.Paused || len(got.Passes) != len(want.Passes) || !got.Started.Equal(want.Started) {
			t.Fatalf("with pots %+v, without %+v", got, want)
		}
	})
}
