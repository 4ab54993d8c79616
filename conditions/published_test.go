package conditions

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"fairwindow/conditions/unit"
)

// root is the folder of go.mod, above the test's own.
func root(t testing.TB) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			return dir
		}
		up := filepath.Dir(dir)
		if up == dir {
			t.Fatal("no go.mod above the test's folder")
		}
		dir = up
	}
}

// table reads one of testdata/published as rows by column name.
func table(t testing.TB, name string) []map[string]string {
	t.Helper()
	return rows(t, filepath.Join(root(t), "testdata", "published", name))
}

// shared reads a table that is not part of the repository. The test is skipped
// where it is absent, but not in CI.
func shared(t testing.TB, name string) []map[string]string {
	t.Helper()
	path := filepath.Join(root(t), "..", "shared", "published", name)
	if _, err := os.Stat(path); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("%s must be there in CI: %v", path, err)
		}
		t.Skipf("%s is not there; the carried-over tables are checked all the same", path)
	}
	return rows(t, path)
}

func rows(t testing.TB, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
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

func written[T ~float64](t testing.TB, text string) T {
	t.Helper()
	w, err := unit.Parse[T](text)
	if err != nil {
		t.Fatal(err)
	}
	return w.SI
}

// near fails unless got lies within tolerance of want.
func near[T ~float64](t testing.TB, what string, got T, want, tolerance float64) {
	t.Helper()
	if d := float64(got) - want; !(d <= tolerance && d >= -tolerance) {
		t.Errorf("%s: got %.6g, want %.6g ± %g", what, float64(got), want, tolerance)
	}
}
