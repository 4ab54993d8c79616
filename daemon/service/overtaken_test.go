package service

import (
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// TestOpenWindowIsNeverForgotten: whatever becomes of a coat whose window people know to be
// open, they hear at once, or when it ends, that it is open no more.
func TestOpenWindowIsNeverForgotten(t *testing.T) {
	t.Parallel()
	for _, tt := range []struct {
		name  string
		press planner.Press // at 08:00
		until time.Time
		want  string
	}{
		{"held", planner.Press{Kind: planner.Held, Key: first, Note: "colour is not agreed"}, at(0, 9, 0), `
Mon 08:00 window_closed: Window closed for first on Boat One topsides in booth: it is held by Ana; do not start, wait for the next notice.`},
		{"elsewhere", planner.Press{Kind: planner.Moved, Key: planner.Key{Boat: "Boat One"}, Place: "row"}, at(0, 9, 0), `
Mon 08:00 window_closed: Window closed for first on Boat One topsides: the boat stands in row, and the plan has it in booth; do not start, wait for the next notice.`},
		// Beyond the 48 h within which stages are looked at.
		{"pinned to a day that is far", planner.Press{Kind: planner.Pinned, Key: first, Until: at(3, 8, 0)}, at(0, 16, 0), `
Mon 14:00 window_closing: Window closing, start first on Boat One topsides in booth by 15:00 or leave it; then the shift is too short for it; what is begun is finished.
Mon 15:15 window_lapsed: Window for first on Boat One topsides in booth lapsed with no start: the shift is too short for it now; do not start, wait for the next window.`},
	} {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			r := playEvery(t, 15*time.Minute, "two coats")
			r.forecast("a.csv", monday, dry)
			r.measuring(at(0, 8, 0), good)
			tt.press.By = "Ana"
			r.press(tt.press)
			r.measuring(tt.until, good)
			all := r.notices(ofWindows...)
			if len(all) == 0 || all[0].Kind != notify.WindowOpens {
				t.Fatalf("no window opened: %s", sentences(all))
			}
			if got := sentences(all[1:]); got != strings.TrimSpace(tt.want) {
				t.Errorf("got\n%s\nwant\n%s", got, strings.TrimSpace(tt.want))
			}
		})
	}
}
