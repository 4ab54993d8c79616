package service

import (
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// TestReportedPots: the pot of the card lasts 2 h at 20 °C. One mixed before the coat
// begins is told of, so is a second of the same pass, each by its own clock and once; a
// pass that is done lets go of its pots.
func TestReportedPots(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.press(planner.Press{Kind: planner.Mixed, Key: first, Pass: 1, Happened: at(0, 7, 30)})
	r.measuring(at(0, 8, 30), good)
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.press(planner.Press{Kind: planner.Mixed, Key: first, Pass: 1})
	r.measuring(at(0, 9, 40), good)
	r.wantSaid("Mon 09:30 pot_life_over first", notify.PotLifeOver)
	r.restart()
	r.measuring(at(0, 11, 30), good)
	r.wantSaid("Mon 09:30 pot_life_over first\nMon 10:30 pot_life_over first", notify.PotLifeOver)
	if said := r.notices(notify.PotLifeOver); len(said) == 2 && (said[0].ID == said[1].ID || at(0, 9, 30).Sub(said[0].Until).Abs() > time.Minute || !strings.Contains(said[0].Cause.Text, "07:30")) {
		t.Errorf("said %+v", said)
	}
}

// TestPotOfADonePass: nothing is said of paint that is on the hull.
func TestPotOfADonePass(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.press(planner.Press{Kind: planner.Mixed, Key: first, Pass: 1})
	r.measuring(at(0, 9, 0), good)
	r.press(planner.Press{Kind: planner.PassDone, Key: first, Pass: 1})
	r.measuring(at(0, 11, 0), good)
	r.wantSaid("", notify.PotLifeOver)
}
