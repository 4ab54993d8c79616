package demo

import (
	"strings"
	"testing"
	"time"

	"fairwindow/planner"
)

// Over many seeds people are ill, reject, report late: each must happen, none always.
func TestThingsGoWrong(t *testing.T) {
	var away, rejected, late int
	const plays = 35
	for seed := range uint64(plays) {
		d := &fakeDaemon{plan: byTheBook("Heron"), opens: always}
		s, err := Play(t.Context(), quick(optionsOf(t, seed, d, 6, boatOf("Heron", "2026-04-06 09:00"))))
		if err != nil {
			t.Fatal(err)
		}
		away, rejected, late = away+s.Away, rejected+s.Rejected, late+min(1, s.Late)
		for i, p := range d.presses {
			if i > 0 && p.Entered.Before(d.presses[i-1].Entered) {
				t.Errorf("entered out of order: %+v", p)
			}
			if p.Kind == planner.Started && p.Key.Stage == "finish coat" && p.Entered.Sub(p.Happened) > 5*time.Minute {
				t.Errorf("a coat's start was entered after %s", p.Entered.Sub(p.Happened))
			}
			if (p.Kind == planner.Cant || p.Kind == planner.Rejected) && p.Note == "" {
				t.Errorf("%s without a reason", p.Kind)
			}
		}
	}
	for what, n := range map[string]int{"away": away, "rejected": rejected, "late": late} {
		if n == 0 || n >= plays {
			t.Errorf("%s in %d of %d plays", what, n, plays)
		}
	}
}

// A rejected coat is done again as soon as a plan knows of it, and not before:
// after the rejection come the coat and the look at it, in that order.
func TestRejectedCoatIsDoneAgain(t *testing.T) {
	for seed := range uint64(200) {
		if luck(seed, "inspection", "Heron", "topsides", "look over", "again").Float64() >= rejects {
			continue
		}
		d := &fakeDaemon{plan: byTheBook("Heron"), opens: always}
		s, err := Play(t.Context(), quick(optionsOf(t, seed, d, 10, boatOf("Heron", "2026-04-06 09:00"))))
		if err != nil {
			t.Fatal(err)
		}
		if s.Rejected == 0 || s.Away > 0 {
			continue
		}
		_, after, _ := strings.Cut(d.kinds("Heron"), "rejected ")
		if want := "started pass_done pass_done started finished launched"; after != want {
			t.Errorf("seed %d, after the rejection:\n got %s\nwant %s", seed, after, want)
		}
		return
	}
	t.Fatal("no coat was rejected in 200 plays")
}
