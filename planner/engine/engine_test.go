package engine

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestGrid(t *testing.T) {
	g := Grid{Origin: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), Step: 5 * time.Minute, Slots: 100}
	for _, c := range []struct {
		after       time.Duration
		floor, ceil Slot
	}{{0, 0, 0}, {time.Minute, 0, 1}, {5 * time.Minute, 1, 1}, {-time.Second, -1, 0}, {-5 * time.Minute, -1, -1}, {-6 * time.Minute, -2, -1}} {
		at := g.Origin.Add(c.after)
		if f, e := g.Floor(at), g.Ceil(at); f != c.floor || e != c.ceil {
			t.Errorf("%v: floor %d, ceil %d; want %d, %d", c.after, f, e, c.floor, c.ceil)
		}
	}
	if n := g.Steps(11 * time.Minute); n != 3 {
		t.Errorf("11 minutes are %d steps", n)
	}
}

// days is a crew of n from slot 10 to 20 of every 40.
func days(n int) *Timetable {
	t := NewTimetable(200, 0)
	for s := Slot(10); s < 200; s += 40 {
		t.Raise(s, s+10, n)
	}
	return t
}

func TestSpread(t *testing.T) {
	busy := func(from, to Slot) func(a, b Slot) Slot {
		return func(a, b Slot) Slot {
			if a < to && b > from {
				return min(b, to) - 1
			}
			return None
		}
	}
	cases := map[string]struct {
		from Slot
		work Work
		want []Span
	}{
		"within one shift":       {12, Work{Slots: 5, Need: 1}, []Span{{12, 17}}},
		"over the night":         {15, Work{Slots: 9, Need: 1}, []Span{{15, 20}, {50, 54}}},
		"not at night":           {30, Work{Slots: 1, Need: 1}, nil},
		"too few people":         {12, Work{Slots: 5, Need: 3}, nil},
		"too little is left":     {19, Work{Slots: 9, Need: 1, Least: 3}, nil},
		"the rest may be short":  {15, Work{Slots: 6, Need: 1, Least: 3}, []Span{{15, 20}, {50, 51}}},
		"later parts wait":       {15, Work{Slots: 9, Need: 1, Blocked: busy(50, 53)}, []Span{{15, 20}, {53, 57}}},
		"longer than the grid":   {10, Work{Slots: 51, Need: 1}, nil},
		"blocked where it begin": {15, Work{Slots: 9, Need: 1, Blocked: busy(16, 17)}, nil},
	}
	for name, c := range cases {
		if got := days(2).Spread(c.from, c.work); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// Fit and Lack agree with looking at every slot.
func TestFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := NewTimetable(60, rapid.IntRange(0, 3).Draw(t, "people"))
		for range rapid.IntRange(0, 6).Draw(t, "bookings") {
			from := Slot(rapid.IntRange(0, 55).Draw(t, "from"))
			table.Take(from, from+Slot(rapid.IntRange(1, 8).Draw(t, "long")), 1)
		}
		from, length := Slot(rapid.IntRange(0, 60).Draw(t, "at")), Slot(rapid.IntRange(1, 12).Draw(t, "length"))
		need := rapid.IntRange(1, 3).Draw(t, "need")
		want := None
		for s := from; s+length <= 60 && want == None; s++ {
			ok := true
			for q := s; q < s+length; q++ {
				ok = ok && table.Free(q) >= need
			}
			if ok {
				want = s
			}
		}
		if got := table.Fit(from, 60, length, need); got != want {
			t.Errorf("%d, want %d", got, want)
		}
	})
}

func TestOpensAndCloses(t *testing.T) {
	d := days(1)
	if d.Opens(0) != 10 || d.Opens(12) != 12 || d.Opens(20) != 50 || d.Opens(180) != None {
		t.Error(d.Opens(0), d.Opens(12), d.Opens(20), d.Opens(180))
	}
	if d.Closes(12) != 20 || d.Closes(30) != 30 {
		t.Error(d.Closes(12), d.Closes(30))
	}
	d.Raise(20, 30, 1) // overtime
	if d.Closes(12) != 30 {
		t.Error("overtime is not seen")
	}
}

// The order with the fewest inversions is found from a poor start, and the same every time.
func TestSearch(t *testing.T) {
	inversions := func(order []int) int64 {
		n := int64(0)
		for i := range order {
			for j := i + 1; j < len(order); j++ {
				if order[i] > order[j] {
					n++
				}
			}
		}
		return n
	}
	got := Search([][]int{{4, 3, 2, 1, 0}}, 200, inversions)
	if !slices.IsSorted(got) {
		t.Errorf("%v", got)
	}
	tried := 0
	Search([][]int{{2, 1, 0}, {0, 2, 1}}, 2, func(order []int) int64 { tried++; return inversions(order) })
	if tried > 4 {
		t.Errorf("%d orders tried with 2 rounds beyond the first 2", tried)
	}
	if got := Search(nil, 5, inversions); got != nil {
		t.Errorf("%v from nothing", got)
	}
}
