package sensors

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
)

type dropped struct {
	t     *testing.T
	dir   string
	clock *clockwork.FakeClock
	kept  kept
	state DropState // as the caller keeps it
	drop  *DropFolder
}

func newDropped(t *testing.T, pattern string) *dropped {
	d := &dropped{t: t, dir: t.TempDir(), clock: clockwork.NewFakeClockAt(noon)}
	d.restart(pattern)
	return d
}

func (d *dropped) restart(pattern string) {
	path := filepath.Join(d.dir, pattern)
	var err error
	d.drop, err = NewDropFolder(Drop{
		File: File{
			Path: path, Sensors: []config.Sensor{{Name: "s", File: path}}, Zone: time.UTC,
			Decode: verbatim, Intake: d.kept.take, Clock: d.clock,
		},
		From: d.state, Keep: func(_ context.Context, s DropState) error { d.state = s; return nil },
	})
	if err != nil {
		d.t.Fatal(err)
	}
}

func (d *dropped) put(name, text string) {
	d.t.Helper()
	path := filepath.Join(d.dir, name)
	f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		d.t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.WriteString(text); err != nil {
		d.t.Fatal(err)
	}
	if err := os.Chtimes(path, d.clock.Now(), d.clock.Now()); err != nil {
		d.t.Fatal(err)
	}
	d.clock.Advance(time.Second)
}

func (d *dropped) poll(want string) {
	d.t.Helper()
	d.kept.readings = nil
	if err := d.drop.Poll(d.t.Context()); err != nil {
		d.t.Fatal(err)
	}
	got := strings.ReplaceAll(strings.ReplaceAll(raws(d.kept.readings), "s ", ""), "\n", " ")
	if got != want {
		d.t.Errorf("got %s, want %s", got, want)
	}
}

func TestDropFolder(t *testing.T) {
	d := newDropped(t, "*.jsonl")
	d.poll("")
	d.put("b.jsonl", "1\n2\n")
	d.put("a.jsonl", "3\n4")
	d.put("notes.txt", "5\n")
	d.poll("1 2 3")
	d.put("b.jsonl", "6\n")
	d.restart("*.jsonl")
	d.poll("6")
	d.clock.Advance(2 * quiet)
	d.poll("4") // whoever put it there is done with it
	d.put("b.jsonl", "7\n")
	if err := os.Rename(filepath.Join(d.dir, "b.jsonl"), filepath.Join(d.dir, "c.jsonl")); err != nil {
		t.Fatal(err)
	}
	d.put("b.jsonl", "8\n")
	d.poll("7 8") // c is b, and b is new
	d.put("c.jsonl", "9\n")
	if err := os.Rename(filepath.Join(d.dir, "c.jsonl"), filepath.Join(d.dir, "c.jsonl.1")); err != nil {
		t.Fatal(err)
	}
	d.poll("9") // renamed out of the pattern with a line unread
	if err := os.Remove(filepath.Join(d.dir, "a.jsonl")); err != nil {
		t.Fatal(err)
	}
	d.poll("")
	if _, still := d.state.Files["a.jsonl"]; still || len(d.state.Files) != 2 {
		t.Errorf("kept of what is gone: %+v", d.state)
	}
	d.put("b.part", "8\n") // beside the old one: a file made after it may get its number
	if err := os.Rename(filepath.Join(d.dir, "b.part"), filepath.Join(d.dir, "b.jsonl")); err != nil {
		t.Fatal(err)
	}
	d.poll("8") // the same words in another file are another reading
}

// A file that is renamed and leaves nothing under its old name is the same one still, and a folder
// whose name fits is no file.
func TestDropFolderRenamed(t *testing.T) {
	d := newDropped(t, "*.jsonl")
	if err := os.Mkdir(filepath.Join(d.dir, "old.jsonl"), 0o700); err != nil {
		t.Fatal(err)
	}
	d.put("a.jsonl", "1\n2\n")
	d.poll("1 2")
	d.put("a.jsonl", "3\n")
	if err := os.Rename(filepath.Join(d.dir, "a.jsonl"), filepath.Join(d.dir, "done-a.jsonl")); err != nil {
		t.Fatal(err)
	}
	d.poll("3")
	d.poll("")
}

// A file emptied, written anew and renamed is not what was read of it: its new lines are read from
// the first, and the old one's last from the copy that was made of it.
func TestDropFolderCopiedThenRenamed(t *testing.T) {
	d := newDropped(t, "*.jsonl")
	d.put("a.jsonl", "1\n2\n")
	d.poll("1 2")
	d.put("a.jsonl.1", "1\n2\n3\n")
	if err := os.Truncate(filepath.Join(d.dir, "a.jsonl"), 0); err != nil {
		t.Fatal(err)
	}
	d.put("a.jsonl", "7\n8\n9\n")
	if err := os.Rename(filepath.Join(d.dir, "a.jsonl"), filepath.Join(d.dir, "b.jsonl")); err != nil {
		t.Fatal(err)
	}
	d.poll("3 7 8 9")
	d.poll("")
}

// TestDropFolderKeys: rows are known again by their keys, also when the program
// stopped before it had noted how far it had read, and no two rows have one key.
func TestDropFolderKeys(t *testing.T) {
	d := newDropped(t, "*.csv")
	keys := func() (all []string) {
		for _, r := range d.kept.readings {
			all = append(all, r.Key)
		}
		return all
	}
	d.put("a.csv", "v\n1\n1\n")
	d.put("b.csv", "v\n1\n")
	numbered := DropState{}
	d.drop.options.Keep = func(_ context.Context, s DropState) error {
		if numbered.Next == 0 {
			numbered = s // what was kept before the first row was read
		}
		d.state = s
		return nil
	}
	d.poll(`{"v":"1"} {"v":"1"} {"v":"1"}`)
	first := keys()
	if slices.Sort(first); len(slices.Compact(slices.Clone(first))) != 3 {
		t.Errorf("keys %q", first)
	}
	d.state = numbered
	d.put("0.csv", "v\n1\n")
	if err := os.Chtimes(filepath.Join(d.dir, "0.csv"), noon.Add(-time.Hour), noon.Add(-time.Hour)); err != nil {
		t.Fatal(err)
	}
	d.restart("*.csv")
	d.poll(`{"v":"1"} {"v":"1"} {"v":"1"} {"v":"1"}`)
	again := 0
	for _, k := range keys() {
		if slices.Contains(first, k) {
			again++
		}
	}
	if again != 3 {
		t.Errorf("of %q only %d came with their keys", first, again)
	}
}

func TestBadPattern(t *testing.T) {
	if _, err := NewDropFolder(Drop{File: File{Path: "drop/[a"}}); err == nil || !strings.Contains(err.Error(), "no pattern") {
		t.Errorf("%v", err)
	}
}
