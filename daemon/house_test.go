package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// arrows says which of our packages each may import. They point down only, so
// that each can be read, tested and trusted without what stands above it.
var arrows = map[string][]string{
	"conditions/unit":      {},
	"conditions/sky":       {"conditions/unit"},
	"conditions/skin":      {"conditions/unit"},
	"conditions":           {"conditions/unit", "conditions/sky", "conditions/skin"},
	"config":               {"conditions", "conditions/unit", "conditions/sky", "conditions/skin"},
	"config/file":          {"config", "conditions", "conditions/unit"},
	"planner/engine":       {},
	"planner/waits":        {"planner", "config", "conditions", "conditions/unit"},
	"planner/whatif":       {"planner", "config", "conditions", "conditions/unit"},
	"planner":              {"config", "conditions", "conditions/unit", "planner/engine"},
	"sensors":              {"config", "conditions", "conditions/unit"},
	"sensors/payload":      {"sensors", "config", "conditions", "conditions/unit"},
	"sensors/forecast":     {"sensors", "config", "conditions", "conditions/unit"},
	"sensors/record":       {"sensors/forecast", "sensors", "config", "conditions", "conditions/unit"},
	"sensors/surface":      {"sensors", "conditions", "conditions/unit"},
	"sensors/booth":        {"sensors/record", "sensors", "config", "conditions", "conditions/unit"},
	"notify":               {},
	"notify/bus":           {"notify"},
	"notify/mail":          {"notify"},
	"notify/webhook":       {"notify"},
	"notify/push":          {"notify"},
	"daemon/record":        {"planner", "config", "conditions", "conditions/unit"},
	"daemon/record/paper":  {"daemon/record", "planner", "conditions", "conditions/unit"},
	"daemon/record/bundle": {"daemon/record"},
	"daemon/store":         {"daemon/record", "planner/waits", "planner", "sensors", "notify", "config", "conditions", "conditions/unit"},
	"daemon/calendar":      {},
	"daemon/signed":        {},
	"daemon/door":          {"config"},
	"daemon/pages":         {"daemon/calendar", "daemon/signed", "daemon/door", "daemon/record", "daemon/record/paper", "planner/waits", "planner/whatif", "planner", "sensors", "notify", "config", "conditions", "conditions/unit"},
	"daemon/chart":         {},
	"daemon/demo":          {"planner", "sensors", "sensors/record", "notify", "config", "conditions", "conditions/unit"},
	"daemon/service": {"planner/waits", "planner/whatif", "planner", "sensors", "sensors/payload", "sensors/forecast", "sensors/record", "notify", "notify/bus", "notify/mail", "notify/webhook", "notify/push",
		"daemon/store", "daemon/signed", "daemon/door", "daemon/record", "daemon/record/bundle", "daemon/record/paper", "config", "conditions", "conditions/unit"},
	"daemon": {"daemon/signed", "daemon/door", "daemon/record", "daemon/record/bundle", "daemon/record/paper", "daemon/service", "daemon/pages", "daemon/store", "daemon/demo", "daemon/chart", "config/file", "config",
		"planner", "planner/engine", "planner/waits", "planner/whatif", "notify", "notify/bus", "sensors", "sensors/forecast", "sensors/record", "sensors/surface", "sensors/booth",
		"conditions", "conditions/unit"},
}

// pure packages do no I/O, read no clock, log nothing: same input, same output.
var pure = []string{"conditions/unit", "conditions/sky", "conditions/skin", "conditions", "config", "planner/engine", "planner/waits", "planner/whatif", "planner", "notify",
	"sensors/payload", "sensors/forecast", "sensors/record", "sensors/surface", "sensors/booth", "daemon/chart", "daemon/calendar", "daemon/record"}

// impure is what a pure package may not import.
var impure = []string{"os", "net", "net/http", "io/ioutil", "os/exec", "database/sql", "log", "log/slog", "math/rand", "syscall",
	"github.com/sirupsen/logrus", "github.com/jonboulle/clockwork", "github.com/nats-io/nats.go"}

// top is all that a stranger sees first; each entry says a part of the job.
var top = []string{"daemon", "planner", "conditions", "notify", "sensors", "config", "testdata",
	"go.mod", "go.sum", "README.md", "DEVELOPERS.md", "LICENSE"}

type source struct {
	path string // of the file, from the top
	dir  string
	test bool
	file *ast.File
}

// sources parses every Go file of the project.
func sources(t *testing.T) []source {
	t.Helper()
	var all []source
	root := os.DirFS("..")
	err := fs.WalkDir(root, ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && path != "." && strings.HasPrefix(d.Name(), ".") {
			return fs.SkipDir
		}
		if !strings.HasSuffix(path, ".go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join("..", path), nil, parser.ParseComments)
		if err != nil {
			return err
		}
		all = append(all, source{path, filepath.Dir(path), strings.HasSuffix(path, "_test.go"), f})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func (s source) imports() []string {
	var out []string
	for _, i := range s.file.Imports {
		name, _ := strconv.Unquote(i.Path.Value)
		out = append(out, name)
	}
	return out
}

func TestArrowsPointDown(t *testing.T) {
	for _, s := range sources(t) {
		allowed, known := arrows[s.dir]
		if !known {
			t.Errorf("%s: the folder %s is not in the table of arrows: say there what it may import, so that the house keeps its shape", s.path, s.dir)
			continue
		}
		if s.test {
			continue // a test may set up what stands beside it
		}
		for _, name := range s.imports() {
			ours, is := strings.CutPrefix(name, "fairwindow/")
			if is && !slices.Contains(allowed, ours) {
				t.Errorf("%s imports %s: arrows point down only, and this one is not in the table; hand it plain data instead", s.path, ours)
			}
		}
	}
}

func TestPurePackagesTouchNothing(t *testing.T) {
	for _, s := range sources(t) {
		if s.test || !slices.Contains(pure, s.dir) {
			continue
		}
		for _, name := range s.imports() {
			if slices.Contains(impure, name) {
				t.Errorf("%s imports %s: %s is pure, so that the same input gives the same output and a kept plan can be made again", s.path, name, s.dir)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if call, ok := n.(*ast.SelectorExpr); ok {
				if pkg, ok := call.X.(*ast.Ident); ok && pkg.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "Sleep", "After", "Tick"}, call.Sel.Name) {
					t.Errorf("%s calls time.%s: what thinks takes the time as an argument", s.path, call.Sel.Name)
				}
			}
			if _, ok := n.(*ast.GoStmt); ok && s.dir != "planner/engine" {
				t.Errorf("%s starts a goroutine: a pure package's work ends with its call", s.path)
			}
			return true
		})
	}
}

func TestEveryPackageSaysWhatItIsFor(t *testing.T) {
	said := map[string]int{}
	for _, s := range sources(t) {
		if !s.test {
			said[s.dir] += 0
			if s.file.Doc != nil {
				said[s.dir]++
			}
		}
	}
	for dir, n := range said {
		if n != 1 {
			t.Errorf("%s has %d package comments: one, in one file, says the package's one idea", dir, n)
		}
	}
}

func TestTopLevelIsTheFirstPage(t *testing.T) {
	entries, err := os.ReadDir("..")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && !slices.Contains(top, e.Name()) {
			t.Errorf("%s stands at the top level: the listing is the first page of the manual; put it in the folder that rules over it", e.Name())
		}
	}
	for _, name := range top {
		if _, err := os.Stat(filepath.Join("..", name)); err != nil {
			t.Errorf("%s is missing at the top level: %v", name, err)
		}
	}
}

func TestSQLStaysInTheStore(t *testing.T) {
	for _, s := range sources(t) {
		if s.dir == "daemon/store" {
			continue
		}
		for _, name := range s.imports() {
			if name == "database/sql" || name == "github.com/mattn/go-sqlite3" {
				t.Errorf("%s imports %s: SQL is text, and only in the store", s.path, name)
			}
		}
	}
}
