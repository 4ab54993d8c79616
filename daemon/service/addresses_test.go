package service

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
)

// TestAddressAcrossRestarts: a forecast at an address is fetched once, asked after by
// its mark, and after a restart neither fetched nor asked for sooner; a document that is
// no forecast is said on every page and kept, and takes nothing away from the good one.
func TestAddressAcrossRestarts(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	var asked []string
	body, etag := "", ""
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		mu.Lock()
		defer mu.Unlock()
		asked = append(asked, r.Header.Get("If-None-Match"))
		if etag == r.Header.Get("If-None-Match") {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		w.Header().Set("ETag", etag)
		_, _ = w.Write([]byte(body))
	}))
	t.Cleanup(server.Close)
	serve := func(b, e string) {
		mu.Lock()
		defer mu.Unlock()
		body, etag = b, e
	}
	r := newRig(t, strings.Replace(yardText, "folder: forecasts}", `url: "`+server.URL+`/?key=hush", every: 2 h}`, 1))
	var doc strings.Builder
	fmt.Fprintf(&doc, "# issued %s\ntime,air_C,dew_point_C\n", monday.Format(time.RFC3339))
	for h := range 72 {
		fmt.Fprintf(&doc, "%s,20,6\n", monday.Add(time.Duration(h)*time.Hour).Format(time.RFC3339))
	}
	requests := func(want ...string) {
		t.Helper()
		mu.Lock()
		defer mu.Unlock()
		if got := strings.Join(asked, " "); got != strings.Join(want, " ") {
			t.Errorf("asked with %s, want %s", got, want)
		}
	}
	source := func() ForecastSource {
		t.Helper()
		all, err := r.svc.ForecastSources(t.Context())
		if err != nil || len(all) != 1 {
			t.Fatalf("%+v, %v", all, err)
		}
		return all[0]
	}
	serve(doc.String(), `"1"`)
	r.start()
	r.until(at(0, 7, 0))
	requests("")
	if is := source(); !is.Issued.Equal(monday) || !is.Next.Equal(at(0, 8, 0)) || is.Broken != "" {
		t.Errorf("%+v", is)
	}
	r.restart()
	requests("")
	if is := source(); !is.Issued.Equal(monday) || !is.Leads || !is.Next.Equal(at(0, 8, 0)) {
		t.Errorf("after a restart %+v", is)
	}
	r.until(at(0, 8, 30))
	requests("", `"1"`)
	if err := r.svc.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	r.until(at(0, 8, 40))
	requests("", `"1"`)
	if is := source(); !is.Next.Equal(at(0, 10, 0)) {
		t.Errorf("after the yard file was read again %+v", is)
	}
	kept, err := r.svc.store.Issues(t.Context(), monday, at(1, 0, 0), time.Minute)
	if err != nil || len(kept) != 1 {
		t.Errorf("%d forecasts are kept, %v", len(kept), err)
	}

	serve("<html>busy</html>\n", `"2"`)
	r.until(at(0, 10, 0))
	requests("", `"1"`, `"1"`)
	says := func(part string) {
		t.Helper()
		r.healthSays(part)
		if health, err := r.svc.Health(t.Context()); err != nil || len(health) != 2 || strings.Contains(health[0], "hush") {
			t.Errorf("%q, %v", health, err)
		}
	}
	says("forecast model: what came is no forecast: line 1")
	if is := source(); !is.Issued.Equal(monday) || !is.Leads || !strings.Contains(is.Broken, "no forecast") || is.Next.Sub(at(0, 10, 0)) > time.Minute {
		t.Errorf("with a bad document %+v", is)
	}
	refused, err := os.ReadFile(filepath.Join(r.state, refusedFolder, "model.csv"))
	if err != nil || string(refused) != "<html>busy</html>\n" {
		t.Errorf("kept %q, %v", refused, err)
	}
	r.restart()
	says("forecast model: what came is no forecast: line 1")
	serve(strings.Replace(doc.String(), "06:00:00Z\n", "07:00:00Z\n", 1), `"3"`)
	r.until(at(0, 10, 10))
	if health, err := r.svc.Health(t.Context()); err != nil || len(health) != 1 { // the booth has no instrument
		t.Errorf("mended: %q, %v", health, err)
	}
	if is := source(); !is.Issued.Equal(at(0, 7, 0)) || is.Broken != "" || !is.Next.After(at(0, 12, 0)) {
		t.Errorf("mended: %+v", is)
	}
}
