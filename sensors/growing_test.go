package sensors

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/config"
)

type logger struct {
	t    testing.TB
	path string
	kept kept
	file *GrowingFile
}

func newLogger(t testing.TB, dir string) *logger {
	l := &logger{t: t, path: filepath.Join(dir, "log.csv")}
	l.restart(FileState{})
	return l
}

func (l *logger) restart(s FileState) {
	f, err := NewGrowingFile(File{
		Path: l.path, Sensors: []config.Sensor{{Name: "s", File: l.path}, {Name: "other", File: "else"}},
		Zone: time.UTC, Decode: verbatim, Intake: l.kept.take, Clock: clockwork.NewFakeClockAt(noon), State: s,
	})
	if err != nil {
		l.t.Fatal(err)
	}
	l.file = f
}

func (l *logger) write(text string) {
	f, err := os.OpenFile(l.path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err == nil {
		_, err = f.WriteString(text)
		err = errors.Join(err, f.Close())
	}
	if err != nil {
		l.t.Fatal(err)
	}
}

func (l *logger) replace(text string) {
	if err := os.WriteFile(l.path, []byte(text), 0o600); err != nil {
		l.t.Fatal(err)
	}
}

// poll returns what came in, one raw message a line.
func (l *logger) poll() string {
	l.t.Helper()
	l.kept.readings = nil
	if err := l.file.Poll(l.t.Context()); err != nil {
		l.t.Fatal(err)
	}
	return raws(l.kept.readings)
}

func TestGrowingFile(t *testing.T) {
	l := newLogger(t, t.TempDir())
	step := func(name, want string) {
		t.Helper()
		if got := l.poll(); got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
	step("no file yet", "")
	l.write("\ufefftime, air")
	step("half a header", "")
	l.write(" C,humidity\r\n1,20,61\r\n2,2")
	step("half a row waits", `s {"air C":"20","humidity":"61","time":"1"}`)
	l.write("1,62\n\n")
	step("its rest", `s {"air C":"21","humidity":"62","time":"2"}`)
	step("nothing new", "")
	l.restart(l.file.State())
	l.write("3,22\n\"4,23,64\n")
	step("after a restart, rows that do not fit are kept as they came", "s 3,22\ns \"4,23,64")
	l.replace("time;air\n5;24,5\n")
	step("cut short, other columns", `s {"air":"24,5","time":"5"}`)
	l.replace("time;air\n6;25,0\n7;26,0\n")
	step("replaced by a longer file", "s {\"air\":\"25,0\",\"time\":\"6\"}\ns {\"air\":\"26,0\",\"time\":\"7\"}")
	if err := os.Remove(l.path); err != nil {
		t.Fatal(err)
	}
	step("gone", "")
	if l.file.State().File != 2 {
		t.Errorf("state %+v", l.file.State())
	}
}

// TestGrowingFileInACodePage: a logger's ° and µ, each one byte as in Latin-1 (ISO 8859-1: 0xB0,
// 0xB5), have their names in the yard file.
func TestGrowingFileInACodePage(t *testing.T) {
	l := newLogger(t, t.TempDir())
	l.write("time;air \xb0C;film \xb5m\n1;20,5 \xb0C;40\n")
	if got, want := l.poll(), `s {"air °C":"20,5 °C","film µm":"40","time":"1"}`; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestGrowingFileCommitsFirst: a row that was refused comes again with the same key.
func TestGrowingFileCommitsFirst(t *testing.T) {
	l := newLogger(t, t.TempDir())
	l.write("time,air\n1,20\n")
	l.kept.full = errors.New("disk full")
	if err := l.file.Poll(t.Context()); !errors.Is(err, l.kept.full) {
		t.Fatalf("%v", err)
	}
	if l.file.State().Offset != 0 {
		t.Errorf("moved to %+v", l.file.State())
	}
	l.kept.full = nil
	l.poll()
	first := l.kept.readings[0].Key
	l.restart(FileState{}) // the state was lost
	l.poll()
	if again := l.kept.readings[0].Key; again != first {
		t.Errorf("keys %q and %q", first, again)
	}
}

// TestGrowingFileAnyPieces: however the bytes arrive, each line comes in once, in order.
func TestGrowingFileAnyPieces(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		l := newLogger(t, dir)
		l.replace("")
		var want []string
		text := "a,b\n"
		for i := range rapid.IntRange(0, 20).Draw(rt, "rows") {
			cell := rapid.StringMatching(`[0-9a-z]{1,9}`).Draw(rt, "cell")
			text += cell + "," + string(rune('a'+i)) + "\n"
			want = append(want, `s {"a":"`+cell+`","b":"`+string(rune('a'+i))+`"}`)
		}
		var got []string
		for text != "" {
			n := rapid.IntRange(1, len(text)).Draw(rt, "piece")
			l.write(text[:n])
			text = text[n:]
			if said := l.poll(); said != "" {
				got = append(got, said)
			}
			if rapid.Bool().Draw(rt, "restart") {
				l.restart(l.file.State())
			}
		}
		if strings.Join(got, "\n") != strings.Join(want, "\n") {
			rt.Fatalf("got %q, want %q", got, want)
		}
	})
}

// TestGrowingFileLongLine: a line longer than any row is kept, in pieces, and does
// not stop those behind it.
func TestGrowingFileLongLine(t *testing.T) {
	l := newLogger(t, t.TempDir())
	l.write("a,b\n" + strings.Repeat("x", chunk+10) + "\n1,2\n")
	got := l.poll()
	if !strings.HasSuffix(got, `{"a":"1","b":"2"}`) || strings.Count(got, "x") != chunk+10 {
		t.Errorf("%d readings, %d bytes", len(l.kept.readings), len(got))
	}
}

func FuzzGrowingFile(f *testing.F) {
	f.Add("a,b\n1,2\n", "3,4\n")
	f.Add("a;b\n", "\"\n1;2")
	f.Add("\n\n", ",,,\r\n")
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, first, second string) {
		l := newLogger(t, dir)
		l.replace(first)
		for range 2 {
			if err := l.file.Poll(t.Context()); err != nil && !strings.Contains(err.Error(), "header") {
				t.Fatal(err)
			}
			l.write(second)
		}
		if info, err := os.Stat(l.path); err != nil || l.file.State().Offset > info.Size() {
			t.Fatalf("read to %+v of %v", l.file.State(), info.Size())
		}
	})
}

// TestGrowingFileColumnsAlike: of two columns of one name nobody knows which a sensor means;
// who asks for neither is read.
func TestGrowingFileColumnsAlike(t *testing.T) {
	l := newLogger(t, t.TempDir())
	said := map[string]string{}
	l.file.rows.sensors = []config.Sensor{
		{Name: "inside", Values: map[conditions.Variable]config.Field{conditions.AirTemperature: {Path: "air"}}},
		{Name: "hull", Values: map[conditions.Variable]config.Field{conditions.Surface: {Path: "skin"}}},
	}
	l.file.rows.decode = func(s config.Sensor, m Message, _ *time.Location) []Reading {
		said[s.Name] = string(m.Payload) + " " + m.Broken
		return nil
	}
	l.write("air,skin,air,,\n20,14,9,,\n")
	if err := l.file.Poll(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got, want := said["inside"], `20,14,9,, two columns are called "air", and nobody knows which is meant`; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := said["hull"]; !strings.HasSuffix(got, `"skin":"14"} `) {
		t.Errorf("beside it: %q", got)
	}
}

// TestGrowingFileSaysWhere: each row is known by its file and line, also after a restart,
// with a state that an earlier version kept, and in a file that was rotated away; and a row
// that is none says why.
func TestGrowingFileSaysWhere(t *testing.T) {
	l := newLogger(t, t.TempDir())
	said := func() string {
		var rows []string
		l.file.rows.decode = func(_ config.Sensor, m Message, _ *time.Location) []Reading {
			rows = append(rows, strings.TrimSpace(m.Where+" "+m.Broken))
			return []Reading{{Source: "s", Raw: string(m.Payload)}}
		}
		if err := l.file.Poll(t.Context()); err != nil {
			t.Fatal(err)
		}
		return strings.Join(rows, "\n")
	}
	step := func(name, want string) {
		t.Helper()
		if got := said(); got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
	l.write("t,h\n1,2\n\n3\n")
	step("the beginning", "log.csv:2\nlog.csv:4 1 cells under the 2 columns t, h")
	l.restart(l.file.State())
	l.write("\"5,6\n7,8\n")
	step("after a restart", `log.csv:5 column 5 of the line: extraneous or missing " in quoted-field; write a quote within a quoted cell twice`+"\nlog.csv:6")
	old := l.file.State()
	old.Line = 0
	l.restart(old)
	l.write("9,10\n")
	step("with an older state", "log.csv:7")
	l.write("11,12\n")
	if err := os.Rename(l.path, l.path+".1"); err != nil {
		t.Fatal(err)
	}
	l.write("t,h\n13,14\n")
	step("rotated", "log.csv.1:8\nlog.csv:2")
}
