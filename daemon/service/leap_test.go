package service

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// settable is a wall clock that is set forward and back while its timers run on, as a
// machine's do.
type settable struct {
	*clockwork.FakeClock
	mu  sync.Mutex
	off time.Duration
}

func (c *settable) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.FakeClock.Now().Add(c.off)
}

func (c *settable) Since(t time.Time) time.Duration { return c.Now().Sub(t) }
func (c *settable) Until(t time.Time) time.Duration { return t.Sub(c.Now()) }

func (c *settable) set(by time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.off += by
}

// playLeaping is play with a wall clock that can be set; looks counts the runs of the
// job that looks at everything.
func playLeaping(t testing.TB) (r *rig, wall *settable, looks func() int) {
	t.Helper()
	r = newRig(t, yardText)
	wall = &settable{FakeClock: r.clock}
	r.wall = wall
	r.start()
	r.enter(boatText("two coats"))
	r.press(planner.Press{Kind: planner.Arrived, Key: planner.Key{Boat: "Boat One"}, Place: "booth"})
	var mu sync.Mutex
	n := 0
	r.svc.mu.Lock()
	r.svc.sources.feeds = append(slices.Clone(r.svc.sources.feeds), feed{name: "looks", poll: func(context.Context) error {
		mu.Lock()
		defer mu.Unlock()
		n++
		return nil
	}})
	r.svc.mu.Unlock()
	return r, wall, func() int { mu.Lock(); defer mu.Unlock(); return n }
}

// metric is what the daemon counts of itself, as it is served.
func (r *rig) metric(name string) float64 {
	r.t.Helper()
	answer := httptest.NewRecorder()
	r.svc.Metrics().ServeHTTP(answer, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	for line := range strings.Lines(answer.Body.String()) {
		if value, ok := strings.CutPrefix(line, "fairwindow_"+name+" "); ok {
			n, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
			if err != nil {
				r.t.Fatal(err)
			}
			return n
		}
	}
	r.t.Fatalf("no metric fairwindow_%s", name)
	return 0
}

// wantTold: every notice is known by another name, all that were committed went out, in
// the order of their commits.
func (r *rig) wantTold() {
	r.t.Helper()
	kept, err := r.svc.store.Notices(context.Background(), time.Time{}, 0)
	if err != nil {
		r.t.Fatal(err)
	}
	once := map[string]bool{}
	for _, name := range named(kept) {
		if once[name] {
			r.t.Errorf("%s twice", name)
		}
		once[name] = true
	}
	if heard := named(r.notices()); !slices.Equal(heard, named(kept)) {
		r.t.Errorf("heard %v, committed %v", heard, named(kept))
	}
}

// TestClockSet: whatever the wall clock is set to, jobs run on as they did, one plan is
// made of it, new readings count at once, a cure never runs backwards, no notice is lost
// or said twice, and the pages say what happened.
func TestClockSet(t *testing.T) {
	t.Parallel()
	for _, by := range []time.Duration{
		20 * time.Minute, 3 * time.Hour, 50 * time.Hour, 400 * 24 * time.Hour,
		-10 * time.Minute, -3 * time.Hour, -24 * time.Hour, -40 * 24 * time.Hour,
	} {
		t.Run(by.String(), func(t *testing.T) {
			t.Parallel()
			r, wall, looks := playLeaping(t)
			r.forecast("a.csv", monday, dry)
			r.measuring(at(0, 8, 0), good)
			r.coat(first, at(0, 7, 0), at(0, 8, 0))
			r.measuring(at(0, 9, 0), good)
			before, was, plans := looks(), r.clockOf(t, first), r.metric("plans_total")

			wall.set(by)
			r.until(r.clock.Now().Add(2 * r.tick))
			if made := r.metric("plans_total") - plans; made != 1 {
				t.Errorf("%v plans of it, want one", made)
			}
			if ran := looks() - before; ran != 2 {
				t.Errorf("%d runs in two ticks", ran)
			}
			r.measure(good)
			if m := r.booth(); m.Sure != conditions.Measured {
				t.Errorf("a reading taken now does not count: %s", m.Why)
			}
			// A device whose clock was not set says the time of before.
			if code, answer := r.send(fmt.Sprintf(`{"source": "air", "time": %q, "values": {"air": 31}}`, r.clock.Now().Format(time.RFC3339))); code != 202 {
				t.Errorf("%d %s", code, answer)
			}
			flag := r.newest(t).Flags
			want := sensors.FromFuture
			if by > 0 {
				want = sensors.Old
			}
			if far := by.Abs() > sensors.Stale || by < -sensors.ClockSlack; far != slices.ContainsFunc(flag, func(f sensors.Flag) bool { return f.Fault == want }) {
				t.Errorf("a device that is %s off is flagged %v", by, flag)
			}
			r.measure(good)
			r.during(at(0, 10, 30), func() {
				r.measure(good)
				is := r.clockOf(t, first)
				if is.At.Before(was.At) || is.Slow[conditions.Recoat] < was.Slow[conditions.Recoat] || is.Fast[conditions.Recoat] < was.Fast[conditions.Recoat] {
					t.Errorf("the cure ran backwards: %s, %v, after %s, %v", is.At, is.Slow, was.At, was.Slow)
				}
				was = is
			})
			r.wantTold()
			r.healthSays("The machine's clock was set")
			if n := r.metric("clock_leaps_total"); n != 1 {
				t.Errorf("%v leaps counted", n)
			}
			r.restart() // what was kept can be read back
			r.measuring(at(0, 10, 45), good)
			r.wantTold()
		})
	}
}

// TestClockSetBackBehindAPress: what was reported by a clock that ran ahead stands in the way
// of what follows it. Whoever presses is told so and what to do, and that does it.
func TestClockSetBackBehindAPress(t *testing.T) {
	t.Parallel()
	r, wall, _ := playLeaping(t)
	r.until(at(0, 8, 0))
	r.press(planner.Press{Kind: planner.Started, Key: first, By: "Ana"})
	wall.set(-time.Hour)
	r.until(at(0, 8, 10))
	done := planner.Press{Kind: planner.PassDone, Key: first, Pass: 1, By: "Ana"}
	if err := r.svc.Press(t.Context(), done); err == nil || !strings.Contains(err.Error(), "started at Mon 4 May 08:00") || !strings.Contains(err.Error(), "Strike that through") {
		t.Fatalf("refused with %v", err)
	}
	presses, err := r.svc.Presses(t.Context(), "Boat One")
	if err != nil {
		t.Fatal(err)
	}
	last := presses[len(presses)-1]
	started := planner.Press{Kind: planner.Started, Key: first, Happened: at(0, 7, 0)}
	if err := r.svc.Correct(t.Context(), "Boat One", []int64{last.ID}, []planner.Press{started}, planner.Press{By: "Ana"}, true); err != nil {
		t.Fatal(err)
	}
	if err := r.svc.Press(t.Context(), done); err != nil {
		t.Errorf("still in the way: %v", err)
	}
}

// booth is what is measured in the booth now.
func (r *rig) booth() conditions.Moment {
	r.svc.mu.Lock()
	defer r.svc.mu.Unlock()
	return r.svc.facts.measured("booth", r.svc.clock.Now())
}

// newest is the reading that came last.
func (r *rig) newest(t testing.TB) sensors.Reading {
	t.Helper()
	all, err := r.svc.store.Readings(context.Background(), store.Query{Source: "air"})
	if err != nil || len(all) == 0 {
		t.Fatal("no reading", err)
	}
	return slices.MaxFunc(all, func(a, b sensors.Reading) int { return int(a.ID - b.ID) })
}

// TestClockGoesOn: a clock that is corrected by little, or goes as it should, is no leap.
func TestClockGoesOn(t *testing.T) {
	t.Parallel()
	r, wall, _ := playLeaping(t)
	r.until(at(0, 7, 0))
	wall.set(20 * time.Second)
	r.until(at(0, 8, 0))
	if n := r.metric("clock_leaps_total"); n != 0 {
		t.Errorf("%v leaps counted", n)
	}
	if health, err := r.svc.Health(t.Context()); err != nil || strings.Contains(fmt.Sprint(health), "clock was set") {
		t.Errorf("%q, %v", health, err)
	}
}

// TestClockYearsAhead: what is kept for 400 days is not thrown away by a clock that is
// years ahead for a day.
func TestClockYearsAhead(t *testing.T) {
	t.Parallel()
	r, wall, _ := playLeaping(t)
	r.measure(good)
	wall.set(3 * 365 * 24 * time.Hour)
	r.until(at(0, 7, 0))
	if err := r.svc.prune(t.Context(), wall.Now()); err != nil {
		t.Fatal(err)
	}
	if n := len(r.kept(t)); n != 1 {
		t.Errorf("%d readings of one are kept", n)
	}
	r.clock.Advance(saidFor)
	if err := r.svc.prune(t.Context(), wall.Now()); err != nil {
		t.Fatal(err)
	}
	if n := len(r.kept(t)); n != 0 {
		t.Errorf("%d readings are kept for ever", n)
	}
}

func (r *rig) kept(t testing.TB) []sensors.Reading {
	t.Helper()
	all, err := r.svc.store.Readings(context.Background(), store.Query{})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// TestClockSetAtRandom: set at random, time and again, while the air is good, humid and
// dewy in turn, the service comes to rest each time, no plan is of a time to come, and
// every notice is told once.
func TestClockSetAtRandom(t *testing.T) {
	if testing.Short() {
		t.Skip("plays a hundred times some minutes")
	}
	t.Parallel()
	r, wall, _ := playLeaping(t)
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 0), good)
	airs := []booth{good, humid, dewy}
	rapid.Check(t, func(q *rapid.T) {
		minutes := rapid.OneOf(rapid.IntRange(-2*24*60, 2*24*60), rapid.IntRange(-90, 90)).Draw(q, "minutes")
		wall.set(time.Duration(minutes) * time.Minute)
		air := rapid.SampledFrom(airs).Draw(q, "air")
		if rapid.IntRange(0, 9).Draw(q, "forecast") == 0 {
			r.forecast("a.csv", wall.Now(), dry)
		}
		r.measuring(r.clock.Now().Add(time.Duration(rapid.IntRange(1, 3).Draw(q, "ticks"))*r.tick), air)
		r.until(r.clock.Now().Add(debounce)) // what was asked for is made
		r.svc.mu.Lock()
		of, made := r.svc.facts.draft.Plan.At, r.svc.cycle.at
		r.svc.mu.Unlock()
		if now := wall.Now(); of.After(now) || made.After(now) {
			q.Fatalf("at %s the plan is of %s, made at %s", now, of, made)
		}
		// Air that changes all at once is a spike, whatever the clock does.
		if m := r.booth(); m.Sure != conditions.Measured && !strings.Contains(m.Why, "a sudden leap") {
			q.Fatalf("at %s the booth is unknown: %s", wall.Now(), m.Why)
		}
	})
	r.wantTold()
	if len(r.notices(notify.WindowOpens, notify.WindowClosed)) == 0 {
		t.Error("no window opened or closed: nothing was tried")
	}
}
