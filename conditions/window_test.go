package conditions

import (
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// TestWindows: half open, ended by the bound that then binds, by the unknown, or
// by the end of what is known.
func TestWindows(t *testing.T) {
	profile := usual(t)
	rules := Strictest(&profile)
	var verdicts []Verdict
	for i, rh := range []float64{90, 70, 70, 84, 70, -1, 70} {
		m := humid(18, 70, 18)
		if rh > 0 {
			m.DewPoint = DewPoint(18, unit.Humidity(rh))
		} else {
			m.Sure, m.Why = Unknown, "the forecast ends"
		}
		m.At = monday.Add(time.Duration(i) * time.Hour)
		verdicts = append(verdicts, Judge(m, rules))
	}
	got := Windows(verdicts, time.Hour)
	want := []struct {
		from, to float64
		of       Quantity
		why      string
	}{{1, 3, OfMargin, ""}, {4, 5, "", "the forecast ends"}, {6, 7, "", "nothing is known beyond"}}
	if len(got) != len(want) {
		t.Fatalf("%+v", got)
	}
	for i, w := range want {
		g := got[i]
		if !g.From.Equal(after(w.from)) || !g.To.Equal(after(w.to)) || g.Why != w.why || (g.Closes == nil) != (w.of == "") || g.Closes != nil && g.Closes.Of != w.of {
			t.Errorf("window %d: %+v, want %+v", i, g, w)
		}
	}
}

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
