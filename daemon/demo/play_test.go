package demo

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
	"fairwindow/planner"
)

// fakeDaemon plans by rote: it tells one plan, or whatever replan makes of the
// presses, and announces windows in given hours of the day.
type fakeDaemon struct {
	clock   *clockwork.FakeClock
	plan    func(d *fakeDaemon) planner.Plan
	opens   func(now time.Time, k planner.Key) bool
	presses []planner.Press
	refuse  planner.PressKind
	settled int
}

func (d *fakeDaemon) Settled(context.Context) error { d.settled++; return nil }

func (d *fakeDaemon) Told(context.Context) (planner.Plan, error) { return d.plan(d), nil }

func (d *fakeDaemon) OpenWindows(context.Context) ([]planner.Key, error) {
	var open []planner.Key
	for _, p := range d.plan(d).Stages {
		if p.Kind == config.Coat && d.opens(d.clock.Now(), p.Key) {
			open = append(open, p.Key)
		}
	}
	return open, nil
}

func (d *fakeDaemon) Press(_ context.Context, p planner.Press) error {
	if p.Kind == d.refuse {
		return errors.New("not now")
	}
	d.presses = append(d.presses, p)
	return nil
}

func (d *fakeDaemon) kinds(boat string) string {
	var all []string
	for _, p := range d.presses {
		if p.Key.Boat == boat {
			all = append(all, string(p.Kind))
		}
	}
	return strings.Join(all, " ")
}

func always(time.Time, planner.Key) bool { return true }

// byTheBook is a plan of three stages in the booth: sanding from Monday 13:00
// that goes over night, two passes on Wednesday, a look on Thursday. What was
// finished is left out, and the boat launched on Friday.
func byTheBook(boats ...string) func(d *fakeDaemon) planner.Plan {
	return func(d *fakeDaemon) planner.Plan {
		plan := planner.Plan{At: d.clock.Now()}
		at := func(day, hour int) time.Time { return spring.AddDate(0, 0, day).Add(time.Duration(hour-1) * time.Hour) } // Lisbon's summer time
		for i, boat := range boats {
			week := 7 * i
			stages := []planner.Planned{
				{Key: planner.Key{Boat: boat, Area: "topsides", Stage: "sand back"}, Kind: config.Sand, Start: at(week, 13), End: at(week+1, 11),
					Work: []planner.Span{{From: at(week, 13), To: at(week, 17)}, {From: at(week+1, 8), To: at(week+1, 11)}}},
				{Key: planner.Key{Boat: boat, Area: "topsides", Stage: "finish coat"}, Kind: config.Coat, Start: at(week+2, 9), End: at(week+2, 12),
					Passes: []planner.Span{{From: at(week+2, 9), To: at(week+2, 10)}, {From: at(week+2, 11), To: at(week+2, 12)}}},
				{Key: planner.Key{Boat: boat, Area: "topsides", Stage: "look over"}, Kind: config.Inspect, Start: at(week+3, 10), End: at(week+3, 11)},
			}
			for _, s := range stages {
				s.Place, s.Crew, s.People = "booth", "painters", 2
				if !d.did(s.Key) {
					plan.Stages = append(plan.Stages, s)
				}
			}
			plan.Launches = append(plan.Launches, planner.Launch{Boat: boat, Likely: at(week+4, 10)})
		}
		return plan
	}
}

// did reports that a stage was finished and not rejected since.
func (d *fakeDaemon) did(k planner.Key) bool {
	done, passes := false, 0
	for _, p := range d.presses {
		if p.Key.Boat != k.Boat || p.Key.Area != k.Area {
			continue
		}
		switch {
		case p.Kind == planner.Rejected:
			done, passes = done && k.Stage == "sand back", 0
		case p.Key.Stage != k.Stage:
		case p.Kind == planner.Finished, p.Kind == planner.StoppedAt:
			done = true
		case p.Kind == planner.PassDone:
			if passes++; passes == 2 {
				done = true
			}
		}
	}
	return done
}

func optionsOf(t *testing.T, seed uint64, d *fakeDaemon, days int, boats ...config.Boat) Options {
	t.Helper()
	d.clock = clockwork.NewFakeClockAt(spring)
	return Options{
		Daemon: d, Clock: d.clock, Yard: yardOf(), Boats: boats, Sky: Invent(seed, spring, days+6, harbour), Seed: seed, Days: days,
		Send: func(context.Context, Message) error { return nil }, ForecastDir: t.TempDir(),
	}
}

// quick takes longer steps and few readings, for tests of people over many seeds.
func quick(o Options) Options {
	o.Step, o.SensorsEvery = 15*time.Minute, 12*time.Hour
	return o
}

// quiet is a seed on which nobody is ill on the coat's day, nothing is rejected
// and nothing reported late, found by trying.
func quiet(t *testing.T) uint64 {
	t.Helper()
	for seed := range uint64(400) {
		d := &fakeDaemon{plan: byTheBook("Heron"), opens: always}
		s, err := Play(t.Context(), optionsOf(t, seed, d, 5, boatOf("Heron", "2026-04-06 09:00")))
		if err != nil {
			t.Fatal(err)
		}
		if s.Away+s.Rejected+s.Late == 0 && s.Stages == 3 {
			return seed
		}
	}
	t.Fatal("no quiet seed")
	return 0
}

func TestCrewFollowsThePlan(t *testing.T) {
	seed := quiet(t)
	d := &fakeDaemon{plan: byTheBook("Heron"), opens: always}
	s, err := Play(t.Context(), optionsOf(t, seed, d, 6, boatOf("Heron", "2026-04-06 09:00")))
	if err != nil {
		t.Fatal(err)
	}
	want := "arrived moved started paused resumed finished started pass_done pass_done started finished launched"
	if got := d.kinds("Heron"); got != want {
		t.Errorf("presses\n got %s\nwant %s", got, want)
	}
	for i, p := range d.presses {
		if p.Entered.Before(p.Happened) || p.By == "" || p.Once == "" {
			t.Errorf("press %d: %+v", i, p)
		}
		if p.Kind == planner.Moved && p.Place != "booth" {
			t.Errorf("moved to %q", p.Place)
		}
	}
	if s.Passes != 2 || len(s.Outcomes) != 2 || s.Boats[0].Launched.IsZero() || s.Forecasts != 25 {
		t.Errorf("%+v", s)
	}
	// 6 days of 144 readings from three sensors, less a few percent lost.
	if all := s.Messages + s.Silent; all != 6*144*3 || s.Silent > all/20 || s.Silent == 0 {
		t.Errorf("%d messages, %d silent", s.Messages, s.Silent)
	}
}

func TestNoCoatOutsideItsWindow(t *testing.T) {
	seed := quiet(t)
	d := &fakeDaemon{plan: byTheBook("Heron"), opens: func(time.Time, planner.Key) bool { return false }}
	if _, err := Play(t.Context(), optionsOf(t, seed, d, 6, boatOf("Heron", "2026-04-06 09:00"))); err != nil {
		t.Fatal(err)
	}
	if got := d.kinds("Heron"); strings.Contains(got, "pass_done") || !strings.Contains(got, "finished") {
		t.Errorf("presses %s", got)
	}
}

// The window closes during the flash-off: people stop after the first pass.
func TestStopsWhenTheWindowCloses(t *testing.T) {
	seed := quiet(t)
	noon := spring.AddDate(0, 0, 2).Add(9*time.Hour + 30*time.Minute)
	d := &fakeDaemon{plan: byTheBook("Heron"), opens: func(now time.Time, _ planner.Key) bool { return now.Before(noon) }}
	s, err := Play(t.Context(), optionsOf(t, seed, d, 6, boatOf("Heron", "2026-04-06 09:00")))
	if err != nil {
		t.Fatal(err)
	}
	got := d.kinds("Heron")
	if !strings.Contains(got, "started pass_done stopped_here") || s.Stopped != 1 || s.Passes != 1 {
		t.Errorf("presses %s\n%s", got, s)
	}
	for _, p := range d.presses {
		if p.Kind == planner.StoppedAt && p.Pass != 1 {
			t.Errorf("stopped at pass %d", p.Pass)
		}
	}
}

// Two boats in turn in one booth: the first must be lifted out for the second,
// whether it is launched by then or not.
func TestBoothIsCleared(t *testing.T) {
	d := &fakeDaemon{plan: byTheBook("Heron", "Egret"), opens: always}
	seed := quiet(t)
	s, err := Play(t.Context(), optionsOf(t, seed, d, 13, boatOf("Heron", "2026-04-06 09:00"), boatOf("Egret", "2026-04-07")))
	if err != nil {
		t.Fatal(err)
	}
	in := map[string]string{}
	for _, p := range d.presses {
		if p.Place != "" {
			in[p.Key.Boat] = p.Place
		}
		if p.Kind == planner.Launched {
			delete(in, p.Key.Boat)
		}
		if in["Heron"] == "booth" && in["Egret"] == "booth" {
			t.Fatalf("both boats are in the booth after %+v", p)
		}
	}
	if s.Boats[1].Finished < 2 {
		t.Errorf("the second boat was not worked on:\n%s\n%s", s, d.kinds("Egret"))
	}
}

// Two boats wanted in one booth at the same hour: one waits outside.
func TestBoothHoldsOneBoat(t *testing.T) {
	heron, egret := byTheBook("Heron"), byTheBook("Egret")
	both := func(d *fakeDaemon) planner.Plan {
		plan := heron(d)
		plan.Stages = append(plan.Stages, egret(d).Stages...)
		return plan
	}
	d := &fakeDaemon{plan: both, opens: always}
	if _, err := Play(t.Context(), optionsOf(t, 3, d, 2, boatOf("Heron", "2026-04-06 09:00"), boatOf("Egret", "2026-04-06 09:00"))); err != nil {
		t.Fatal(err)
	}
	if moved := strings.Count(d.kinds("Heron")+d.kinds("Egret"), "moved"); moved != 1 {
		t.Errorf("%d boats were brought in: %s; %s", moved, d.kinds("Heron"), d.kinds("Egret"))
	}
}

// A boat that came before the play is reported as the play begins, with the day it came.
func TestBoatThatIsHereAlready(t *testing.T) {
	d := &fakeDaemon{plan: byTheBook("Heron"), opens: always}
	if _, err := Play(t.Context(), quick(optionsOf(t, 3, d, 1, boatOf("Heron", "2026-03-20 09:00")))); err != nil {
		t.Fatal(err)
	}
	p := d.presses[0]
	if p.Kind != planner.Arrived || !p.Happened.Equal(time.Date(2026, 3, 20, 9, 0, 0, 0, time.UTC)) || p.Entered.Before(spring) {
		t.Errorf("%+v", p)
	}
}

func TestSameSeedSamePlay(t *testing.T) {
	play := func(seed uint64) (string, uint64) {
		sum := fnv.New64a()
		d := &fakeDaemon{plan: byTheBook("Heron", "Egret"), opens: always}
		o := optionsOf(t, seed, d, 9, boatOf("Heron", "2026-04-06 09:00"), boatOf("Egret", "2026-04-07"))
		o.Send = func(_ context.Context, m Message) error {
			fmt.Fprintf(sum, "%s %s\n", m.Topic, m.Payload)
			return nil
		}
		s, err := Play(t.Context(), o)
		if err != nil {
			t.Fatal(err)
		}
		files, _ := filepath.Glob(filepath.Join(o.ForecastDir, "*.csv"))
		for _, f := range files {
			body, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			sum.Write(body)
		}
		for _, p := range d.presses {
			fmt.Fprintf(sum, "%+v\n", p)
		}
		return s.String(), sum.Sum64()
	}
	text, bytes := play(11)
	if again, sameBytes := play(11); again != text || sameBytes != bytes {
		t.Errorf("one seed, two plays:\n%s\n%s", text, again)
	}
	if _, others := play(12); others == bytes {
		t.Error("two seeds, one play")
	}
}

func TestPlayRefuses(t *testing.T) {
	good := func() Options {
		return optionsOf(t, 1, &fakeDaemon{plan: byTheBook("Heron"), opens: always}, 3, boatOf("Heron", "2026-04-06 09:00"))
	}
	for want, spoil := range map[string]func(*Options){
		"needs Daemon":         func(o *Options) { o.Send = nil },
		"at least one day":     func(o *Options) { o.Days = 0 },
		"multiple":             func(o *Options) { o.SensorsEvery = 7 * time.Minute },
		"the sky reaches":      func(o *Options) { o.Days = 40 },
		"two hours":            func(o *Options) { o.Sky = nil },
		"boat Heron, arrives":  func(o *Options) { o.Boats[0].Arrives = "soon" },
		"arrived of Heron":     func(o *Options) { o.Daemon.(*fakeDaemon).refuse = planner.Arrived },
		"is not a unit of air": func(o *Options) { o.Yard.Sensors[1].Values["air"] = config.Field{Unit: "parsec"} },
	} {
		o := good()
		spoil(&o)
		if _, err := Play(t.Context(), o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %q", err, want)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Play(ctx, good()); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestBoatsMoveToTheMondayBefore(t *testing.T) {
	boats := []config.Boat{boatOf("Heron", "2026-04-08 09:00"), boatOf("Egret", "2026-04-15")}
	boats[1].Areas[0].DoneAt = "2026-04-01" // in the week before
	for start, want := range map[string]string{
		"2026-04-06": "2026-04-08 09:00 2026-04-20 2026-04-15 2026-04-01",
		"2026-04-07": "2026-04-08 09:00 2026-04-20 2026-04-15 2026-04-01",
		"2013-05-01": "2013-05-01 09:00 2013-05-13 2013-05-08 2013-04-24",
	} {
		at, err := time.Parse(dayLayout, start)
		if err != nil {
			t.Fatal(err)
		}
		moved, err := Boats(boats, at)
		if err != nil {
			t.Fatal(err)
		}
		got := fmt.Sprint(moved[0].Arrives, " ", moved[0].Promised, " ", moved[1].Arrives, " ", moved[1].Areas[0].DoneAt)
		if got != want {
			t.Errorf("from %s: %s, want %s", start, got, want)
		}
	}
	if boats[1].Areas[0].DoneAt != "2026-04-01" {
		t.Error("the boats given were changed")
	}
	if _, err := Boats([]config.Boat{{Name: "X", Arrives: "2026-04-08", Promised: "never"}}, spring); err == nil {
		t.Error("a promise of never was read")
	}
}
