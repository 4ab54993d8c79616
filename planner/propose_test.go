package planner

import (
	"testing"

	"pgregory.net/rapid"
)

// TestSketch: the engine takes the sketch of whatever problem there is, and names each
// block once.
func TestSketch(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m, err := newModel(anyProblem(t))
		if err != nil {
			t.Fatal(err)
		}
		if err := newSketch(m).Valid(); err != nil {
			t.Fatal(err)
		}
		turns, ok := m.propose()
		want := make([]int, len(m.areas))
		for a := range m.areas {
			want[a] = len(blocksOf(m.areas[a].jobs))
		}
		for _, turn := range turns {
			want[turn.area]--
		}
		for a, n := range want {
			if !ok || n != 0 {
				t.Errorf("%v: area %s has %d turns too few", ok, m.areas[a].Name, n)
			}
		}
	})
}
