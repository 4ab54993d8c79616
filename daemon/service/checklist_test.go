package service

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"fairwindow/planner"
)

// TestGoNoGo: a coat whose list is not answered, or has a no-go, is not started; answered
// it is, and the answers stand with the press, across a restart, with who and when.
func TestGoNoGo(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "profile: plain", "profile: plain\nchecklist: {coat: [{point: tack done}, {point: fan on, beside: fan}]}")
	r.until(at(0, 9, 0))
	yes := []planner.Point{{Words: "tack done", Go: true}, {Words: "fan on", Go: true}}
	no := []planner.Point{{Words: "tack done", Go: true}, {Words: "fan on", Why: "it stands"}}
	start := func(kind planner.PressKind, once string, checks []planner.Point) error {
		return r.svc.Press(t.Context(), planner.Press{
			Kind: kind, Key: first, Once: once, Happened: at(0, 8, 30), By: "Ana", For: "Rui", Note: "the fan's switch is stuck, it runs", Checks: checks,
		})
	}
	for _, c := range []struct {
		checks []planner.Point
		says   string
	}{
		{nil, "go / no-go list"},
		{yes[:1], "every point of it"},
		{[]planner.Point{yes[1], yes[0]}, "go / no-go list"},
		{no, "\"fan on\" is no-go (it stands)"},
		{[]planner.Point{yes[0], {Words: "fan on"}}, "say what is not"},
	} {
		err := start(planner.Started, "", c.checks)
		var public interface{ Public() string }
		if !errors.As(err, &public) || !strings.Contains(public.Public(), c.says) {
			t.Errorf("%+v: %v, want %q", c.checks, err, c.says)
		}
	}
	if s, _ := r.svc.facts.work.Stage(first); s.Running {
		t.Fatal("it was started all the same")
	}
	if err := start(planner.Cant, "1", no); err != nil {
		t.Error(err)
	}
	if err := start(planner.Override, "2", no); err != nil {
		t.Error(err)
	}
	r.settle()
	r.restart()
	presses, err := r.svc.Presses(t.Context(), first.Boat)
	kept := slices.DeleteFunc(presses, func(p planner.Press) bool { return len(p.Checks) == 0 })
	if err != nil || len(kept) != 2 {
		t.Fatalf("kept %+v, %v", kept, err)
	}
	for _, p := range kept {
		if len(p.Checks) != 2 || p.Checks[0] != no[0] || p.Checks[1] != no[1] || p.By != "Ana" || p.For != "Rui" || !p.Happened.Equal(at(0, 8, 30)) {
			t.Errorf("kept %+v", p)
		}
	}
	if err := r.svc.Correct(t.Context(), "Boat One", []int64{r.idOf(planner.Override, first)}, nil, planner.Press{By: "Rui", Note: "the wrong boat"}, false); err != nil {
		t.Fatal(err)
	}
	coat := r.recordNow().Coats
	if len(coat) != 0 {
		t.Errorf("a coat that was never begun: %+v", coat)
	}
	if err := start(planner.Override, "3", no); err != nil {
		t.Fatal(err)
	}
	r.settle()
	var asked, struck []string
	for _, c := range r.recordNow().Coats[0].Checks {
		line := c.Who() + ", " + c.Ask + ": " + c.Said()
		if c.Struck != nil {
			struck = append(struck, line+", "+c.Struck.Why)
			continue
		}
		asked = append(asked, line)
	}
	// Those of the can't and of the second override stand; those of the first are struck.
	want := []string{"Ana for Rui, tack done: go", "Ana for Rui, fan on: no-go: it stands"}
	if !slices.Equal(asked, slices.Concat(want, want)) || len(struck) != 2 || !strings.HasSuffix(struck[1], "it stands, the wrong boat") {
		t.Errorf("the record has %q, struck %q", asked, struck)
	}
}

// TestGoStarts: with every point answered go a coat is started as before.
func TestGoStarts(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "profile: plain", "profile: plain\nchecklist: {coat: [{point: tack done}]}")
	r.until(at(0, 9, 0))
	r.press(planner.Press{Kind: planner.Started, Key: first, Happened: at(0, 8, 30), Checks: []planner.Point{{Words: "tack done", Go: true}}})
	if s, _ := r.svc.facts.work.Stage(first); !s.Running {
		t.Error("it does not run")
	}
}
