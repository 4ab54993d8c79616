package service

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/conditions"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/sensors"
)

var yearDays = flag.Int("days", 20, "days of readings that BenchmarkYear fills its store with; 365 for the whole year")

const yearFolder = "FAIRWINDOW_YEAR_TEST_FOLDER"

// BenchmarkYear is what a year of fifty sensors that speak each minute takes: on the
// disk, with what the yard's retention leaves of it, and to start on. Fewer days are
// filled in by default, and MB/year is then reckoned from the bytes of a raw reading and
// of an hour: 90 days of the ones, a year of the others. Every tenth day is evidence.
func BenchmarkYear(b *testing.B) {
	for range b.N {
		r := newRig(b, busyYard())
		kept, err := store.Open(r.state)
		if err != nil {
			b.Fatal(err)
		}
		begun, count := time.Now(), 0
		start := monday.Add(-time.Duration(*yearDays) * 24 * time.Hour)
		for day := range *yearDays {
			from := start.Add(time.Duration(day) * 24 * time.Hour)
			for hour := range 24 {
				c := store.Change{At: from}
				for minute := range 60 {
					now := from.Add(time.Duration(hour*60+minute) * time.Minute)
					for n := range busySensors {
						one := busyReading(n, count+n, now)
						one.Received = now.Add(1500 * time.Millisecond)
						one.Values[conditions.Surface] = wavers(count/7 + n)
						c.Readings = append(c.Readings, one)
					}
					count += busySensors
				}
				if day%10 == 0 && hour == 12 {
					c.Presses = []planner.Press{{Kind: planner.Started, Key: planner.Key{Boat: "Boat One", Area: fmt.Sprint("old ", day), Stage: "coat"},
						Place: "shed 1", Happened: from, Entered: from, By: "x", Once: fmt.Sprint(day)}}
				}
				if _, err := kept.Commit(b.Context(), c); err != nil {
					b.Fatal(err)
				}
			}
			if day%10 == 9 {
				if _, err := kept.Prune(b.Context(), store.Keep{ReadingsBefore: from.Add(-90 * 24 * time.Hour)}); err != nil {
					b.Fatal(err)
				}
			}
		}
		b.ReportMetric(float64(count)/time.Since(begun).Seconds(), "filled/s")
		if err := kept.Close(); err != nil {
			b.Fatal(err)
		}
		size := megabytes(b, r.state)
		b.ReportMetric(size, "MB")
		b.ReportMetric(0, "ns/op")
		if *yearDays < 90 {
			year := size / float64(*yearDays) * 90 // the hours are counted in the whole year's run only
			b.ReportMetric(year, "MB-of-90-days")
		}
		ms, rss := child(b, r.state)
		b.ReportMetric(ms, "ms-to-ready")
		b.ReportMetric(rss, "RSS-MB")
		r.start()
		begun = time.Now()
		past, err := r.svc.Past(b.Context(), "shed 1", start, monday)
		if err != nil || len(past) == 0 {
			b.Fatalf("%d, %v", len(past), err)
		}
		b.ReportMetric(float64(time.Since(begun).Milliseconds()), "ms-all-of-a-place")
		begun = time.Now()
		if _, err := r.svc.Past(b.Context(), "shed 1", monday.Add(-24*time.Hour), monday); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(time.Since(begun).Milliseconds()), "ms-a-day-of-a-place")
		first, p99 := placeTimes(b, r)
		b.ReportMetric(first, "ms-first-place-page")
		b.ReportMetric(p99, "ms-place-page-p99")
		r.halt()
	}
}

// placeTimes is how long what a place's page asks for takes, ms: the first time, and of a
// hundred more, as its readings go on coming in, all but the slowest.
func placeTimes(b *testing.B, r *rig) (first, p99 float64) {
	b.Helper()
	ctx, now := b.Context(), monday
	var took []float64
	for n := range 101 {
		var minute []sensors.Reading
		for s := range busySensors {
			one := busyReading(s, n, now.Add(-time.Second))
			one.Key = fmt.Sprint("page ", s, n)
			minute = append(minute, one)
		}
		if err := r.svc.TakeReadings(ctx, minute); err != nil {
			b.Fatal(err)
		}
		begun := time.Now()
		_, err1 := r.svc.Past(ctx, "shed 1", now.Add(-24*time.Hour), now)
		_, err2 := r.svc.Judged(ctx, "shed 1", now.Add(-24*time.Hour), now.Add(48*time.Hour))
		_, err3 := r.svc.Heard(ctx, "shed 1", now.Add(-24*time.Hour), now)
		_, err4 := r.svc.Accounts(ctx, "shed 1")
		took = append(took, float64(time.Since(begun).Microseconds())/1000)
		if err := errors.Join(err1, err2, err3, err4); err != nil {
			b.Fatal(err)
		}
	}
	first = took[0]
	rest := took[1:]
	slices.Sort(rest)
	return first, rest[98]
}

// megabytes is what the database takes.
func megabytes(b *testing.B, dir string) float64 {
	b.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "fairwindow.db*"))
	if err != nil {
		b.Fatal(err)
	}
	var sum int64
	for _, name := range files {
		info, err := os.Stat(name)
		if err != nil {
			b.Fatal(err)
		}
		sum += info.Size()
	}
	return float64(sum) / 1e6
}

// child starts a service on a store in a process of its own, and says how long it took
// and how much memory it holds once it has planned and been asked for a day of each place.
func child(b *testing.B, dir string) (ms, rss float64) {
	b.Helper()
	run := exec.Command(os.Args[0], "-test.run=^TestChildThatStarts$")
	run.Env = append(os.Environ(), yearFolder+"="+dir)
	run.Stderr = os.Stderr
	out, err := run.StdoutPipe()
	if err != nil {
		b.Fatal(err)
	}
	if err := run.Start(); err != nil {
		b.Fatal(err)
	}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		_, _ = fmt.Sscanf(lines.Text(), "ready after %f ms, holds %f MB", &ms, &rss)
	}
	if err := run.Wait(); err != nil {
		b.Fatal(err)
	}
	return ms, rss
}

// TestChildThatStarts is the process that BenchmarkYear starts.
func TestChildThatStarts(t *testing.T) {
	dir := os.Getenv(yearFolder)
	if dir == "" {
		t.Skip("runs only as the child of BenchmarkYear")
	}
	r := newRig(t, busyYard())
	r.state = dir
	options := r.options()
	options.Clock, options.Played = clockwork.NewFakeClockAt(monday), false
	begun := time.Now()
	svc, err := New(context.Background(), options)
	if err != nil {
		t.Fatal(err)
	}
	ready := time.Since(begun)
	debug.SetGCPercent(GCPercent)
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- svc.Run(ctx) }()
	for n := range 600 { // a day's ten hours more, each minute as it comes
		var minute []sensors.Reading
		for s := range busySensors {
			minute = append(minute, busyReading(s, n, monday.Add(time.Duration(n)*time.Second/10)))
		}
		if err := svc.TakeReadings(ctx, minute); err != nil {
			t.Fatal(err)
		}
	}
	for n := range 5 {
		if _, err := svc.Past(ctx, fmt.Sprint("shed ", n+1), monday.Add(-24*time.Hour), monday); err != nil {
			t.Fatal(err)
		}
	}
	fmt.Printf("ready after %f ms, holds %f MB\n", float64(ready.Microseconds())/1000, resident(t))
	stop()
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	if err := svc.Close(context.Background()); err != nil {
		t.Fatal(err)
	}
}

// resident is the memory of this process, MB.
func resident(t *testing.T) float64 {
	t.Helper()
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Skip("no /proc here")
	}
	for _, line := range strings.Split(string(text), "\n") {
		if kb, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			n, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(kb, "kB")), 64)
			if err != nil {
				t.Fatal(err)
			}
			return n / 1000
		}
	}
	t.Fatal("no VmRSS")
	return 0
}
