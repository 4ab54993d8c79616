package sky

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

// shared reads a table that is not part of the repository. The test is skipped
// where it is absent, but not in CI.
func shared(t testing.TB, name string) []map[string]string {
	t.Helper()
	path := filepath.Join("..", "..", "..", "shared", "published", name)
	f, err := os.Open(path)
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s must be there in CI: %v", path, err)
		}
		t.Skipf("%s is not there; the printed figures are checked all the same", path)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []map[string]string
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = line[i]
		}
		out = append(out, row)
	}
	return out
}

func number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func instant(t testing.TB, text string) time.Time {
	t.Helper()
	at, err := time.Parse(time.RFC3339, text)
	if err != nil {
		t.Fatal(err)
	}
	return at
}

// worst keeps the largest error of each of several checks of a long table.
type worst map[string]float64

// near fails unless got lies within tolerance of want, and keeps the error.
func (w worst) near(t testing.TB, what, where string, got, want, tolerance float64) {
	t.Helper()
	off := math.Abs(got - want)
	if !(off <= tolerance) {
		t.Errorf("%s, %s: got %.6g, want %.6g ± %.3g", where, what, got, want, tolerance)
	}
	w[what] = max(w[what], off)
}

func (w worst) log(t testing.TB) {
	t.Helper()
	for what, off := range w {
		t.Logf("%s: off by at most %.3g", what, off)
	}
}

// near is worst.near for a figure that stands alone.
func near(t testing.TB, what string, got, want, tolerance float64) {
	t.Helper()
	worst{}.near(t, what, "printed", got, want, tolerance)
}
