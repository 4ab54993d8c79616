package demo

import (
	"os"
	"path/filepath"
	"testing"
)

// shared opens a file of ../shared, which stands beside the repository. Without
// it a test is skipped, but not in CI.
func shared(t *testing.T, parts ...string) *os.File {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		if dir == filepath.Dir(dir) {
			t.Fatal("no go.mod above the test")
		}
		dir = filepath.Dir(dir)
	}
	f, err := os.Open(filepath.Join(append([]string{filepath.Dir(dir), "shared"}, parts...)...))
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("../shared is needed in CI: %v", err)
		}
		t.Skipf("skipped: %v", err)
	}
	t.Cleanup(func() { f.Close() })
	return f
}
