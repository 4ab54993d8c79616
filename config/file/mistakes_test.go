package file_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/tools/txtar"

	"fairwindow/config"
	"fairwindow/config/file"
)

// Each file of testdata/mistakes puts one mistake into a right file, which it
// names: the text under "where" is replaced by that under "instead". Under
// "mistakes" stands all that must be said of it, and nothing else.
func TestMistakes(t *testing.T) {
	names, err := filepath.Glob("testdata/mistakes/*.txtar")
	if err != nil || len(names) == 0 {
		t.Fatal("no mistakes found", err)
	}
	yard := smallYard(t)
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
			archive, err := txtar.ParseFile(name)
			if err != nil {
				t.Fatal(err)
			}
			part := map[string]string{}
			for _, f := range archive.Files {
				part[f.Name] = string(f.Data)
			}
			of := strings.TrimSpace(part["file"])
			text := read(t, filepath.Join("testdata", of))
			where := strings.TrimSuffix(part["where"], "\n")
			if strings.Count(text, where) == 0 {
				t.Fatalf("%s has no %q", of, where)
			}
			text = strings.Replace(text, where, strings.TrimSuffix(part["instead"], "\n"), 1)
			var mistakes file.Mistakes
			if of == "yard.yaml" {
				_, mistakes = file.Yard(of, []byte(text))
			} else {
				_, mistakes = file.BoatsFor(yard, of, []byte(text))
			}
			got := mistakes.Error() + "\n"
			if got != part["mistakes"] {
				t.Errorf("got\n%swant\n%s", got, part["mistakes"])
			}
			if strings.Contains(got, "hush") {
				t.Error("a secret is repeated")
			}
		})
	}
}

func TestSmallYardIsRight(t *testing.T) {
	yard := smallYard(t)
	for _, name := range []string{"boats.yaml", "boats.csv"} {
		if _, mistakes := file.BoatsFor(yard, name, []byte(read(t, "testdata/"+name))); len(mistakes) > 0 {
			t.Errorf("%v", mistakes)
		}
	}
}

func smallYard(t *testing.T) config.Yard {
	t.Helper()
	yard, mistakes := file.Yard("yard.yaml", []byte(read(t, "testdata/yard.yaml")))
	if len(mistakes) > 0 {
		t.Fatalf("%v", mistakes)
	}
	return yard
}

func read(t *testing.T, name string) string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// A margin written at each place that a coat may go on in keeps it off the dew point too.
func TestMarginOfAPlace(t *testing.T) {
	text := strings.Replace(read(t, "testdata/yard.yaml"), "      margin: 3 C\n", "", 1)
	for limits, want := range map[string]int{"": 1, "    limits: {margin: 3 C}\n": 0} {
		_, mistakes := file.Yard("yard.yaml", []byte(strings.Replace(text, "    kind: booth\n", "    kind: booth\n"+limits, 1)))
		if len(mistakes) != want {
			t.Errorf("with %q at the booth %d mistakes, want %d: %v", limits, len(mistakes), want, mistakes)
		}
	}
}
