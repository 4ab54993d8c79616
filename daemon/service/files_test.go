package service

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairwindow/daemon/store"
)

// TestFiles: a file that grows and files put into a folder come in at each look,
// each row once, whatever is rotated and however often the daemon starts.
func TestFiles(t *testing.T) {
	t.Parallel()
	r := newRig(t, strings.Replace(yardText, "forecasts:\n", `  - {name: logger, place: booth, file: log.jsonl, values: {air: {path: t.air}}}
  - {name: loggers, place: booth, file: "drop/*.csv", values: {air: {path: air}}}
forecasts:
`, 1))
	put := func(name, text string) {
		t.Helper()
		path := filepath.Join(r.folder, name)
		f, err := os.OpenFile(path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		if _, err := f.WriteString(text); err != nil {
			t.Fatal(err)
		}
	}
	values := func(source, want string) {
		t.Helper()
		r.until(r.clock.Now().Add(r.tick))
		got, err := r.svc.store.Readings(t.Context(), store.Query{Source: source})
		if err != nil {
			t.Fatal(err)
		}
		var all []float64
		for _, one := range got {
			all = append(all, one.Values["air"])
		}
		if asJSON(t, all) != want {
			t.Errorf("%s: got %v, want %s", source, asJSON(t, all), want)
		}
	}
	if err := os.Mkdir(filepath.Join(r.folder, "drop"), 0o755); err != nil {
		t.Fatal(err)
	}
	put("log.jsonl", "{\"t\":{\"air\":18}}\n")
	put("drop/a.csv", "air\n20\n")
	r.start()
	values("logger", "[18]")
	values("loggers", "[20]")
	put("log.jsonl", "{\"t\":{\"air\":18.5}}\n")
	put("drop/a.csv", "21\n")
	put("drop/b.csv", "air\n21\n")
	r.halt()
	if err := os.Rename(filepath.Join(r.folder, "log.jsonl"), filepath.Join(r.folder, "log.jsonl.1")); err != nil {
		t.Fatal(err)
	}
	put("log.jsonl", "{\"t\":{\"air\":19}}\n")
	r.start()
	values("logger", "[18,18.5,19]")
	values("loggers", "[20,21,21]")
	r.restart()
	values("logger", "[18,18.5,19]")
	values("loggers", "[20,21,21]")
}
