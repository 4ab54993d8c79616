package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"
	"pgregory.net/rapid"

	"fairwindow/notify"
	"fairwindow/planner"
	"fairwindow/sensors"
)

func TestCommittedTwiceCountsOnce(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	first := commit(t, s, whole())
	if len(first.Readings) != 2 || first.Readings[1].ID == 0 || first.Repeats != 0 || len(first.Presses) != 1 ||
		first.Presses[0].ID == 0 || len(first.Notices) != 2 || first.Plan == 0 || len(first.Forecasts) != 1 {
		t.Fatalf("first: %+v", first)
	}
	before := census(t, s)
	second := commit(t, s, whole())
	if len(second.Readings) != 0 || second.Repeats != 2 || len(second.Presses) != 0 || len(second.Notices) != 0 {
		t.Errorf("second: %+v", second)
	}
	if second.Plan != first.Plan || !slices.Equal(second.Forecasts, first.Forecasts) {
		t.Errorf("plan %d and forecasts %v became %d and %v", first.Plan, first.Forecasts, second.Plan, second.Forecasts)
	}
	if after := census(t, s); after != before {
		t.Errorf("%+v became %+v", before, after)
	}
}

func TestAFailingPartRollsAllBack(t *testing.T) {
	t.Parallel()
	faults := map[string]func(*Change){
		"a change without a time":        func(c *Change) { c.At = time.Time{} },
		"a reading without a key":        func(c *Change) { c.Readings[1].Key = "" },
		"a forecast without a source":    func(c *Change) { c.Forecasts[0].Forecast.Source = "" },
		"a boat that is not there":       func(c *Change) { c.Boats[0].Revision = 7 },
		"a boat without a name":          func(c *Change) { c.Boats[0].Boat.Name = "" },
		"a press without a boat":         func(c *Change) { c.Presses[0].Key.Boat = "" },
		"a press id used for two things": func(c *Change) { c.Presses = append(c.Presses, c.Presses[0]); c.Presses[1].Kind = planner.Launched },
		"a plan with no JSON form":       func(c *Change) { c.Plan.Plan.Stages[0].Chance = math.NaN() },
		"a release of no plan":           func(c *Change) { c.Release = &Release{Plan: 99} },
		"a memory that is not JSON":      func(c *Change) { c.Memory["cycle"] = json.RawMessage("{") },
		"a notice without an id":         func(c *Change) { c.Notices[1].ID = "" },
		"a notice with no JSON form":     func(c *Change) { c.Notices[1].Cause.Value = math.Inf(1) },
	}
	s := open(t, t.TempDir())
	for name, spoil := range faults {
		t.Run(name, func(t *testing.T) {
			c := whole()
			spoil(&c)
			if _, err := s.Commit(t.Context(), c); err == nil {
				t.Error("kept")
			}
			if got := census(t, s); got != (count{}) {
				t.Errorf("left behind: %+v", got)
			}
		})
	}
	commit(t, s, whole()) // and the store still works
}

// However commits are repeated, mixed and refused, each key is there once, its
// notice with it, and what was refused is not.
func TestAnyInterleavingKeepsEachKeyOnce(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	empty := filepath.Join(dir, "empty")
	open(t, empty).Close()
	round := 0
	rapid.Check(t, func(t *rapid.T) {
		round++
		own := filepath.Join(dir, fmt.Sprint(round))
		if err := os.CopyFS(own, os.DirFS(empty)); err != nil { // the steps of the schema are walked once
			t.Fatal(err)
		}
		s, err := Open(own)
		if err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		unsynced(t, s)
		kept, order := map[int]bool{}, []string{}
		for range rapid.IntRange(1, 12).Draw(t, "commits") {
			keys := rapid.SliceOfN(rapid.IntRange(0, 9), 0, 6).Draw(t, "keys")
			refused := rapid.IntRange(0, 4).Draw(t, "refused") == 0
			c := Change{At: noon}
			for _, k := range keys {
				p := press(planner.Started, fmt.Sprint("stage ", k), noon)
				p.Once = fmt.Sprint(k)
				c.Readings, c.Notices, c.Presses = append(c.Readings, reading(k)), append(c.Notices, notice(k)), append(c.Presses, p)
			}
			if refused {
				c.Memory = map[string]json.RawMessage{"x": json.RawMessage("no")}
			}
			done, err := s.Commit(t.Context(), c)
			if (err != nil) != refused {
				t.Fatalf("refused %v: %v", refused, err)
			}
			if refused {
				continue
			}
			var fresh []string
			for _, k := range keys {
				if !kept[k] {
					kept[k] = true
					fresh = append(fresh, notice(k).ID)
				}
			}
			order = append(order, fresh...)
			if len(done.Readings) != len(fresh) || done.Repeats != len(keys)-len(fresh) || len(done.Presses) != len(fresh) || !slices.Equal(ids(done.Notices), fresh) {
				t.Fatalf("of %v fresh: %+v", fresh, done)
			}
		}
		readings, err1 := s.Readings(t.Context(), Query{})
		presses, err2 := s.Presses(t.Context())
		unsent, err3 := s.Unsent(t.Context(), 0)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		var want, got []string
		for _, k := range slices.Sorted(maps.Keys(kept)) {
			want = append(want, reading(k).Key)
		}
		for _, r := range readings {
			got = append(got, r.Key)
		}
		if !slices.Equal(got, want) || len(presses) != len(want) || !slices.Equal(ids(unsent), order) {
			t.Fatalf("readings %v, presses %d, notices %v; want %v and %v", got, len(presses), ids(unsent), want, order)
		}
	})
}

// Many write the same keys while others read: nobody is refused, nothing doubles.
func TestManyAtOnce(t *testing.T) {
	t.Parallel()
	const workers, keys = 4, 40
	s := open(t, t.TempDir())
	fresh := make(chan int, workers)
	var all errgroup.Group
	for range workers {
		all.Go(func() error {
			n := 0
			defer func() { fresh <- n }()
			for i := range keys {
				done, err := s.Commit(t.Context(), Change{At: noon, Readings: []sensors.Reading{reading(i)}, Notices: []notify.Notice{notice(i)}})
				if err != nil {
					return err
				}
				n += len(done.Readings)
				if got, err := s.Readings(t.Context(), Query{To: reading(i + 1).At}); err != nil || len(got) != i+1 {
					return fmt.Errorf("after %d commits %d readings, %w", i+1, len(got), err)
				}
			}
			return nil
		})
	}
	if err := all.Wait(); err != nil {
		t.Fatal(err)
	}
	total := 0
	for range workers {
		total += <-fresh
	}
	if got := census(t, s); total != keys || got.readings != keys || got.notices != keys {
		t.Errorf("%d said to be new; %+v", total, got)
	}
}

func ids(notices []notify.Notice) []string {
	var all []string
	for _, n := range notices {
		all = append(all, n.ID)
	}
	return all
}

func BenchmarkCommitOneReading(b *testing.B)      { benchmarkReadings(b, 1) }
func BenchmarkCommitHundredReadings(b *testing.B) { benchmarkReadings(b, 100) }

func benchmarkReadings(b *testing.B, batch int) {
	s := open(b, b.TempDir())
	next := 0
	for b.Loop() {
		c := Change{At: noon, Readings: make([]sensors.Reading, batch)}
		for i := range c.Readings {
			c.Readings[i] = reading(next)
			next++
		}
		if _, err := s.Commit(b.Context(), c); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(next)/b.Elapsed().Seconds(), "readings/s")
}
