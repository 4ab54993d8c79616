package engine

import (
	"reflect"
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

// A timetable answers as one that keeps every slot would, whatever was raised, taken
// and given back, at the grid's ends too.
func TestTimetable(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const slots = 40
		slot := func(name string) Slot { return Slot(rapid.IntRange(-3, slots+3).Draw(t, name)) }
		capacity := rapid.IntRange(0, 2).Draw(t, "capacity")
		table := NewTimetable(slots, capacity)
		var there, taken [slots]int
		for s := range there {
			there[s] = capacity
		}
		for range rapid.IntRange(0, 12).Draw(t, "changes") {
			from, to, n := slot("from"), slot("to"), rapid.IntRange(-2, 2).Draw(t, "n")
			of, change := &taken, table.Take
			if rapid.Bool().Draw(t, "raise") {
				of, change = &there, table.Raise
			}
			change(from, to, n)
			for s := max(from, 0); s < min(to, slots); s++ {
				of[s] += n
			}
			if rapid.IntRange(0, 7).Draw(t, "reset") == 0 {
				table.Reset()
				clear(taken[:])
			}
		}
		last := func(from, to Slot, is func(Slot) bool) Slot {
			for s := to - 1; s >= max(from, 0); s-- {
				if s >= slots || is(s) {
					return s
				}
			}
			return None
		}
		from, to, n := slot("asked from"), slot("asked to"), rapid.IntRange(1, 3).Draw(t, "need")
		lack := last(from, to, func(s Slot) bool { return there[s]-taken[s] < n })
		if to > slots {
			lack = to - 1
		}
		if got := table.Lack(from, to, n); got != lack {
			t.Errorf("lack %d, want %d", got, lack)
		}
		used := last(from, min(to, slots), func(s Slot) bool { return taken[s] > 0 })
		if got := table.Taken(from, to); got != used {
			t.Errorf("taken %d, want %d", got, used)
		}
		for s := Slot(-2); s < slots+2; s++ {
			in := s >= 0 && s < slots
			if got := table.There(s); got != (in && there[s] > 0) {
				t.Errorf("there at %d: %v", s, got)
			}
			if got := table.Free(s); in && got != there[s]-taken[s] || !in && got != 0 {
				t.Errorf("free at %d: %d", s, got)
			}
			closes, opens := s, max(s, 0)
			for closes >= 0 && closes < slots && there[closes] > 0 {
				closes++
			}
			for opens < slots && there[opens] <= 0 {
				opens++
			}
			if opens >= slots {
				opens = None
			}
			if c, o := table.Closes(s), table.Opens(s); c != closes || o != opens {
				t.Errorf("at %d: closes %d, opens %d; want %d, %d", s, c, o, closes, opens)
			}
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
