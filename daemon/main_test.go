package main

import (
	"bytes"
	"errors"
	"io/fs"
	"path/filepath"
	"strings"
	"testing"
)

// fullDisk takes so many bytes and no more.
type fullDisk struct{ left int }

func (d *fullDisk) Write(text []byte) (int, error) {
	n := min(d.left, len(text))
	d.left -= n
	if n < len(text) {
		return n, &fs.PathError{Op: "write", Path: "/dev/stdout", Err: errors.New("no space left on device")}
	}
	return n, nil
}

// An answer that did not reach its file is not called given, whichever command gives it.
func TestAnswersOnAFullDisk(t *testing.T) {
	yard := filepath.Join(t.TempDir(), "yard")
	var out, talk bytes.Buffer
	if code := run([]string{"init", yard}, &out, &talk); code != exitYes {
		t.Fatal(talk.String())
	}
	readings := written(t, "time,surface_C", "2026-04-06 09:00,18", "2026-04-06 16:00,20")
	for _, args := range [][]string{
		{"--help"}, {"version"}, {"check", yard}, {"check", yard, "--json"}, {"check", "--schema"}, {"air", "--temp", "18C", "--humidity", "50", "--surface", "18C"},
		{"mix", yard, "Topcoat", "--area", "42m2", "--temp", "28C"}, {"cure", "Topcoat", "--coated", "2026-04-06 09:00", readings}, {"booth", "booth 1"},
	} {
		for _, room := range []int{0, 10} {
			talk.Reset()
			code := run(args, &fullDisk{room}, &talk)
			if code != exitUsage || !strings.Contains(talk.String(), "the answer was not printed whole: no space left on device") {
				t.Errorf("%v with room for %d bytes: exit code %d: %s", args, room, code, talk.String())
			}
		}
	}
}
