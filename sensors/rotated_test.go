package sensors

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func (l *logger) rename(to string) {
	l.t.Helper()
	if err := os.Rename(l.path, filepath.Join(filepath.Dir(l.path), to)); err != nil {
		l.t.Fatal(err)
	}
}

// aged sets when a file beside the logger's was written last.
func (l *logger) aged(name string, at time.Time) {
	l.t.Helper()
	if err := os.Chtimes(filepath.Join(filepath.Dir(l.path), name), at, at); err != nil {
		l.t.Fatal(err)
	}
}

// append writes to a file beside the logger's.
func (l *logger) append(name, text string) {
	l.t.Helper()
	was := l.path
	l.path = filepath.Join(filepath.Dir(was), name)
	l.write(text)
	l.path = was
}

func TestRotatedByRename(t *testing.T) {
	l := newLogger(t, t.TempDir())
	step := func(name, want string) {
		t.Helper()
		var cells []string
		for _, r := range strings.Split(l.poll(), "\n") {
			if r != "" {
				cells = append(cells, strings.TrimPrefix(r, "s "))
			}
		}
		if got := strings.Join(cells, " "); got != want {
			t.Errorf("%s: got %s, want %s", name, got, want)
		}
	}
	l.write("a\n1\n2\n")
	step("two lines", `{"a":"1"} {"a":"2"}`)
	l.write("3\n4")
	l.rename("log.csv.1")
	step("renamed with lines unread, nothing new there yet", `{"a":"3"}`)
	l.append("log.csv.1", "5\n6")
	step("its writer went on for a while", `{"a":"45"}`)
	l.write("a\n7\n")
	step("its last line had no end, then the new file", `{"a":"6"} {"a":"7"}`)

	l.restart(l.file.State())
	l.write("8\n")
	l.rename("log.csv.2")
	l.aged("log.csv.1", noon)
	l.aged("log.csv.2", noon.Add(time.Hour))
	l.write("b\n9\n")
	l.rename("log.csv-20260406")
	l.write("c\n10\n")
	step("rotated twice while nobody looked, other columns each", `{"a":"8"} {"b":"9"} {"c":"10"}`)

	l.write("11\n")
	text, err := os.ReadFile(l.path)
	if err != nil {
		t.Fatal(err)
	}
	l.append("log.csv.3", string(text))
	l.replace("c\n12\n")
	step("copied and emptied", `{"c":"11"} {"c":"12"}`)
	l.append("log.csv.gz", "c\n99\n")
	l.append("logs.csv", "c\n99\n")
	l.rename("log-7.csv")
	step("nothing new in the old one", "")
	l.write("c\n")
	step("a header only", "")
	l.rename("log-8.csv")
	l.append("log-8.csv", "13\n")
	l.write("c\n14\n")
	step("two files that begin alike", `{"c":"13"} {"c":"14"}`)
}

func TestRotatedNames(t *testing.T) {
	for name, want := range map[string]bool{
		"log.csv.1": true, "log.csv-20260406": true, "log-2026-04-06.csv": true, "log.1.csv": true, "log.csv.old": true, "log.csv.bak": true,
		"log.csv": false, "log.csv.gz": false, "log.csv.1.gz": false, "logbook.csv": false, "other.csv.1": false, "log2": true,
	} {
		if got := rotatedFrom(name, "log.csv"); got != want {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// TestRotatedAnyhow: however a file is written, polled, rotated and refused by
// the intake, and however often the program starts anew, each line comes in once, in order.
func TestRotatedAnyhow(t *testing.T) {
	for _, base := range []string{"log.csv", "log.jsonl"} {
		rapid.Check(t, func(rt *rapid.T) {
			dir, err := os.MkdirTemp(t.TempDir(), "")
			if err != nil {
				rt.Fatal(err)
			}
			l := &logger{t: t, path: filepath.Join(dir, base)}
			l.restart(FileState{})
			titled := base == "log.csv"
			if titled {
				l.write("a\n")
			} else {
				l.write("")
			}
			if err := l.file.Poll(t.Context()); err != nil {
				rt.Fatal(err)
			}
			var want []string
			rotations := 0
			for i := range rapid.IntRange(1, 30).Draw(rt, "steps") {
				switch rapid.SampledFrom([]string{"write", "write", "poll", "fail", "restart", "rotate"}).Draw(rt, "step") {
				case "write":
					line := fmt.Sprintf(`{"a":"%d"}`, i)
					want = append(want, "s "+line)
					if titled {
						line = fmt.Sprint(i)
					}
					l.write(line + "\n")
				case "poll":
					err = l.file.Poll(t.Context())
				case "fail":
					l.kept.full = errors.New("disk full")
					if err = l.file.Poll(t.Context()); errors.Is(err, l.kept.full) {
						err = nil
					}
					l.kept.full = nil
				case "restart":
					l.restart(l.file.State())
				case "rotate":
					rotations++
					// Two files of a real log are never of the same millisecond.
					at := noon.Add(time.Duration(rotations) * time.Hour)
					l.aged(base, at)
					l.rename(fmt.Sprintf("%s.%d", base, rotations))
					if titled {
						l.write("a\n")
					} else {
						l.write("")
					}
				}
				if err != nil {
					rt.Fatal(err)
				}
			}
			for range 2 {
				if err := l.file.Poll(t.Context()); err != nil {
					rt.Fatal(err)
				}
			}
			if got := raws(l.kept.readings); got != strings.Join(want, "\n") {
				rt.Fatalf("got\n%s\nwant\n%s", got, strings.Join(want, "\n"))
			}
			keys := map[string]bool{}
			for _, r := range l.kept.readings {
				if keys[r.Key] {
					rt.Fatalf("key %s is given twice", r.Key)
				}
				keys[r.Key] = true
			}
		})
	}
}
