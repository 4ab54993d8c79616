package engine

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
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
