package service

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/notify/bus"
	"fairwindow/planner"
)

// halfway is a service that was ended with notices committed and none of them
// published: it was opened, took in facts and planned, and never ran.
func halfway(t *testing.T, yard string) (r *rig, unsent []notify.Notice) {
	t.Helper()
	r = newRig(t, yard)
	svc, err := New(t.Context(), r.options())
	if err != nil {
		t.Fatal(err)
	}
	r.svc = svc
	r.enter(boatText("two coats"))
	if err := svc.Press(t.Context(), planner.Press{Kind: planner.Arrived, Key: planner.Key{Boat: "Boat One"}, Place: "booth", By: "a painter"}); err != nil {
		t.Fatal(err)
	}
	r.forecast("a.csv", monday, dry)
	if err := svc.readFeeds(t.Context(), monday); err != nil {
		t.Fatal(err)
	}
	r.clock.Advance(time.Hour)
	if err := svc.plan(t.Context()); err != nil {
		t.Fatal(err)
	}
	for _, values := range []booth{good, humid} { // opens, closes
		if code, answer := r.send(`{"source": "air", "values": {` + values.at(r.clock.Now()) + `}}`); code != 202 {
			t.Fatalf("%d %s", code, answer)
		}
		r.clock.Advance(time.Minute)
	}
	if unsent, err = svc.store.Unsent(t.Context(), 100); err != nil {
		t.Fatal(err)
	}
	if kinds := said(unsent); !strings.Contains(kinds, "window_opens") || !strings.Contains(kinds, "window_closed") {
		t.Fatalf("committed: %s", kinds)
	}
	return r, unsent
}

// onBus are the notices that the bus of a rig stores, as id and revision.
func onBus(t *testing.T, r *rig, atLeast int) []string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), hangs)
	defer cancel()
	var got []string
	done := 0
	err := bus.Listen(ctx, r.svc.BusURL(), bus.Filter{FromStart: true}, func(m bus.Message) {
		got = append(got, fmt.Sprint(m.Notice.ID, " ", m.Notice.Revision))
		if done++; done == atLeast {
			cancel()
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

func named(notices []notify.Notice) []string {
	var out []string
	for _, n := range notices {
		out = append(out, fmt.Sprint(n.ID, " ", n.Revision))
	}
	return out
}

// TestKilledBeforeTheBus: notices that were committed with their facts go out
// after a restart, each once, in the order of their commits.
func TestKilledBeforeTheBus(t *testing.T) {
	t.Parallel()
	r, unsent := halfway(t, yardText)
	if err := r.svc.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	r.start()
	if got, want := fmt.Sprint(named(r.notices())), fmt.Sprint(named(unsent)); got != want {
		t.Errorf("heard %s, want %s", got, want)
	}
	heard := len(r.notices())
	r.restart()
	if n := len(r.notices()); n != heard {
		t.Errorf("a second restart said %d more", n-heard)
	}
	if got, want := fmt.Sprint(onBus(t, r, len(unsent))), fmt.Sprint(named(unsent)); got != want {
		t.Errorf("on the bus %s, want %s", got, want)
	}
}

// TestKilledBeforeTheMark: a notice that the bus has and the store does not
// know of goes out again under its id, which the bus stores once.
func TestKilledBeforeTheMark(t *testing.T) {
	t.Parallel()
	r, unsent := halfway(t, yardText)
	for _, n := range unsent {
		if err := r.svc.bus.Publish(t.Context(), n, "as it was worded then"); err != nil {
			t.Fatal(err)
		}
	}
	if err := r.svc.Close(t.Context()); err != nil {
		t.Fatal(err)
	}
	r.start()
	left, err := r.svc.store.Unsent(t.Context(), 100)
	if err != nil || len(left) != 0 {
		t.Errorf("%d still unsent, %v", len(left), err)
	}
	r.coat(first, at(0, 6, 10), at(0, 7, 0)) // one more, so that what is stored behind it is seen
	r.post(`"air": 20, "humidity": 76, "surface": 17`)
	all := append(named(unsent), named(r.notices()[len(unsent):])...)
	if got, want := fmt.Sprint(onBus(t, r, len(all))), fmt.Sprint(all); got != want {
		t.Errorf("on the bus %s, want %s", got, want)
	}
}

// TestOwedUntilHeard: a notice is owed until it was heard, so that who waits for nothing to be
// owed has heard every one.
func TestOwedUntilHeard(t *testing.T) {
	t.Parallel()
	r, unsent := halfway(t, yardText)
	least := len(unsent)
	r.svc.opt.Heard = func(notify.Notice, string) {
		r.svc.mu.Lock()
		defer r.svc.mu.Unlock()
		least = min(least, r.svc.unsent)
	}
	sent, err := r.svc.publish(t.Context())
	if err != nil || sent != len(unsent) || least != 1 {
		t.Errorf("%d of %d notices were heard, %v; at the last one %d were owed, want 1", sent, len(unsent), err, least)
	}
	if err := r.svc.Close(t.Context()); err != nil {
		t.Error(err)
	}
}

// TestBusAway: while an outside bus is away, facts are taken in and their
// notices kept; when it is back they go out, each once.
func TestBusAway(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	there := vacant(t)
	away := theirBus(t, dir, there)
	r, unsent := halfway(t, strings.Replace(yardText, `bus: {listen: "127.0.0.1:0", mqtt: "127.0.0.1:0"}`, `bus: {url: "`+away.ClientURL()+`"}`, 1))
	away.Shutdown()
	away.WaitForShutdown()
	short, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	if sent, err := r.svc.publish(short); err == nil {
		t.Errorf("%d notices went to a bus that is away", sent)
	}
	left, err := r.svc.store.Unsent(t.Context(), 100)
	if err != nil || fmt.Sprint(named(left)) != fmt.Sprint(named(unsent)) {
		t.Errorf("kept %v, %v, want %v", named(left), err, named(unsent))
	}
	short, cancel = context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	_ = r.svc.Close(short) // it can't say goodbye to what is away

	theirBus(t, dir, there)
	r.start()
	defer r.halt()
	if got, want := fmt.Sprint(onBus(t, r, len(unsent))), fmt.Sprint(named(unsent)); got != want {
		t.Errorf("on the bus %s, want %s", got, want)
	}
}
