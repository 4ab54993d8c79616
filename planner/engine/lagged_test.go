package engine

import (
	"context"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// lagTask is a task of so many slots that uses so many of each crew.
func lagTask(long Slot, uses ...int) Task {
	m := Mode{Place: -1, Long: long, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
	for c, n := range uses {
		if n > 0 {
			m.Uses = append(m.Uses, Use{Crew: c, N: n})
		}
	}
	return Task{Owner: -1, Modes: []Mode{m}}
}

func lagCrew(n int) Crew { return Crew{Hours: []Level{{N: n}}} }

func lagProblem(slots Slot, crews []Crew, tasks []Task, lags ...Lag) *Problem {
	return &Problem{Slots: slots, Crews: crews, Tasks: tasks, Lags: lags, Weights: Weights{Makespan: 1}}
}

func TestLaggedNamed(t *testing.T) {
	one, two := []Crew{lagCrew(1)}, []Crew{lagCrew(2)}
	late := lagTask(2, 1)
	late.Release = 8
	begun := lagTask(2, 1)
	begun.Release, begun.Fixed = 4, true
	cases := map[string]struct {
		problem  *Problem
		starts   []Slot
		conflict *Conflict
	}{
		"one after the other": {lagProblem(20, one, []Task{lagTask(2, 1), lagTask(3, 1)}, Lag{Before: 0, After: 1, Least: 1}),
			[]Slot{0, 3}, nil},
		"the wait is at most none, so the first waits": {lagProblem(20, one, []Task{begun, lagTask(3, 0), lagTask(2, 1)},
			Lag{Before: 1, After: 2, Bounded: true}), []Slot{4, 3, 6}, nil},
		"before it begins": {lagProblem(20, two, []Task{lagTask(3, 1), lagTask(3, 1)}, Lag{Before: 0, After: 1, Least: -2}),
			[]Slot{0, 1}, nil},
		"lags too wide to bind": {lagProblem(20, one, []Task{lagTask(2, 1), lagTask(3, 1)},
			Lag{Before: 0, After: 1, Least: -1 << 40, Bounded: true, Greatest: 1 << 40}, Lag{Before: 1, After: 0}),
			[]Slot{3, 0}, nil},
		"lags that come back too late": {lagProblem(20, one, []Task{lagTask(2, 1), lagTask(3, 1)},
			Lag{Before: 0, After: 1, Least: 2}, Lag{Before: 0, After: 1, Least: -9, Bounded: true, Greatest: 1}),
			nil, &Conflict{Chain: []Link{{Lag: 1, Greatest: true}, {Lag: 0}}, Crew: -1, Lacks: 1}},
		"a fixed start too early for what comes before": {lagProblem(20, one, []Task{lagTask(5, 1), begun}, Lag{Before: 0, After: 1}),
			nil, &Conflict{Chain: []Link{{Lag: 0}}, Tasks: []int{0, 1}, Crew: -1, Lacks: 1}},
		"beyond the horizon":  {lagProblem(9, one, []Task{late}), nil, &Conflict{Tasks: []int{0}, Crew: -1, Lacks: 1}},
		"more than there are": {lagProblem(9, one, []Task{lagTask(1, 0), lagTask(1, 3)}), nil, &Conflict{Tasks: []int{1}, Lacks: 2}},
		"two that must go on together": {lagProblem(20, []Crew{lagCrew(9), lagCrew(3)},
			[]Task{lagTask(4, 1, 2), lagTask(1, 1, 1), lagTask(4, 1, 2)}, Lag{Before: 0, After: 2, Least: -3, Bounded: true, Greatest: -1}),
			nil, &Conflict{Tasks: []int{0, 2}, Crew: 1, Lacks: 1}},
		"two at a time could, but not three": {lagProblem(20, []Crew{lagCrew(2), lagCrew(3), lagCrew(1)},
			[]Task{lagTask(2, 2, 0, 1), lagTask(2, 2, 3, 0), lagTask(2, 0, 2, 1)},
			Lag{Before: 0, After: 1, Least: -5, Bounded: true, Greatest: 1}, Lag{Before: 0, After: 2, Least: -5, Bounded: true, Greatest: 1},
			Lag{Before: 1, After: 2, Least: -5, Bounded: true, Greatest: 1}),
			nil, &Conflict{Tasks: []int{0, 1, 2}, Crew: 2, Lacks: 1}},
		"three that two cannot do by then": {lagProblem(5, two, []Task{lagTask(3, 1), lagTask(3, 1), lagTask(3, 1)}),
			nil, &Conflict{Tasks: []int{0, 1, 2}, Lacks: 1}},
	}
	for name, c := range cases {
		r := laggedOf(c.problem).search(context.Background(), Effort{Rounds: 50})
		if !reflect.DeepEqual(r.Conflict, c.conflict) {
			t.Errorf("%s: %+v, want %+v", name, r.Conflict, c.conflict)
		}
		if c.conflict != nil {
			continue
		}
		var starts []Slot
		for _, s := range r.Starts {
			starts = append(starts, s.Start)
		}
		if faults := lagFaults(c.problem, r.Starts); faults != "" || !slices.Equal(starts, c.starts) || r.Bound != r.Objective {
			t.Errorf("%s: %v (%s), want %v; %d, bound %d", name, starts, faults, c.starts, r.Objective, r.Bound)
		}
	}
}

// What this kernel does not know it leaves alone.
func TestLaggedOf(t *testing.T) {
	if laggedOf(lagProblem(9, []Crew{lagCrew(1)}, []Task{lagTask(1, 1), lagTask(1)}, Lag{Before: 0, After: 1})) == nil {
		t.Fatal("refuses what it is made for")
	}
	for name, change := range map[string]func(p *Problem){
		"two modes":           func(p *Problem) { p.Tasks[0].Modes = append(p.Tasks[0].Modes, p.Tasks[0].Modes[0]) },
		"an owner":            func(p *Problem) { p.Tasks[0].Owner = 0 },
		"a place":             func(p *Problem) { p.Places = []Place{{Room: 1}} },
		"a table of starts":   func(p *Problem) { p.Tasks[0].Modes[0].Starts = 0 },
		"a side":              func(p *Problem) { p.Tasks[0].Modes[0].Sides = []Side{{}} },
		"pauses":              func(p *Problem) { p.Tasks[1].Pauses = true },
		"due":                 func(p *Problem) { p.Tasks[1].Due = &Due{} },
		"hours":               func(p *Problem) { p.Crews[0].Hours = append(p.Crews[0].Hours, Level{From: 4}) },
		"a crew that comes":   func(p *Problem) { p.Crews[0].Hours[0].From = 1 },
		"a table of a lag":    func(p *Problem) { p.Lags[0].Opens = []int{0} },
		"a repair":            func(p *Problem) { p.Lags[0].Bounded, p.Lags[0].Repair = true, &Repair{} },
		"another cost":        func(p *Problem) { p.Weights.Move = 1 },
		"no cost":             func(p *Problem) { p.Weights.Makespan = 0 },
		"more than it can do": func(p *Problem) { p.Slots = lagCells },
	} {
		p := lagProblem(9, []Crew{lagCrew(1)}, []Task{lagTask(1, 1), lagTask(1)}, Lag{Before: 0, After: 1})
		if change(p); laggedOf(p) != nil {
			t.Errorf("%s: not left alone", name)
		}
	}
}

// drawLagged draws a small problem with lags of all kinds.
func drawLagged(t *rapid.T, tasks int, slots Slot, anchored bool) *Problem {
	draw := func(name string, from, to int) int { return rapid.IntRange(from, to).Draw(t, name) }
	p := lagProblem(slots, nil, nil)
	for range draw("crews", 1, 2) {
		p.Crews = append(p.Crews, lagCrew(draw("crew", 2, 4)))
	}
	for range tasks {
		task := lagTask(Slot(draw("long", 0, 3)), draw("uses", 0, 3), draw("uses", 0, 3))
		if m := &task.Modes[0]; len(p.Crews) == 1 && len(m.Uses) > 0 && m.Uses[len(m.Uses)-1].Crew == 1 {
			m.Uses = m.Uses[:len(m.Uses)-1]
		}
		if anchored && draw("anchored", 0, 3) == 0 {
			task.Release, task.Fixed = Slot(draw("release", 0, 4)), draw("fixed", 0, 2) == 0
		}
		p.Tasks = append(p.Tasks, task)
	}
	for range draw("lags", 0, 2*tasks) {
		l := Lag{Before: draw("before", 0, tasks-1), After: draw("after", 0, tasks-1), Least: Slot(draw("least", -6, 2))}
		if l.Bounded = rapid.Bool().Draw(t, "bounded"); l.Bounded {
			l.Greatest = l.Least + Slot(draw("greatest", -1, 4))
		}
		if l.Before != l.After {
			p.Lags = append(p.Lags, l)
		}
	}
	return p
}

// lagExhaust is the least makespan of all schedules, by trying every start; -1 if there is none.
func lagExhaust(p *Problem) int64 {
	best := int64(-1)
	starts := make([]Start, len(p.Tasks))
	var try func(i int)
	try = func(i int) {
		if i == len(p.Tasks) {
			end := int64(0)
			for _, s := range starts {
				end = max(end, int64(s.Finish))
			}
			if (best < 0 || end < best) && lagFaults(p, starts) == "" {
				best = end
			}
			return
		}
		long := p.Tasks[i].Modes[0].Long
	next:
		for s := Slot(0); s+long <= p.Slots; s++ {
			starts[i] = Start{Start: s, Finish: s + long}
			for _, l := range p.Lags {
				if l.Before > i || l.After > i {
					continue
				}
				gap := starts[l.After].Start - starts[l.Before].Finish
				if gap < l.Least || l.Bounded && gap > l.Greatest {
					continue next
				}
			}
			try(i + 1)
		}
	}
	try(0)
	return best
}

// only is p with the crews for some tasks alone, and more of one crew.
func only(p *Problem, tasks []int, crew, more int) *Problem {
	q := *p
	q.Tasks, q.Crews = slices.Clone(p.Tasks), slices.Clone(p.Crews)
	for i := range q.Tasks {
		if !slices.Contains(tasks, i) {
			m := q.Tasks[i].Modes[0]
			m.Uses = nil
			q.Tasks[i].Modes = []Mode{m}
		}
	}
	q.Crews[crew] = lagCrew(p.Crews[crew].Hours[0].N + more)
	return &q
}

// lagChainFault is what is wrong with a chain: its sum, from and to the same task or from a
// release to a fixed start or the horizon, must be as much above nothing as it says.
func lagChainFault(p *Problem, c *Conflict) string {
	sum := Slot(0)
	node := func(l Link, end bool) int {
		if lag := p.Lags[l.Lag]; l.Greatest == end {
			return lag.Before
		} else {
			return lag.After
		}
	}
	for n, l := range c.Chain {
		lag := p.Lags[l.Lag]
		long := p.Tasks[lag.Before].Modes[0].Long
		if l.Greatest {
			sum -= long + lag.Greatest
		} else {
			sum += long + lag.Least
		}
		if n > 0 && node(l, false) != node(c.Chain[n-1], true) {
			return "a gap in the chain"
		}
	}
	if len(c.Tasks) > 0 {
		first, last := c.Tasks[0], c.Tasks[len(c.Tasks)-1]
		if len(c.Chain) > 0 && (node(c.Chain[0], false) != first || node(c.Chain[len(c.Chain)-1], true) != last) {
			return "other ends"
		}
		end := p.Slots - p.Tasks[last].Modes[0].Long
		if p.Tasks[last].Fixed {
			end = min(end, p.Tasks[last].Release)
		}
		sum += max(p.Tasks[first].Release, 0) - end
	} else if node(c.Chain[0], false) != node(c.Chain[len(c.Chain)-1], true) {
		return "no ring"
	}
	if sum != c.Lacks || sum <= 0 {
		return "the sum is not what it says"
	}
	return ""
}

// On small problems the search finds the least makespan, or that there is none, and why.
func TestLaggedExhaustively(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawLagged(t, rapid.IntRange(1, 4).Draw(t, "tasks"), 9, true)
		best := lagExhaust(p)
		r := laggedOf(p).search(context.Background(), Effort{Rounds: 200, Workers: 2})
		c := r.Conflict
		switch {
		case best >= 0:
			if c != nil {
				t.Fatalf("%+v where %d is possible", *c, best)
			}
			if faults := lagFaults(p, r.Starts); faults != "" || r.Objective != best || r.Bound != best {
				t.Fatalf("%v: %s; %d, bound %d, want %d", r.Starts, faults, r.Objective, r.Bound, best)
			}
		case c == nil:
			t.Fatalf("%v where nothing is possible", r.Starts)
		case c.Crew < 0:
			if fault := lagChainFault(p, c); fault != "" {
				t.Fatalf("%+v: %s", *c, fault)
			}
		default:
			if q := only(p, c.Tasks, c.Crew, int(c.Lacks)-1); lagExhaust(q) >= 0 {
				t.Fatalf("%+v is possible", *c)
			}
		}
	})
}

// No task of a conflict can be left out, nor is it said to lack more than it does.
func TestLaggedConflictIsMinimal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawLagged(t, 4, 22, false)
		p.Crews = p.Crews[:1]
		for i := range p.Tasks {
			if m := &p.Tasks[i].Modes[0]; len(m.Uses) > 0 {
				m.Uses = slices.DeleteFunc(m.Uses, func(u Use) bool { return u.Crew > 0 })
			}
		}
		c := laggedOf(p).search(context.Background(), Effort{Rounds: 200}).Conflict
		if c == nil || c.Crew < 0 {
			return
		}
		for n := range c.Tasks {
			if q := only(p, slices.Delete(slices.Clone(c.Tasks), n, n+1), 0, 0); lagExhaust(q) < 0 {
				t.Fatalf("%+v: task %d is not needed", *c, c.Tasks[n])
			}
		}
		if lagExhaust(only(p, c.Tasks, 0, int(c.Lacks))) < 0 || lagExhaust(only(p, c.Tasks, 0, int(c.Lacks)-1)) >= 0 {
			t.Fatalf("%+v: does not lack as much", *c)
		}
	})
}

// A hard instance is stopped by rounds and by schedules, is the same twice with several
// workers, and no bound is over what others have found.
func TestLaggedEffort(t *testing.T) {
	rounds := 90 // the first long enough to forget rules
	for _, u := range readUBOs(t, "ubo50", 3) {
		if u.low == u.best {
			continue
		}
		e := Effort{Rounds: rounds, Workers: 2, Seed: 3}
		rounds = 8
		r := laggedOf(u.problem).search(context.Background(), e)
		if r.Rounds != e.Rounds || r.Bound > u.best || r.Objective < u.low || lagFaults(u.problem, r.Starts) != "" {
			t.Errorf("%s: %d rounds, %d, bound %d", u.name, r.Rounds, r.Objective, r.Bound)
		}
		if again := laggedOf(u.problem).search(context.Background(), e); !reflect.DeepEqual(r, again) {
			t.Errorf("%s: not the same twice", u.name)
		}
		few := laggedOf(u.problem).search(context.Background(), Effort{Rounds: 100, Schedules: 150})
		if few.Schedules < 150 || few.Schedules >= 150+lagRound {
			t.Errorf("%s: %d schedules", u.name, few.Schedules)
		}
	}
}

// A stopped context ends the search with what there is.
func TestLaggedStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	for _, u := range readUBOs(t, "ubo20", 30) {
		r := laggedOf(u.problem).search(ctx, Effort{Rounds: 1000})
		if r.Starts != nil && lagFaults(u.problem, r.Starts) != "" || r.Rounds > len(u.problem.Tasks)+1 {
			t.Errorf("%s: %d rounds, %v", u.name, r.Rounds, r.Starts)
		}
	}
}
