package service

import (
	"fmt"
	"net"
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// TestReload: a bad file changes nothing and says so until a good one comes,
// which is planned by at once.
func TestReload(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 6, 30), good)
	before, id, err := r.svc.Draft(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	r.yard = strings.Replace(yardText, "margin: 3 C", "margin: 3 parsecs", 1)
	err = r.svc.Reload(t.Context())
	if err == nil || !strings.Contains(err.Error(), "yard.yaml:") || !strings.Contains(err.Error(), "parsecs") {
		t.Errorf("%v: want the file, its line and the bad word", err)
	}
	r.healthSays("The yard file is bad and the last good one is in force")
	r.healthSays("parsecs")
	r.until(at(0, 6, 40))
	after, again, err := r.svc.Draft(t.Context())
	if err != nil || again != id || asJSON(t, after) != asJSON(t, before) {
		t.Errorf("a bad file made plan %d of %d, %v", again, id, err)
	}

	r.yard = strings.Replace(yardText, `starts: "0 7 * * 1-5"`, `starts: "0 10 * * 1-5"`, 1)
	if err := r.svc.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	r.measuring(at(0, 10, 15), good)
	if health, err := r.svc.Health(t.Context()); err != nil || len(health) != 0 {
		t.Errorf("with a good file: %q, %v", health, err)
	}
	if after, again, err = r.svc.Draft(t.Context()); err != nil || again == id || after.Stages[0].Start.Before(at(0, 10, 0)) {
		t.Errorf("plan %d starts at %s, %v", again, after.Stages[0].Start, err)
	}
	r.wantSaid("Mon 10:00 window_opens first", notify.WindowOpens)
}

// TestStateInUse: a second service on one state folder is refused in one
// sentence, and the first goes on.
func TestStateInUse(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	_, err := New(t.Context(), r.options())
	if err == nil || !strings.Contains(err.Error(), "used by another fairwindow") || strings.Contains(err.Error(), "\n") {
		t.Errorf("%v", err)
	}
	r.measure(good)
	r.until(at(0, 6, 30))
}

// TestPortInUse: a port that is taken is named in one sentence, and nothing is
// left open: the state can be used at once.
func TestPortInUse(t *testing.T) {
	t.Parallel()
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer taken.Close()
	for _, port := range []string{"listen", "mqtt"} {
		r := newRig(t, strings.Replace(yardText, port+`: "127.0.0.1:0"`, fmt.Sprintf(`%s: "%s"`, port, taken.Addr()), 1))
		_, err := New(t.Context(), r.options())
		if err == nil || !strings.Contains(err.Error(), taken.Addr().String()) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", port, err)
		}
		r.yard = yardText
		r.start()
		r.halt()
	}
}

// TestReleaseByHand: a draft is nobody's plan until the scheduler releases it,
// and only then are people told what moved.
func TestReleaseByHand(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "release: auto", "release: by hand")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 6, 30), good)
	_, id, err := r.svc.Draft(t.Context())
	if told, toldID, _ := r.svc.Told(t.Context()); err != nil || id == 0 || toldID != 0 || len(told.Stages) != 0 {
		t.Fatalf("draft %d, told %d with %d stages, %v", id, toldID, len(told.Stages), err)
	}
	if err := r.svc.Release(t.Context(), id, "the scheduler"); err != nil {
		t.Fatal(err)
	}
	if _, toldID, _ := r.svc.Told(t.Context()); toldID != id {
		t.Errorf("told %d, released %d", toldID, id)
	}
	r.press(planner.Press{Kind: planner.Pinned, Key: first, Until: at(0, 12, 0)})
	r.measuring(at(0, 6, 45), good)
	draft, newer, err := r.svc.Draft(t.Context())
	if err != nil || newer == id || !draft.Stages[0].Start.Equal(at(0, 12, 0)) {
		t.Fatalf("draft %d starts at %s, %v", newer, draft.Stages[0].Start, err)
	}
	if told, toldID, _ := r.svc.Told(t.Context()); toldID != id || !told.Stages[0].Start.Equal(at(0, 7, 0)) {
		t.Errorf("told %d of %s before the release", toldID, told.Stages[0].Start)
	}
	r.wantSaid("", notify.StageMoved, notify.StagePutOff)
	err = r.svc.Release(t.Context(), id, "the scheduler")
	if err == nil || !strings.Contains(err.Error(), fmt.Sprintf("plan %d is not the newest draft, %d is", id, newer)) {
		t.Errorf("an outdated draft: %v", err)
	}
	for range 2 { // twice is once
		if err := r.svc.Release(t.Context(), newer, "the scheduler"); err != nil {
			t.Fatal(err)
		}
	}
	r.settle()
	r.restart()
	if moved := r.notices(notify.StageMoved); len(moved) == 0 || moved[0].Stage != "first" || !moved[0].From.Equal(at(0, 12, 0)) {
		t.Errorf("said %s", asJSON(t, moved))
	}
	ids := map[string]bool{}
	for _, n := range r.notices(notify.StageMoved, notify.StagePutOff) {
		if ids[n.ID] {
			t.Errorf("%s twice", n.ID)
		}
		ids[n.ID] = true
	}
	if _, toldID, _ := r.svc.Told(t.Context()); toldID != newer {
		t.Errorf("after a restart %d is told", toldID)
	}
}

// TestReleaseAgain: what moved and moves on is told each time.
func TestReleaseAgain(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "release: auto", "release: by hand")
	r.forecast("a.csv", monday, dry)
	release := func() {
		t.Helper()
		r.measuring(r.clock.Now().Add(15*time.Minute), good)
		_, id, err := r.svc.Draft(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if err := r.svc.Release(t.Context(), id, "the scheduler"); err != nil {
			t.Fatal(err)
		}
		r.settle()
	}
	release()
	for _, hour := range []int{12, 14} {
		r.press(planner.Press{Kind: planner.Pinned, Key: first, Until: at(0, hour, 0)})
		release()
	}
	var starts []string
	for _, n := range r.notices(notify.StageMoved) {
		if n.Stage == "first" {
			starts = append(starts, n.From.Format("15:04"))
		}
	}
	if got := strings.Join(starts, " "); got != "12:00 14:00" {
		t.Errorf("told of moves to %q", got)
	}
}

// TestPlanAgain: every plan that is kept can be made again from what is kept
// beside it, to the last byte.
func TestPlanAgain(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(0, 9, 0), good)
	rows, err := r.svc.store.Plans(t.Context(), 0)
	if err != nil || len(rows) < 3 {
		t.Fatalf("%d plans, %v", len(rows), err)
	}
	for _, row := range rows {
		problem, err := r.svc.store.Problem(t.Context(), row.Problem)
		if err != nil {
			t.Fatal(err)
		}
		again, err := planner.Solve(problem)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := asJSON(t, again), asJSON(t, row.Plan); got != want {
			t.Errorf("plan %d of %s: made again it is\n%s\nwas\n%s", row.ID, row.At, got, want)
		}
	}
}
