package service

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/notify"
)

var aboutRecoat = []notify.Kind{notify.RecoatOpens, notify.RecoatLastCall, notify.RecoatLapsed, notify.WeekendCloses, notify.ReadyToSand}

// TestRecoat: the card's times are 8 h and 30 h at every temperature, and the
// last call goes out four hours before the end. The coat ends on Monday 08:00.
func TestRecoat(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(1, 16, 0), good)
	r.wantSaid(`
		Mon 16:00 recoat_opens second
		Tue 10:00 recoat_last_call second
		Tue 14:00 recoat_lapsed second`, aboutRecoat...)
	for _, n := range r.notices(notify.RecoatOpens, notify.RecoatLastCall) {
		if d := n.Until.Sub(at(1, 14, 0)); d.Abs() > 10*time.Minute {
			t.Errorf("%s until %s, want Tue 14:00", n.Kind, n.Until)
		}
	}
	if lapsed := r.notices(notify.RecoatLapsed); len(lapsed) == 1 && lapsed[0].Do != notify.DoReactivate {
		t.Errorf("lapsed says %q: the card may be reactivated until 60 h", lapsed[0].Do)
	}
}

// TestRecoatAbrade: after 60 h reactivating no longer does.
func TestRecoatAbrade(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats", "reactivate: [{at: 10 C, takes: 60 h}, {at: 30 C, takes: 60 h}]", "")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(1, 14, 30), good)
	lapsed := r.notices(notify.RecoatLapsed)
	if len(lapsed) != 1 || lapsed[0].Do != notify.DoAbrade {
		t.Errorf("lapsed %+v", lapsed)
	}
}

// TestReadyToSand: sandable takes 16 h, from Monday 08:00.
func TestReadyToSand(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "sanded")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(1, 9, 0), good)
	r.wantSaid("Tue 00:00 ready_to_sand rub down", aboutRecoat...)
}

// TestCureClockRestart: a restart in the middle of a cure loses nothing: the
// clock ends where that of an undisturbed run does, and notices are the same.
func TestCureClockRestart(t *testing.T) {
	t.Parallel()
	script := func(restarts bool) (conditions.Clock, string) {
		r := playEvery(t, 15*time.Minute, "two coats")
		r.forecast("a.csv", monday, dry)
		r.measuring(at(0, 8, 0), good)
		r.coat(first, at(0, 7, 0), at(0, 8, 0))
		for h := range 9 {
			r.measuring(at(0, 9+h, 10), good)
			if restarts {
				r.restart()
			}
		}
		r.measuring(at(0, 17, 20), good)
		return r.clockOf(t, first), said(r.notices(aboutRecoat...))
	}
	calm, calmly := script(false)
	stormy, stormily := script(true)
	if calmly != stormily || calmly == "" {
		t.Errorf("with restarts:\n%s\nwithout:\n%s", stormily, calmly)
	}
	if !calm.Coated.Equal(stormy.Coated) {
		t.Errorf("coated %s and %s", calm.Coated, stormy.Coated)
	}
	for _, m := range []conditions.Milestone{conditions.Protected, conditions.Recoat, conditions.Sandable} {
		// Each was run up to its own last plan or tick; the card's rate is steady.
		each, other := calm.Slow[m]/calm.At.Sub(calm.Coated).Hours(), stormy.Slow[m]/stormy.At.Sub(stormy.Coated).Hours()
		if d := each - other; d > 1e-6 || d < -1e-6 {
			t.Errorf("%s: %.6f an hour without, %.6f with restarts", m, each, other)
		}
	}
}

// TestCureClockDown: the program was down for three hours of a cure. What was
// not measured is not counted towards an opening.
func TestCureClockDown(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(0, 9, 0), good)
	r.halt()
	r.clock.Advance(8 * time.Hour)
	r.start()
	r.measuring(at(0, 17, 30), good)
	clock := r.clockOf(t, first)
	// The last reading of 08:55 speaks for four hours, to 12:55; the next is of 17:00.
	if got, want := clock.Slow[conditions.Recoat], (4+55./60+.5)/8; got > want+0.02 || got < want-0.05 {
		t.Errorf("recoat progress %.3f, want about %.3f", got, want)
	}
	if clock.Silent == 0 {
		t.Error("nothing is said of the hours that were not measured")
	}
}
