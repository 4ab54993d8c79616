package service

import (
	"context"
	"errors"
	"testing"
	"time"

	"fairwindow/planner"
)

// TestTryKeepsNothing: what a press would do is told without a trace of it, and what is
// told is what the plan does once it is pressed.
func TestTryKeepsNothing(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 9, 0))
	draft, id, err := r.svc.Draft(t.Context())
	if err != nil || id == 0 {
		t.Fatal(id, err)
	}
	pin := planner.Press{Kind: planner.Pinned, Key: first, Until: at(1, 10, 0), By: "Ines"}
	tried, on, err := r.svc.Try(t.Context(), pin)
	if err != nil || on != id || tried.Refused || !tried.Stage.Start.Equal(at(1, 10, 0)) {
		t.Fatalf("tried on draft %d of %d: refused %t (%+v), begins %v, %v", on, id, tried.Refused, tried.Why, tried.Stage.Start, err)
	}
	presses, _ := r.svc.store.Presses(t.Context())
	if again, now, _ := r.svc.Draft(t.Context()); now != id || asJSON(t, again) != asJSON(t, draft) || len(presses) != 1 {
		t.Errorf("after a trial there are %d presses and draft %d", len(presses), now)
	}
	r.press(pin)
	r.until(at(0, 9, 5))
	after, _, _ := r.svc.Draft(t.Context())
	for _, s := range after.Stages {
		if s.Key == first && !s.Start.Equal(tried.Stage.Start) {
			t.Errorf("it was told to begin %v and begins %v", tried.Stage.Start, s.Start)
		}
	}
	night, _, err := r.svc.Try(t.Context(), planner.Press{Kind: planner.Pinned, Key: first, Until: at(1, 23, 0), By: "Ines"})
	if err != nil || !night.Refused || night.Why.Cause != planner.NoShift || night.Later.IsZero() {
		t.Errorf("at night: refused %t for %q, next %v, %v", night.Refused, night.Why.Cause, night.Later, err)
	}
	var public interface{ Public() string }
	if _, _, err := r.svc.Try(t.Context(), planner.Press{Kind: planner.Held, Key: first, By: "Ines"}); !errors.As(err, &public) {
		t.Errorf("held without a reason: %v", err)
	}
}

// TestTryAfterARestart: the problem of the newest draft is read back.
func TestTryAfterARestart(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 9, 0))
	r.halt()
	r.start()
	if tried, id, err := r.svc.Try(t.Context(), planner.Press{Kind: planner.Pinned, Key: first, Until: at(1, 10, 0), By: "Ines"}); err != nil || id == 0 || tried.Refused {
		t.Errorf("draft %d, refused %t, %v", id, tried.Refused, err)
	}
}

// TestTheNewestTrialWins: of one person only what he tries last is worked out; others wait
// for room and get it.
func TestTheNewestTrialWins(t *testing.T) {
	t.Parallel()
	var all trials
	var leave []func()
	for _, by := range []string{"Ana", "Rui"} {
		out, err := all.enter(t.Context(), by)
		if err != nil {
			t.Fatal(err)
		}
		leave = append(leave, out)
	}
	old := make(chan error, 1)
	waiting := make(chan struct{})
	go func() {
		close(waiting)
		_, err := all.enter(t.Context(), "Ines")
		old <- err
	}()
	<-waiting
	for { // until the old one has put its name down
		all.mu.Lock()
		there := all.by["Ines"] != nil
		all.mu.Unlock()
		if there {
			break
		}
	}
	ctx, cancel := context.WithTimeout(t.Context(), hangs)
	defer cancel()
	fresh := make(chan error, 1)
	go func() {
		out, err := all.enter(ctx, "Ines")
		if err == nil {
			out()
		}
		fresh <- err
	}()
	if err := <-old; err == nil {
		t.Error("the older of two trials was let in")
	}
	leave[0]()
	if err := <-fresh; err != nil {
		t.Error(err)
	}
	leave[1]()
	if len(all.by) != 0 || len(all.room) != 0 {
		t.Errorf("%d names and %d places are still taken", len(all.by), len(all.room))
	}
}

// TestPlanAsOf: yesterday's plan is the one that stood then, and what people had been
// told is asked for by itself.
func TestPlanAsOf(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "release: auto", "release: by hand")
	r.until(at(0, 9, 0))
	_, before, _ := r.svc.Draft(t.Context())
	if err := r.svc.Release(t.Context(), before, "Ines"); err != nil {
		t.Fatal(err)
	}
	asked := r.svc.Now()
	r.until(at(0, 10, 0))
	r.press(planner.Press{Kind: planner.Pinned, Key: first, Until: at(2, 10, 0)})
	r.until(at(0, 11, 0))
	_, now, _ := r.svc.Draft(t.Context())
	for _, c := range []struct {
		at   time.Time
		told bool
		want int64
	}{{asked, false, before}, {r.svc.Now(), false, now}, {r.svc.Now(), true, before}, {at(-1, 0, 0), false, 0}, {at(-1, 0, 0), true, 0}} {
		if _, id, err := r.svc.PlanAsOf(t.Context(), c.at, c.told); err != nil || id != c.want {
			t.Errorf("as of %v, told %t: plan %d, want %d (%v)", c.at, c.told, id, c.want, err)
		}
	}
	if all, rule, err := r.svc.ReleasedSince(t.Context(), at(0, 0, 0)); all != 1 || rule != 0 || err != nil {
		t.Errorf("%d releases, %d by the rule, %v", all, rule, err)
	}
}
