package main

import (
	"os"
	"testing"
)

func TestZZ(t *testing.T) {
	if os.Getenv("ZZ") == "" {
		t.Skip()
	}
	run([]string{"demo", "--once", "--days", "3", "--state", t.TempDir()}, os.Stdout, os.Stderr)
}
