package service

import (
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/planner/waits"
	"fairwindow/sensors"
)

// A coat that nobody begins is put off plan by plan; what it lost is told by the start
// first told and the one that was, to the minute, and after a restart too.
func TestPutOffAddsUp(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 9, 20))
	r.press(planner.Press{Kind: planner.Started, Key: first, Happened: at(0, 9, 10)})
	r.settle()
	told := map[planner.Key]time.Time{}
	for _, f := range r.svc.facts.first {
		told[f.Key] = f.Start
	}
	all, err := r.svc.PutOff(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	stands := func(all []waits.Entry) (sum time.Duration) {
		for _, e := range all {
			if e.Key == first {
				sum += e.Stands()
				if e.Plan == 0 && e.By == "" {
					t.Error("nobody is said to have begun late")
				}
			}
		}
		return sum
	}
	if want := at(0, 9, 10).Sub(told[first]); stands(all) != want || want <= 0 {
		t.Errorf("%s accounted for, want %s", stands(all), want)
	}
	if again, err := r.svc.PutOff(t.Context()); err != nil || len(again) != len(all) {
		t.Errorf("asked again: %d, then %d (%v)", len(all), len(again), err)
	}
	r.restart()
	if again, err := r.svc.PutOff(t.Context()); err != nil || !reflect.DeepEqual(all, again) {
		t.Errorf("after a restart: %d, then %d (%v)", len(all), len(again), err)
	}
}

func TestTheLogIsAccepted(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 9, 0))
	good := waits.Logged{Crew: "hands", Day: "2026-05-04", Boat: "Boat One", Stage: "first", Hours: 2, By: "Ines", Once: "a"}
	change := func(f func(*waits.Logged)) waits.Logged { l := good; f(&l); return l }
	for _, c := range []struct {
		line waits.Logged
		says string
	}{
		{change(func(l *waits.Logged) { l.By = "" }), "say who"},
		{change(func(l *waits.Logged) { l.Crew = "nobody" }), "no crew of this yard"},
		{change(func(l *waits.Logged) { l.Day = "Monday" }), "no day"},
		{change(func(l *waits.Logged) { l.Day = "2026-05-05" }), "still to come"},
		{change(func(l *waits.Logged) { l.Hours = 25 }), "0 to 24"},
		{change(func(l *waits.Logged) { l.Hours = math.NaN() }), "0 to 24"},
		{change(func(l *waits.Logged) { l.Boat, l.What = "", "" }), "what the crew worked on"},
	} {
		err := r.svc.LogDay(t.Context(), []waits.Logged{good, c.line})
		var public interface{ Public() string }
		if !errors.As(err, &public) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v, want %q", c.line, err, c.says)
		}
	}
	day := func() []waits.Logged {
		all, err := r.svc.CrewLog(t.Context(), at(0, 0, 0), at(0, 12, 0))
		if err != nil {
			t.Fatal(err)
		}
		return all
	}
	if n := len(day()); n != 0 {
		t.Errorf("%d lines of forms that were refused", n)
	}
	for range 2 {
		if err := r.svc.LogDay(t.Context(), []waits.Logged{good}); err != nil {
			t.Fatal(err)
		}
	}
	if lines := day(); len(lines) != 1 || !lines[0].At.Equal(r.clock.Now()) {
		t.Fatalf("sent twice: %+v", lines)
	}
	id := day()[0].ID
	for _, c := range []struct{ by, why, says string }{{"", "why", "say who"}, {"Ines", " ", "say why"}} {
		if err := r.svc.StrikeLog(t.Context(), id, c.by, c.why); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("struck by %q for %q: %v", c.by, c.why, err)
		}
	}
	if err := r.svc.StrikeLog(t.Context(), id, "Rui", "the other crew"); err != nil || day()[0].Stands() {
		t.Errorf("it was struck: %+v, %v", day(), err)
	}
	if err := r.svc.StrikeLog(t.Context(), id, "Ana", "again"); err == nil || !strings.Contains(err.Error(), "already") {
		t.Errorf("struck twice: %v", err)
	}
}

// What people pressed fills the log in beforehand.
func TestReportedFillsTheLog(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 9, 0))
	r.press(planner.Press{Kind: planner.Started, Key: first, Happened: at(0, 7, 30)})
	r.until(at(0, 10, 0))
	lines, err := r.svc.Reported(t.Context(), "hands", at(0, 0, 0))
	if err != nil || len(lines) != 1 || lines[0].Hours != 2.5 || lines[0].Stage != first.Stage {
		t.Errorf("while it runs: %+v (%v), want 2.5 h", lines, err)
	}
	if lines, err := r.svc.Reported(t.Context(), "hands", at(-1, 0, 0)); err != nil || len(lines) != 0 {
		t.Errorf("the day before: %+v (%v)", lines, err)
	}
	if _, err := r.svc.Reported(t.Context(), "nobody", at(0, 0, 0)); err == nil {
		t.Error("a crew that is not there has work")
	}
}

// A kept plan is made again and found the same; a change is tried; both one after
// the other, and no more than a few wait.
func TestStudies(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 7, 0))
	_, plan, err := r.svc.Told(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	again, err := r.svc.MakeAgain(t.Context(), plan)
	if err != nil {
		t.Fatal(err)
	}
	tried, err := r.svc.TryChange(t.Context(), "one more in crew hands; promise Boat One for 2026-06-01", "Ines")
	if err != nil {
		t.Fatal(err)
	}
	r.settle()
	one, _ := r.svc.Study(again)
	if one.Remade == nil || one.Remade.Is != planner.Same || one.Remade.Stages == 0 || one.Fault != "" {
		t.Errorf("made again: %+v", one)
	}
	if last, ok := r.svc.Remade(plan); !ok || last.ID != again {
		t.Errorf("the last remaking of plan %d is %+v", plan, last)
	}
	one, _ = r.svc.Study(tried)
	if one.Answer == nil || !strings.Contains(one.Answer.Sentence, "Boat One promised for 2026-06-01") || len(one.Answer.Changes) != 2 {
		t.Errorf("tried: %+v", one)
	}
	wrong, err := r.svc.TryChange(t.Context(), "take out Nobody", "Ines")
	if err != nil {
		t.Fatalf("not taken: %v", err)
	}
	r.settle()
	if one, _ := r.svc.Study(wrong); one.Answer != nil && one.Fault == "" || !strings.Contains(one.Fault, "Nobody") {
		t.Errorf("of a boat that is not there: %+v", one)
	}
	for _, c := range []struct{ text, says string }{{"paint it black", "begins no change"}, {" ; ", "say what would be otherwise"}} {
		if _, err := r.svc.TryChange(t.Context(), c.text, "Ines"); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v", c.text, err)
		}
	}
	if _, err := r.svc.MakeAgain(t.Context(), 999); err == nil || !strings.Contains(err.Error(), "no plan 999") {
		t.Errorf("a plan that is not there: %v", err)
	}
	if _, ok := r.svc.Study("another"); ok {
		t.Error("a study that nobody asked for")
	}
}

// Who asks while many wait is told to come again; who asks the same is shown the same.
func TestStudiesAreBounded(t *testing.T) {
	t.Parallel()
	r := newRig(t, yardText)
	r.svc = &Service{clock: r.clock, studies: newStudies()} // nobody answers
	ids := map[string]bool{}
	for _, text := range []string{"take out A", "take out B", "take out C", "take out D", "take out E", "take out A"} {
		id, err := r.svc.TryChange(t.Context(), text, "Ines")
		if err != nil {
			t.Fatal(err)
		}
		ids[id] = true
	}
	if len(ids) != mostWaiting+1 {
		t.Errorf("%d questions of %d", len(ids), mostWaiting+1)
	}
	if _, err := r.svc.TryChange(t.Context(), "take out F", "Ines"); err == nil || !strings.Contains(err.Error(), "wait already") {
		t.Errorf("one too many: %v", err)
	}
}

// A day too damp to coat is foretold, measured and logged: it is a lost day, by what the
// instruments read; without a log it is not.
func TestADampDayIsLost(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats", "release: auto", "release: auto\nlost_day: {part: 50 %, any_stage: true}")
	r.forecast("a.csv", monday, dry)
	r.until(at(0, 6, 30))
	if all, err := r.svc.PutOff(t.Context()); err != nil || len(all) != 0 {
		t.Fatalf("before anything: %d, %v", len(all), err)
	}
	r.forecast("b.csv", at(0, 6, 30), func(at time.Time) (air, dew string) {
		if at.Before(monday.Add(24 * time.Hour)) {
			return "20", "17.4"
		}
		return dry(at)
	})
	r.measuring(at(0, 17, 0), humid)
	lost := func() waits.LostDay {
		days, err := r.svc.LostDays(t.Context(), at(0, 0, 0), at(1, 0, 0))
		if err != nil || len(days) != 1 {
			t.Fatalf("%d days, %v", len(days), err)
		}
		return days[0]
	}
	d := lost()
	if !reflect.DeepEqual(d.Not, []waits.Not{waits.NotLogged}) || d.Shift != 9 || d.Lost < 8 || d.Key != first || d.Then.Bound.Owner != "card Gloss rev 2" {
		t.Errorf("without a log: %+v", d)
	}
	if err := r.svc.LogDay(t.Context(), []waits.Logged{{Crew: "hands", Day: "2026-05-04", Remark: "no other work", By: "Ines"}}); err != nil {
		t.Fatal(err)
	}
	if d := lost(); !d.Counts() || !d.Logged || d.Measured < 8 {
		t.Errorf("with one: %+v", d)
	}
	// The history that is remembered takes in what was reported since.
	r.until(at(1, 7, 50))
	before, err := r.svc.PutOff(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := r.svc.Press(t.Context(), planner.Press{Kind: planner.Override, Key: first, Happened: at(1, 7, 45), Note: "fan on", By: "Ana"}); err != nil {
		t.Fatal(err)
	}
	after, err := r.svc.PutOff(t.Context())
	if err != nil || reflect.DeepEqual(before, after) {
		t.Errorf("%d deferrals, as before it was begun (%v)", len(after), err)
	}
}

// What an instrument brings days late counts at once, though the day was asked for before.
func TestLateReadingsOfALostDay(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	measured := func() int {
		all, err := r.svc.measuredThen(t.Context(), "Boat One", "booth", at(-10, 8, 0), at(-10, 10, 0))
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	if n := measured(); n != 0 {
		t.Fatalf("%d moments of nothing", n)
	}
	late := sensors.Reading{Key: "late", Source: "air", Place: "booth", At: at(-10, 9, 0), Received: r.clock.Now(), FromDevice: true,
		Values: map[conditions.Variable]float64{conditions.AirTemperature: 12, conditions.RelHumidity: 88, conditions.Surface: 11}}
	if _, err := r.svc.store.Commit(t.Context(), store.Change{At: r.clock.Now(), Readings: []sensors.Reading{late}}); err != nil {
		t.Fatal(err)
	}
	if measured() == 0 {
		t.Error("what came late is not there")
	}
}
