package service

import (
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// withWipe puts a wipe that lasts three hours before the first coat.
var withWipe = []string{"  - name: two coats\n    stages:\n", `  - name: two coats
    stages:
      - {name: wipe, kind: wipe, skill: paint, takes: 30 min, people: 1, places: [booth], block: paint, life: 3 h}
`}

var wipe = planner.Key{Boat: "Boat One", Area: "topsides", Stage: "wipe"}

// did reports a stage that is no coat, begun and ended.
func (r *rig) did(k planner.Key, from, to time.Time) {
	r.t.Helper()
	r.press(planner.Press{Kind: planner.Started, Key: k, Happened: from})
	r.press(planner.Press{Kind: planner.Finished, Key: k, Happened: to})
}

// sentences words notices for a reader in the rig's zone, one a line.
func sentences(notices []notify.Notice) string {
	var lines []string
	for _, n := range notices {
		lines = append(lines, n.At.Format("Mon 15:04 ")+string(n.Kind)+": "+notify.Sentence(n, notify.Style{Zone: time.UTC}))
	}
	return strings.Join(lines, "\n")
}

// TestWipeEndsTheWindow: the wipe of 07:30 lasts until 10:30, and the shift would let
// people start until 15:00. They hear the nearer end and its cause; when it comes with
// nobody started they hear what to do again, and the new window says so too.
func TestWipeEndsTheWindow(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", withWipe...)
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 30), good)
	opened := r.notices(notify.WindowOpens)
	if len(opened) != 1 || opened[0].Do != "wipe, then start" || !opened[0].Until.Equal(at(0, 15, 0)) {
		t.Fatalf("with the wipe still to be done: %s", asJSON(t, opened))
	}
	r.did(wipe, at(0, 7, 0), at(0, 7, 30))
	r.measuring(at(0, 11, 0), good)
	r.did(planner.Key{Boat: "Boat One", Area: "topsides", Stage: "wipe again for first"}, at(0, 10, 35), at(0, 11, 0))
	r.measuring(at(0, 11, 30), good)
	got := sentences(r.notices(ofWindows...)[1:])
	want := strings.TrimSpace(`
Mon 07:30 window_shortened: Window shortened for first on Boat One topsides in booth, it now ends 10:30; then the wipe of 07:30 is too old: wipe again; start only what will be done by then.
Mon 09:30 window_closing: Window closing, start first on Boat One topsides in booth by 10:30 or leave it; then the wipe of 07:30 is too old: wipe again; what is begun is finished.
Mon 10:30 window_lapsed: Window for first on Boat One topsides in booth lapsed at 10:30 with no start: the wipe of 07:30 is too old; wipe again, then wait for the next notice.
Mon 10:30 window_opens: Window open for first on Boat One topsides in booth now until 15:00; then the shift is too short for it; mix 3.4 L of Gloss rev 2 only, 2:1 by volume, pot life 2 h; wipe again, then start.
Mon 11:00 window_shortened: Window shortened for first on Boat One topsides in booth, it now ends 14:00; then the wipe of 11:00 is too old: wipe again; start only what will be done by then.`)
	if got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

// TestSandingEndsTheWindow: a hull that was sanded too long ago is sanded again before
// a window opens; nothing is told of a window that would need it.
func TestSandingEndsTheWindow(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "  - name: two coats\n    stages:\n", `  - name: two coats
    stages:
      - {name: key, kind: sand, grit: 320, skill: sand, takes: 30 min, people: 1, places: [booth], block: paint, life: 2 h}
`)
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 30), good)
	r.did(planner.Key{Boat: "Boat One", Area: "topsides", Stage: "key"}, at(0, 7, 0), at(0, 7, 30))
	r.measuring(at(0, 12, 0), good)
	r.did(planner.Key{Boat: "Boat One", Area: "topsides", Stage: "key again for first"}, at(0, 11, 30), at(0, 12, 0))
	r.measuring(at(0, 12, 30), good)
	r.wantSaid(`
		Mon 07:30 window_opens first
		Mon 08:30 window_closing first
		Mon 09:30 window_lapsed first
		Mon 12:00 window_opens first`, ofWindows...)
	if lapsed := r.notices(notify.WindowLapsed); len(lapsed) != 1 || lapsed[0].Do != "key again, then wait for the next notice" {
		t.Errorf("%s", asJSON(t, lapsed))
	}
	if opened := r.notices(notify.WindowOpens); len(opened) == 2 && (!opened[1].Until.Equal(at(0, 14, 0)) || opened[1].Do != "") {
		t.Errorf("after it was done again: %s", asJSON(t, opened[1]))
	}
}
