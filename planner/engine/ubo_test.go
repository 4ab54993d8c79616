package engine

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"
)

// readUBO reads a file of the generator ProGen/max (Schwindt 1998): a line of counts, one
// for each task with its followers and the lags from start to start, one for each task with
// its length and what it uses, and the crews. The first and the last task are only marks.
func readUBO(text string) (*Problem, error) {
	text = strings.NewReplacer("[", " ", "]", " ").Replace(text)
	var n []int
	for _, f := range strings.Fields(text) {
		i, err := strconv.Atoi(f)
		if err != nil {
			return nil, err
		}
		n = append(n, i)
	}
	next := func() int {
		if len(n) == 0 {
			n = []int{-1}
		}
		i := n[0]
		n = n[1:]
		return i
	}
	tasks, crews := next()+2, next()
	next()
	next()
	p := &Problem{Weights: Weights{Makespan: 1}}
	for range tasks {
		id, _, followers := next(), next(), next()
		first := len(p.Lags)
		for range followers {
			p.Lags = append(p.Lags, Lag{Before: id, After: next()})
		}
		for i := first; i < len(p.Lags); i++ {
			p.Lags[i].Least = Slot(next())
		}
	}
	for id := range tasks {
		if at, _ := next(), next(); at != id {
			return nil, fmt.Errorf("task %d where %d should be", at, id)
		}
		m := Mode{Place: -1, Long: Slot(next()), Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
		for c := range crews {
			if u := next(); u > 0 {
				m.Uses = append(m.Uses, Use{Crew: c, N: u})
			}
		}
		p.Tasks = append(p.Tasks, Task{Name: strconv.Itoa(id), Owner: -1, Modes: []Mode{m}})
		p.Slots += m.Long
	}
	for range crews {
		p.Crews = append(p.Crews, Crew{Hours: []Level{{N: next()}}})
	}
	for i := range p.Lags {
		l := &p.Lags[i]
		p.Slots += max(l.Least, 0)
		l.Least -= p.Tasks[l.Before].Modes[0].Long
	}
	if len(n) > 0 {
		return nil, fmt.Errorf("%d numbers too many", len(n))
	}
	return p, nil
}

// ubo is one published instance and what is known of it.
type ubo struct {
	name       string
	problem    *Problem
	infeasible bool
	low, best  int64
}

// readUBOs reads a set: those of it that are known to have a schedule, or to have none.
func readUBOs(t testing.TB, set string, stride int) []ubo {
	dir := benchDir(t)
	table, err := os.ReadFile(filepath.Join(dir, "best_known", "rcpspmax_ours.csv"))
	if err != nil {
		t.Fatal(err)
	}
	var list []ubo
	count := 0
	for _, line := range strings.Split(string(table), "\n") {
		f := strings.Split(line, ",")
		if f[0] != set {
			continue
		}
		if count++; (count-1)%stride != 0 {
			continue
		}
		text, err := os.ReadFile(filepath.Join(dir, "rcpspmax", set, f[1]+".sch"))
		if err != nil {
			t.Fatal(err)
		}
		p, err := readUBO(string(text))
		if err != nil {
			t.Fatalf("%s/%s: %v", set, f[1], err)
		}
		u := ubo{name: set + "/" + f[1], problem: p, infeasible: f[2] == "infeasible"}
		if !u.infeasible {
			if u.low, err = strconv.ParseInt(f[3], 10, 64); err == nil {
				u.best, err = strconv.ParseInt(f[4], 10, 64)
			}
			if err != nil {
				t.Fatalf("%s: %v", u.name, err)
			}
		}
		list = append(list, u)
	}
	return list
}

// A dozen instances of the smallest published set, proved; the same twice.
func TestLaggedPublished(t *testing.T) {
	for _, u := range readUBOs(t, "ubo10", 8) {
		r := laggedOf(u.problem).search(context.Background(), Effort{Rounds: 100})
		switch {
		case u.infeasible:
			if r.Conflict == nil || r.Starts != nil {
				t.Errorf("%s: not recognised", u.name)
			}
		case r.Objective != u.best || r.Bound != u.best || lagFaults(u.problem, r.Starts) != "":
			t.Errorf("%s: %d, bound %d, want %d", u.name, r.Objective, r.Bound, u.best)
		}
		if again := laggedOf(u.problem).search(context.Background(), Effort{Rounds: 100}); !reflect.DeepEqual(r, again) {
			t.Errorf("%s: not the same twice", u.name)
		}
	}
}

// publishedLags reports the literature's figures for a set of Franck, Neumann &
// Schwindt (2001): the mean gap to the best makespan known (below nothing if ours is better),
// how many of the instances that have a schedule got one, how many of those that have none
// were recognised, and how many makespans were proved to be the least.
func publishedLags(b *testing.B, set string) {
	b.Run("5s", func(b *testing.B) {
		list := readUBOs(b, set, *sample)
		for b.Loop() {
			var sum lagSum
			for _, u := range list {
				ctx, stop := context.WithTimeout(b.Context(), 5*time.Second)
				sum.add(b, u, laggedOf(u.problem).search(ctx, Effort{Rounds: 1 << 30}))
				stop()
			}
			b.ReportMetric(100*sum.gap/max(sum.found, 1), "pct")
			b.ReportMetric(100*sum.found/max(sum.feasible, 1), "feasible%")
			b.ReportMetric(100*sum.recognised/max(sum.infeasible, 1), "recognised%")
			b.ReportMetric(100*sum.proved/max(sum.found, 1), "proved%")
		}
	})
}

// lagSum is what came of the instances of a set.
type lagSum struct{ feasible, found, proved, gap, infeasible, recognised float64 }

// add counts one more; a false answer ends the benchmark.
func (s *lagSum) add(b *testing.B, u ubo, r Result) {
	if u.infeasible {
		s.infeasible++
		if r.Starts != nil {
			b.Fatalf("%s: a schedule where there is none", u.name)
		}
		if r.Conflict != nil {
			s.recognised++
		}
		return
	}
	s.feasible++
	if r.Conflict != nil || r.Bound > u.best {
		b.Fatalf("%s: %+v, bound %d, where %d is possible", u.name, r.Conflict, r.Bound, u.best)
	}
	if r.Starts == nil {
		return
	}
	if faults := lagFaults(u.problem, r.Starts); faults != "" {
		b.Fatalf("%s: %s", u.name, faults)
	}
	s.found++
	s.gap += float64(r.Objective-u.best) / float64(u.best)
	if r.Bound == r.Objective {
		s.proved++
	}
	if r.Objective != u.best {
		b.Logf("%s: %d, bound %d; known %d…%d", u.name, r.Objective, r.Bound, u.low, u.best)
	}
}

// lagFaults is what is wrong with starts, by the definition alone.
func lagFaults(p *Problem, starts []Start) string {
	if len(starts) != len(p.Tasks) {
		return "not as many starts as tasks"
	}
	for i, s := range starts {
		t := &p.Tasks[i]
		if s.Mode != 0 || s.Start < max(t.Release, 0) || t.Fixed && s.Start != t.Release ||
			s.Finish != s.Start+t.Modes[0].Long || s.Finish > p.Slots {
			return "task " + t.Name
		}
	}
	for _, l := range p.Lags {
		gap := starts[l.After].Start - starts[l.Before].Finish
		if gap < l.Least || l.Bounded && gap > l.Greatest {
			return "lag from " + p.Tasks[l.Before].Name + " to " + p.Tasks[l.After].Name
		}
	}
	for c, crew := range p.Crews {
		taken := map[Slot]int{}
		for i, s := range starts {
			for _, u := range p.Tasks[i].Modes[0].Uses {
				for q := s.Start; u.Crew == c && q < s.Finish; q++ {
					if taken[q] += u.N; taken[q] > crew.Hours[0].N {
						return "crew " + crew.Name
					}
				}
			}
		}
	}
	return ""
}
