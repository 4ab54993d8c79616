package service

import (
	"math"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"testing"
	"time"
)

const leakEnv = "FAIRWINDOW_LEAK_CHILD"

// again runs one test in a process of its own.
func again(t *testing.T, name string) {
	t.Helper()
	child := exec.CommandContext(t.Context(), os.Args[0], "-test.run="+name, "-test.v")
	child.Env = append(os.Environ(), leakEnv+"=1")
	out, err := child.CombinedOutput()
	if err != nil {
		t.Fatalf("%v:\n%s", err, out)
	}
	for line := range strings.Lines(string(out)) {
		if strings.Contains(line, "goroutines ") {
			t.Log(strings.TrimSpace(line))
		}
	}
}

// TestStartsAndStops: started and stopped twenty times, with readings, presses and plans
// between, the service leaves no goroutine and no open file behind.
func TestStartsAndStops(t *testing.T) {
	if testing.Short() {
		t.Skip("starts twenty times")
	}
	t.Parallel()
	if os.Getenv(leakEnv) == "" {
		// Alone in a process of its own: the tests beside it start and stop services too.
		again(t, "^TestStartsAndStops$")
		return
	}
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	turn := func() {
		r.measuring(r.clock.Now().Add(r.tick), good)
		r.pin(int(r.clock.Now().Unix() / 300))
		r.until(r.clock.Now().Add(r.tick))
		r.halt()
	}
	turn()
	goroutines, files := settledAt(t, 0, 0, 5)
	for range 20 {
		r.start()
		turn()
	}
	// What a library keeps at hand, such as a pool's spare, may differ by a few; a leak
	// in every start would be twenty.
	n, open := settledAt(t, goroutines+5, files+5, 500)
	t.Logf("goroutines %d, then %d; open files %d, then %d", goroutines, n, files, open)
	if n > goroutines+5 {
		stacks := make([]byte, 1<<20)
		t.Errorf("%d goroutines after 20 more starts, %d before:\n%s", n, goroutines, stacks[:runtime.Stack(stacks, true)])
	}
	if open > files+5 {
		t.Errorf("%d open files after 20 more starts, %d before", open, files)
	}
}

// settledAt counts goroutines and open files, when those that are about to end have: when
// there are no more than were hoped for, or no fewer at so many looks.
func settledAt(t *testing.T, hoped, hopedFiles, looks int) (goroutines, files int) {
	t.Helper()
	goroutines = math.MaxInt
	for same := 0; same < looks; same++ {
		runtime.GC()
		open, err := os.ReadDir("/proc/self/fd")
		if err != nil && !strings.Contains(err.Error(), "no such file") {
			t.Fatal(err)
		}
		if n := runtime.NumGoroutine(); n < goroutines {
			goroutines, same = n, 0
		}
		if files = len(open); goroutines <= hoped && files <= hopedFiles {
			break
		}
		<-time.After(20 * time.Millisecond)
	}
	return goroutines, files
}
