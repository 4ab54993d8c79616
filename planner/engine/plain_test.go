package engine

import (
	"context"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// drawPlain draws a small problem: up to most tasks of up to 4 slots, which may wait for
// earlier ones, and up to three crews.
func drawPlain(most int) *rapid.Generator[*Problem] {
	return rapid.Custom(func(t *rapid.T) *Problem {
		p := &Problem{Slots: 1, Weights: Weights{Makespan: 1}}
		for range rapid.IntRange(0, 3).Draw(t, "crews") {
			p.Crews = append(p.Crews, Crew{Hours: []Level{{0, rapid.IntRange(1, 4).Draw(t, "people")}}})
		}
		for i := range rapid.IntRange(1, most).Draw(t, "tasks") {
			m := Mode{Place: -1, Long: Slot(rapid.IntRange(0, 4).Draw(t, "long")), Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
			for c := range p.Crews {
				if n := rapid.IntRange(0, p.Crews[c].Hours[0].N).Draw(t, "need"); n > 0 {
					m.Uses = append(m.Uses, Use{c, n})
				}
			}
			p.Tasks = append(p.Tasks, Task{Owner: -1, Modes: []Mode{m}})
			p.Slots += m.Long
			for j := range i {
				if rapid.IntRange(0, 3).Draw(t, "waits") == 0 {
					p.Lags = append(p.Lags, Lag{Before: j, After: i})
				}
			}
		}
		return p
	})
}

// shortest tries every start of every task, and so knows the optimum. Tasks wait only
// for those of smaller number.
func shortest(p *Problem) Slot {
	starts, best := make([]Start, len(p.Tasks)), p.Slots+1
	var place func(i int, span Slot)
	place = func(i int, span Slot) {
		if span >= best {
			return
		}
		if _, err := plainSpan(&Problem{Slots: p.Slots, Crews: p.Crews, Tasks: p.Tasks[:i], Lags: lagsUpTo(p, i)}, starts[:i]); err != nil {
			return
		}
		if i == len(p.Tasks) {
			best = span
			return
		}
		long := p.Tasks[i].Modes[0].Long
		for s := Slot(0); s+long <= p.Slots; s++ {
			starts[i] = Start{0, s, s + long, nil, false}
			place(i+1, max(span, s+long))
		}
	}
	place(0, 0)
	return best
}

func lagsUpTo(p *Problem, n int) (lags []Lag) {
	for _, l := range p.Lags {
		if l.Before < n && l.After < n {
			lags = append(lags, l)
		}
	}
	return lags
}

func TestPlainFindsTheOptimumOfSmallProblems(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlain(5).Draw(t, "problem")
		r := plainOf(p).search(context.Background(), Effort{Schedules: 500})
		span, err := plainSpan(p, r.Starts)
		if err != nil {
			t.Fatal(err)
		}
		best := shortest(p)
		if span != best || r.Objective != int64(span) || r.Bound > int64(best) {
			t.Fatalf("%d slots, called %d, bound %d; the optimum is %d", span, r.Objective, r.Bound, best)
		}
	})
}

func TestPlainKeepsToItsEffort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlain(30).Draw(t, "problem")
		e := Effort{
			Schedules: rapid.IntRange(1, 2000).Draw(t, "schedules"),
			Rounds:    rapid.IntRange(0, 8).Draw(t, "rounds"),
			Workers:   rapid.IntRange(0, 3).Draw(t, "workers"),
			Seed:      rapid.Uint64().Draw(t, "seed"),
		}
		r := plainOf(p).search(context.Background(), e)
		if span, err := plainSpan(p, r.Starts); err != nil || int64(span) != r.Objective || r.Bound > r.Objective {
			t.Fatalf("%d slots, called %d, bound %d: %v", span, r.Objective, r.Bound, err)
		}
		if r.Schedules > max(e.Schedules, max(e.Workers, 1)) || e.Rounds > 0 && r.Rounds > e.Rounds {
			t.Fatalf("%d rounds, %d schedules of %+v", r.Rounds, r.Schedules, e)
		}
		if again := plainOf(p).search(context.Background(), e); !reflect.DeepEqual(r, again) {
			t.Fatalf("%+v, and then %+v", r, again)
		}
	})
}

func TestPlainHasAScheduleWhenStoppedAtOnce(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	p := drawPlain(30).Example(1)
	r := plainOf(p).search(ctx, Effort{Rounds: 100})
	if _, err := plainSpan(p, r.Starts); err != nil || r.Rounds != 0 || r.Schedules != 1 {
		t.Errorf("%d rounds, %d schedules: %v", r.Rounds, r.Schedules, err)
	}
}

func TestPlainOf(t *testing.T) {
	two := func() *Problem {
		m := Mode{Place: -1, Long: 3, Uses: []Use{{0, 1}}, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
		n := m
		return &Problem{Slots: 6, Crews: []Crew{{Hours: []Level{{0, 1}}}}, Weights: Weights{Makespan: 1},
			Tasks: []Task{{Owner: -1, Modes: []Mode{m}}, {Owner: -1, Modes: []Mode{n}}}, Lags: []Lag{{Before: 1, After: 0}}}
	}
	if k := plainOf(two()); k == nil || k.bound != 6 {
		t.Fatalf("two tasks in a row are plain: %+v", k)
	}
	for name, more := range map[string]func(p *Problem){
		"nothing to shorten":         func(p *Problem) { p.Weights.Makespan = 0 },
		"a due date":                 func(p *Problem) { p.Tasks[0].Due = &Due{} },
		"a start that was told":      func(p *Problem) { p.Tasks[0].Told = &Told{} },
		"a start that is fixed":      func(p *Problem) { p.Tasks[0].Fixed = true },
		"a release":                  func(p *Problem) { p.Tasks[0].Release = 1 },
		"an owner":                   func(p *Problem) { p.Owners, p.Tasks[0].Owner = make([]Owner, 1), 0 },
		"work that pauses":           func(p *Problem) { p.Tasks[0].Pauses = true },
		"two modes":                  func(p *Problem) { p.Tasks[0].Modes = append(p.Tasks[0].Modes, p.Tasks[0].Modes[0]) },
		"a table of starts":          func(p *Problem) { p.Tasks[0].Modes[0].Starts = 0 },
		"a side":                     func(p *Problem) { p.Tasks[0].Modes[0].Sides = make([]Side, 1) },
		"a lag that takes time":      func(p *Problem) { p.Lags[0].Least = 1 },
		"a greatest lag":             func(p *Problem) { p.Lags[0].Bounded = true },
		"a circle":                   func(p *Problem) { p.Lags = append(p.Lags, Lag{Before: 0, After: 1}) },
		"a crew that goes home":      func(p *Problem) { p.Crews[0].Hours = append(p.Crews[0].Hours, Level{4, 0}) },
		"a crew that comes later":    func(p *Problem) { p.Crews[0].Hours[0].From = 1 },
		"more people than there are": func(p *Problem) { p.Tasks[0].Modes[0].Uses[0].N = 2 },
		"a horizon that may not do":  func(p *Problem) { p.Slots = 5 },
		"more crews than lanes": func(p *Problem) {
			for c := 1; c < 40; c++ {
				p.Crews = append(p.Crews, Crew{Hours: []Level{{0, 1}}})
				p.Tasks[0].Modes[0].Uses = append(p.Tasks[0].Modes[0].Uses, Use{c, 1})
			}
		},
	} {
		p := two()
		if more(p); plainOf(p) != nil {
			t.Error(name, "is not plain")
		}
	}
}

func TestPlainStepsAllocateNothing(t *testing.T) {
	k := plainOf(drawPlain(30).Example(1))
	w := newWalk(k, 3, 1)
	if n := testing.AllocsPerRun(1000, w.step); n != 0 {
		t.Errorf("a step allocates %v times", n)
	}
}

// TestPlainBound: three tasks of five slots that one person does take fifteen, though
// no chain is longer than five; three slots and then five take eight.
func TestPlainBound(t *testing.T) {
	task := func(long Slot, uses ...Use) Task {
		return Task{Owner: -1, Modes: []Mode{{Place: -1, Long: long, Uses: uses, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}}}
	}
	one := Use{Crew: 0, N: 1}
	crowded := &Problem{Slots: 40, Crews: []Crew{{Hours: []Level{{N: 1}}}}, Tasks: []Task{task(5, one), task(5, one), task(5, one)}, Weights: Weights{Makespan: 1}}
	chained := &Problem{Slots: 40, Tasks: []Task{task(3), task(5)}, Lags: []Lag{{Before: 0, After: 1}}, Weights: Weights{Makespan: 1}}
	for want, p := range map[int32]*Problem{15: crowded, 8: chained} {
		k := plainOf(p)
		if k == nil {
			t.Fatal("not plain")
		}
		if got := k.least(p); got != want {
			t.Errorf("bound %d, want %d", got, want)
		}
	}
}
