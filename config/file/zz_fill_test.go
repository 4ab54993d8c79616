package file_test

import (
	"fairwindow/config/file"
	"fmt"
	"golang.org/x/tools/txtar"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestFill(t *testing.T) {
	if os.Getenv("FILL") == "" {
		t.Skip()
	}
	yard := smallYard(t)
	names, _ := filepath.Glob("testdata/mistakes/*.txtar")
	for _, n := range names {
		a, _ := txtar.ParseFile(n)
		p := map[string]string{}
		for _, f := range a.Files {
			p[f.Name] = string(f.Data)
		}
		of := strings.TrimSpace(p["file"])
		text := read(t, "testdata/"+of)
		w := strings.TrimSuffix(p["where"], "\n")
		text = strings.Replace(text, w, strings.TrimSuffix(p["instead"], "\n"), 1)
		var m file.Mistakes
		if of == "yard.yaml" {
			_, m = file.Yard(of, []byte(text))
		} else {
			_, m = file.BoatsFor(yard, of, []byte(text))
		}
		for i := range a.Files {
			if a.Files[i].Name == "mistakes" {
				a.Files[i].Data = []byte(m.Error() + "\n")
			}
		}
		os.WriteFile(n, txtar.Format(a), 0o644)
		fmt.Printf("## %s\n%s\n", strings.TrimSuffix(filepath.Base(n), ".txtar"), m.Error())
	}
}
