package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/daemon/store"
)

// The commands know the systems that were written on the pages: check lists them and
// says which are not in force, and boats that have them can be taken in.
func TestCommandsKnowSystemsOfThePages(t *testing.T) {
	text, _ := file.Starter()
	y, mistakes := file.Yard("yard.yaml", text)
	if mistakes.Err() != nil {
		t.Fatal(mistakes)
	}
	own, ok := y.System("boot stripe")
	if !ok {
		t.Fatal("no system to copy")
	}
	own.Name = "two stripes"
	clash := own
	clash.Name = "Full Refinish"
	c := spoke()
	c.Systems = []config.Edit[config.System]{{To: own, By: "Rui"}, {To: clash, By: "Rui"}}
	yard, state := keptYard(t, c)
	elsewhere := bytes.Replace(text, []byte("127.0.0.1:8450"), []byte("127.0.0.1:1"), 1) // no daemon of this machine is meant
	if err := os.WriteFile(filepath.Join(yard, yardName), elsewhere, 0o600); err != nil {
		t.Fatal(err)
	}
	var out, talk bytes.Buffer
	if code := run([]string{"check", yard, "--state", state}, &out, &talk); code != exitYes {
		t.Fatalf("exit code %d: %s", code, talk.String())
	}
	if !strings.Contains(out.String(), "two stripes") || strings.Contains(out.String(), "Full Refinish") {
		t.Errorf("understood:\n%s", out.String())
	}
	if want := `the store: warning: system "Full Refinish", written on the pages, is not in force: the yard file has a system of that name`; !strings.Contains(talk.String(), want) {
		t.Errorf("said %s\nwant %s", talk.String(), want)
	}
	boats := filepath.Join(t.TempDir(), "boats.yaml")
	const one = "boats:\n  - {boat: Heron, length: 14 m, beam: 4 m, arrives: 2026-04-06, promised: 2026-05-20, areas: [{area: boot stripe, system: two stripes, size: 5 m2}]}\n"
	if err := os.WriteFile(boats, []byte(one), 0o600); err != nil {
		t.Fatal(err)
	}
	out.Reset()
	talk.Reset()
	if code := run([]string{"boats", "import", yard, boats, "--state", state, "--by", "Rui"}, &out, &talk); code != exitYes {
		t.Fatalf("exit code %d: %s", code, talk.String())
	}
	kept, err := store.Read(state)
	if err != nil {
		t.Fatal(err)
	}
	defer kept.Close()
	if rows, err := kept.Boats(t.Context()); err != nil || len(rows) != 1 || rows[0].Boat.Areas[0].System != "two stripes" {
		t.Errorf("%+v, %v", rows, err)
	}
}
