package conditions

import (
	"testing"

	"pgregory.net/rapid"
)

// TestRuns cover all that is open and nothing else, and never touch.
func TestRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		open := rapid.SliceOf(rapid.Bool()).Draw(t, "open")
		covered := make([]bool, len(open))
		last := -1
		for _, run := range Runs(open) {
			if run[0] >= run[1] || run[0] <= last {
				t.Fatalf("%v in %v", run, open)
			}
			last = run[1]
			for i := run[0]; i < run[1]; i++ {
				covered[i] = true
			}
		}
		for i := range open {
			if open[i] != covered[i] {
				t.Fatalf("%d of %v", i, open)
			}
		}
	})
}
