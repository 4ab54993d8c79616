package service

import (
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// TestWetCoatAtRisk: dew comes within the limit while the coat is not yet
// protected: said at once, with its cause, and once. After the four hours of
// protection the same dew is nobody's business.
func TestWetCoatAtRisk(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(0, 9, 0), good)
	r.until(at(0, 9, 2))
	r.measure(dewy)
	r.measuring(at(0, 9, 30), dewy)
	r.wantSaid("Mon 09:02 wet_coat_at_risk first", notify.WetCoatAtRisk)
	for _, n := range r.notices(notify.WetCoatAtRisk) {
		if n.Cause.Limit != "margin" || n.Cause.Bound != 3 || n.Cause.Unit != "C" || n.Cause.Sure != notify.Measured {
			t.Errorf("cause %+v", n.Cause)
		}
	}
	r.measuring(at(0, 12, 30), good)
	r.measuring(at(0, 14, 0), dewy)
	if n := len(r.notices(notify.WetCoatAtRisk)); n != 1 {
		t.Errorf("%d notices: the coat was protected at 12:00", n)
	}
}

// TestWetCoatUnderARoof: only a booth has heat to ask for; elsewhere it is covered.
func TestWetCoatUnderARoof(t *testing.T) {
	t.Parallel()
	for kind, do := range map[string]string{"booth": "", "shed": notify.DoCover} {
		plant := "    booth: {heater: 400 kW, spraying_flow: 40000 m3/h, curing_flow: 4000 m3/h, set_point: 20 C, clearance: 5 min}\n"
		changes := []string{"kind: booth\n", "kind: " + kind + "\n"}
		if kind != "booth" {
			changes = append(changes, plant, "", "places: [booth", "places: ["+kind)
		}
		r := playEvery(t, 15*time.Minute, "two coats", changes...)
		r.measuring(at(0, 8, 0), good)
		r.coat(first, at(0, 7, 0), at(0, 8, 0))
		r.measuring(at(0, 8, 30), dewy)
		if wet := r.notices(notify.WetCoatAtRisk); len(wet) != 1 || wet[0].Do != do {
			t.Errorf("in a %s: %s", kind, sentences(wet))
		}
	}
}

// TestWetCoatTwice: a second dew, hours after the first was over, is another danger.
func TestWetCoatTwice(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(0, 9, 0), dewy)
	r.measuring(at(0, 11, 0), good)
	r.measuring(at(0, 11, 30), dewy)
	r.wantSaid("Mon 08:00 wet_coat_at_risk first\nMon 11:00 wet_coat_at_risk first", notify.WetCoatAtRisk)
}

// TestBoothStopped: the fan stands while a coat goes on. Without a running coat
// a fan may stand.
func TestBoothStopped(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 30), good)
	r.post(`"fan": 0`)
	r.until(at(0, 7, 40))
	r.post(`"fan": 1`)
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.until(at(0, 8, 0))
	r.wantSaid("", notify.BoothStopped)
	r.post(`"fan": 0`)
	r.until(at(0, 8, 10))
	r.wantSaid("Mon 08:00 booth_stopped first", notify.BoothStopped)
}

// TestPotLife: the pot of the pass lasts 2 h at 20 °C.
func TestPotLife(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.press(planner.Press{Kind: planner.Started, Key: first})
	r.measuring(at(0, 11, 0), good)
	r.wantSaid("Mon 10:00 pot_life_over first", notify.PotLifeOver)
}

// TestRunningCoat: a limit that breaks while a coat goes on is said at once; a
// surface that nobody can measure under the spray does not stop it.
func TestRunningCoat(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "latitude: 38.7", "latitude: 38.7\nnotices: {stale: 20 min}")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 8, 0), good)
	r.press(planner.Press{Kind: planner.Started, Key: first})
	bare := `"air": 20, "humidity": 40`
	r.during(at(0, 8, 40), func() { r.post(bare) })
	r.wantSaid("", notify.WindowClosed)
	r.until(at(0, 8, 45))
	r.post(`"air": 20.1, "humidity": 85`)
	r.wantSaid("Mon 08:45 window_closed first", notify.WindowClosed)
}

// TestMeasureNow: a coat is near and nobody knows the hull's surface.
func TestMeasureNow(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.during(at(0, 8, 0), func() { r.post(`"air": 20, "humidity": 40`) })
	r.wantSaid("Mon 07:00 measure_now first", notify.MeasureNow)
	r.wantSaid("", ofWindows...)
	r.measure(good)
	r.until(at(0, 8, 10))
	r.wantSaid("Mon 08:00 window_opens first", ofWindows...)
}

// TestSourceSilent: three intervals without a word are said once, its return
// ends it, and the next silence is a new one.
func TestSourceSilent(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.measuring(at(0, 7, 0), good) // the last at 06:55
	r.until(at(0, 8, 0))
	r.measuring(at(0, 9, 0), good)
	r.until(at(0, 10, 0))
	r.wantSaid("Mon 07:30 source_silent\nMon 09:30 source_silent", notify.SourceSilent)
	silent := r.notices(notify.SourceSilent)
	if len(silent) == 2 && (silent[0].ID == silent[1].ID || silent[0].Cause.Source != "air" || !silent[0].From.Equal(at(0, 6, 55))) {
		t.Errorf("said %+v", silent)
	}
}

// TestForecastOld: 18 hours after its issue a forecast is no forecast: said
// once, shut, and over with the next issue.
func TestForecastOld(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(1, 8, 0), good)
	r.wantSaid("Tue 00:15 forecast_old", notify.ForecastOld)
	r.healthSays("No forecast that is new enough")
	if n := r.open(); n != 0 {
		t.Errorf("%d windows open by an old forecast", n)
	}
	r.forecast("b.csv", at(1, 8, 0), dry)
	r.measuring(at(1, 9, 0), good)
	r.wantSaid("Tue 00:15 forecast_old", notify.ForecastOld)
	if n := r.open(); n != 1 {
		t.Errorf("%d windows open by the new one, want 1", n)
	}
}

// TestUnconfirmed: a told start passes and nobody says a word: asked about
// once the next plan is due though nothing else changes, never assumed, no clock started.
func TestUnconfirmed(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 10, 0), good)
	asked := r.notices(notify.StageUnconfirmed)
	if len(asked) != 1 || asked[0].At.After(monday.Add(planAtLeast).Add(askedAfter)) || !asked[0].From.Equal(at(0, 7, 0)) {
		t.Errorf("asked %s", asJSON(t, asked))
	}
	r.svc.mu.Lock()
	defer r.svc.mu.Unlock()
	if n := len(r.svc.facts.clocks); n != 0 {
		t.Errorf("%d clocks run", n)
	}
	if p, ok := r.svc.facts.work.Stage(first); !ok || p.Running || p.Done {
		t.Errorf("assumed %+v", p)
	}
}

// TestWeekendCloses: a recoat window that will end on Saturday is said as soon as
// the coat is planned, and again with its end once the coat is on.
func TestWeekendCloses(t *testing.T) {
	t.Parallel()
	r := newRig(t, yardText)
	friday := at(4, 6, 0)
	r.clock.Advance(friday.Sub(monday))
	r.start()
	r.enter(boatText("two coats"))
	r.press(planner.Press{Kind: planner.Arrived, Key: planner.Key{Boat: "Boat One"}, Place: "booth"})
	r.forecast("a.csv", friday, dry)
	r.measuring(friday.Add(4*time.Hour), good)
	r.coat(first, friday.Add(3*time.Hour), friday.Add(4*time.Hour)) // until Saturday 16:00
	r.measuring(friday.Add(5*time.Hour), good)
	r.wantSaid(`
		Fri 06:00 weekend_closes second
		Fri 10:00 weekend_closes second`, notify.WeekendCloses)
}
