package service

import (
	"errors"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
)

// TestPressOnce: pressed twice under one id it counts once, across a restart
// too; without an id each counts.
func TestPressOnce(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 9, 0))
	start := planner.Press{Kind: planner.Started, Key: first, Once: "tablet 7, 1", Happened: at(0, 8, 0)}
	r.press(start)
	r.press(start)
	r.restart()
	r.press(start)
	presses, err := r.svc.Presses(t.Context(), "Boat One")
	if err != nil || len(presses) != 2 { // with the arrival
		t.Errorf("%d presses, %v", len(presses), err)
	}
	stored, err := r.svc.store.Presses(t.Context())
	if err != nil || len(stored) != 2 {
		t.Errorf("%d presses in the store, %v", len(stored), err)
	}
}

// TestPressRefused: what can't be taken is refused in a sentence that says what
// to do, and nothing changes.
func TestPressRefused(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 9, 0))
	r.press(planner.Press{Kind: planner.Started, Key: first, Happened: at(0, 8, 0)})
	for _, c := range []struct {
		press planner.Press
		says  string
	}{
		{planner.Press{Kind: planner.PassDone, Key: first, Pass: 1}, "say who"},
		{planner.Press{Kind: planner.PassDone, Key: first, Pass: 1, By: "x", Happened: at(0, 9, 30)}, "still to come: give the time it happened"},
		{planner.Press{Kind: planner.PassDone, Key: first, Pass: 2, By: "x"}, "the next to report is pass 1"},
		{planner.Press{Kind: planner.PassDone, Key: first, Pass: 1, By: "x", Happened: at(0, 7, 30)}, at(0, 8, 0).Format("Mon 2 Jan 15:04") + ": give a time no earlier"},
		{planner.Press{Kind: planner.StoppedAt, Key: first, Pass: 1, By: "x"}, "press finished, else give how many"},
		{planner.Press{Kind: planner.Started, Key: first, By: "x"}, "runs already: press"},
		{planner.Press{Kind: planner.PassDone, Key: second, Pass: 1, By: "x"}, "press started first"},
		{planner.Press{Kind: planner.Resumed, Key: first, By: "x"}, "was not paused"},
		{planner.Press{Kind: planner.Held, Key: second, By: "x"}, "say why"},
		{planner.Press{Kind: planner.Cant, Key: second, By: "x"}, "say why"},
		{planner.Press{Kind: planner.Rejected, Key: second, By: "x", Note: "runs"}, "press can't or held instead"},
		{planner.Press{Kind: planner.Moved, Key: planner.Key{Boat: "Boat One"}, Place: "moon", By: "x"}, "no place of this yard"},
		{planner.Press{Kind: planner.Started, Key: planner.Key{Boat: "Boat Two"}, By: "x"}, "no boat of this yard"},
		{planner.Press{Kind: planner.Started, Key: planner.Key{Boat: "Boat One", Area: "topsides", Stage: "third"}, By: "x"}, `no stage "third"`},
		{planner.Press{Kind: "danced", Key: first, By: "x"}, "nobody knows a press"},
	} {
		err := r.svc.Press(t.Context(), c.press)
		var public interface{ Public() string }
		if err == nil || !strings.Contains(err.Error(), c.says) || !errors.As(err, &public) {
			t.Errorf("%s: %v; want a sentence with %q", c.press.Kind, err, c.says)
		}
	}
	presses, err := r.svc.Presses(t.Context(), "Boat One")
	if err != nil || len(presses) != 2 {
		t.Errorf("%d presses, %v", len(presses), err)
	}
	// A person's clock may be a little ahead of ours.
	r.press(planner.Press{Kind: planner.PassDone, Key: first, Pass: 1, Happened: at(0, 9, 3)})
}

// TestPressLate: a coat reported in the afternoon cures since the morning, when
// it was done, and the press keeps both times.
func TestPressLate(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 15, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	clock := r.clockOf(t, first)
	if !clock.Coated.Equal(at(0, 8, 0)) || !clock.At.Equal(at(0, 15, 0)) {
		t.Errorf("coated %s, run up to %s", clock.Coated, clock.At)
	}
	// Recoat takes 8 h: seven of them are over.
	if got := clock.Slow[conditions.Recoat]; got < 7./8-1e-6 || got > 7./8+1e-6 {
		t.Errorf("recoat progress %.4f, want 7/8", got)
	}
	presses, err := r.svc.Presses(t.Context(), "Boat One")
	if err != nil {
		t.Fatal(err)
	}
	last := presses[len(presses)-1]
	if last.Kind != planner.PassDone || !last.Happened.Equal(at(0, 8, 0)) || !last.Entered.Equal(at(0, 15, 0)) {
		t.Errorf("kept %+v", last)
	}
}

// TestPressDisordered: a start reported after the end that came later still
// stands before it.
func TestPressDisordered(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 10, 0))
	r.press(planner.Press{Kind: planner.Started, Key: first, Happened: at(0, 8, 30)})
	r.press(planner.Press{Kind: planner.PassDone, Key: first, Pass: 1, Happened: at(0, 9, 30)})
	r.press(planner.Press{Kind: planner.Moved, Key: planner.Key{Boat: "Boat One"}, Place: "row", Happened: at(0, 7, 0)})
	r.press(planner.Press{Kind: planner.Moved, Key: planner.Key{Boat: "Boat One"}, Place: "booth", Happened: at(0, 8, 0)})
	presses, err := r.svc.Presses(t.Context(), "Boat One")
	if err != nil {
		t.Fatal(err)
	}
	for i := 1; i < len(presses); i++ {
		if presses[i].Happened.Before(presses[i-1].Happened) {
			t.Errorf("%s of %s stands behind %s", presses[i].Kind, presses[i].Happened, presses[i-1].Happened)
		}
	}
	work, err := r.svc.Work(t.Context())
	if err != nil || work.Place("Boat One").Place != "booth" {
		t.Errorf("the boat stands in %q, %v", work.Place("Boat One").Place, err)
	}
	before := asJSON(t, presses)
	r.restart()
	if presses, err = r.svc.Presses(t.Context(), "Boat One"); err != nil || asJSON(t, presses) != before {
		t.Errorf("after a restart %s, before %s, %v", asJSON(t, presses), before, err)
	}
}

// clockOf is the cure clock of a coat.
func (r *rig) clockOf(t *testing.T, k planner.Key) conditions.Clock {
	t.Helper()
	r.svc.mu.Lock()
	defer r.svc.mu.Unlock()
	c, ok := r.svc.facts.clocks[k]
	if !ok {
		t.Fatalf("no clock of %s", k)
	}
	return c.Clock
}
