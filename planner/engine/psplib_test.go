package engine

import (
	"bufio"
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// benchDir is the folder of published benchmarks. Without it a test is skipped, but not in CI.
func benchDir(tb testing.TB) string {
	tb.Helper()
	dir, err := os.Getwd()
	if err != nil {
		tb.Fatal(err)
	}
	for dir != filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		dir = filepath.Dir(dir)
	}
	bench := filepath.Join(dir, "..", "shared", "bench")
	if _, err := os.Stat(bench); err != nil {
		if os.Getenv("CI") == "true" {
			tb.Fatal("the published benchmarks are not there: ", err)
		}
		tb.Skip("the published benchmarks are not there: ", err)
	}
	return bench
}

// known is what is published about an instance.
type known struct{ chain, least, best Slot }

// psplibKnown reads the best known results of a set, by instance.
func psplibKnown(tb testing.TB, set string) (names []string, by map[string]known) {
	tb.Helper()
	f, err := os.Open(filepath.Join(benchDir(tb), "best_known", "psplib_best.csv"))
	if err != nil {
		tb.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		tb.Fatal(err)
	}
	by = map[string]known{}
	for _, r := range rows {
		if r[0] != set {
			continue
		}
		var v [3]int
		for i := range v {
			if v[i], err = strconv.Atoi(r[2+i]); err != nil {
				tb.Fatal(r, err)
			}
		}
		names = append(names, r[1])
		by[r[1]] = known{Slot(v[0]), Slot(v[1]), Slot(v[2])}
	}
	return names, by
}

// readPSPLIB reads an instance of one mode in the format of the PSPLIB (Kolisch &
// Sprecher 1997). Its first and last jobs, which take no time, are tasks too.
func readPSPLIB(path string) (*Problem, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	p := &Problem{Weights: Weights{Makespan: 1}}
	part := ""
	lines := bufio.NewScanner(f)
	for no := 1; lines.Scan(); no++ {
		line := lines.Text()
		switch {
		case strings.HasPrefix(line, "PRECEDENCE"), strings.HasPrefix(line, "REQUESTS"), strings.HasPrefix(line, "RESOURCEAVAIL"):
			part = line[:4]
			continue
		case strings.HasPrefix(line, "****"):
			part = ""
			continue
		}
		var v []int
		for _, w := range strings.Fields(line) {
			n, err := strconv.Atoi(w)
			if err != nil {
				v = nil
				break
			}
			v = append(v, n)
		}
		if part == "" || len(v) == 0 {
			continue
		}
		switch part {
		case "PREC":
			p.Tasks = append(p.Tasks, Task{Name: strconv.Itoa(v[0]), Owner: -1})
			if len(v) < 3 || len(v) != 3+v[2] || v[1] != 1 {
				return nil, fmt.Errorf("%s:%d: %q: want a job, 1 mode and its successors", path, no, line)
			}
			for _, s := range v[3:] {
				p.Lags = append(p.Lags, Lag{Before: v[0] - 1, After: s - 1})
			}
		case "REQU":
			if len(v) < 3 || v[0] > len(p.Tasks) {
				return nil, fmt.Errorf("%s:%d: %q: want a job, a mode, how long and how many of each", path, no, line)
			}
			m := Mode{Place: -1, Long: Slot(v[2]), Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
			for c, n := range v[3:] {
				if n > 0 {
					m.Uses = append(m.Uses, Use{c, n})
				}
			}
			p.Tasks[v[0]-1].Modes = []Mode{m}
			p.Slots += m.Long
		case "RESO":
			for c, n := range v {
				p.Crews = append(p.Crews, Crew{"R" + strconv.Itoa(c+1), []Level{{0, n}}})
			}
		}
	}
	for i := range p.Tasks {
		if len(p.Tasks[i].Modes) == 0 {
			return nil, fmt.Errorf("%s: job %d: how long it takes is missing", path, i+1)
		}
	}
	return p, lines.Err()
}

// Optima of the PSPLIB (Kolisch & Sprecher 1997), from its list of best known results.
func TestPlainOnPublished(t *testing.T) {
	dir := filepath.Join(benchDir(t), "psplib")
	for _, c := range []struct {
		set, name string
		optimum   int64
	}{{"j30", "j301_1", 43}, {"j30", "j301_3", 47}, {"j30", "j301_4", 62}, {"j60", "j601_1", 77}, {"j120", "j12020_2", 99}} {
		p, err := readPSPLIB(filepath.Join(dir, c.set, c.name+".sm"))
		if err != nil {
			t.Fatal(err)
		}
		r := plainOf(p).search(context.Background(), Effort{Schedules: 20000})
		if _, err := plainSpan(p, r.Starts); err != nil || r.Objective != c.optimum {
			t.Errorf("%s: %d slots, published %d: %v", c.name, r.Objective, c.optimum, err)
		}
	}
}
