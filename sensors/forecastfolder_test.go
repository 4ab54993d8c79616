package sensors

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
)

// outbox is a ForecastIntake that remembers, and refuses while full is set.
type outbox struct {
	got  []string
	full error
}

func (o *outbox) take(_ context.Context, d Document, f Forecast) error {
	if o.full != nil {
		return o.full
	}
	o.got = append(o.got, fmt.Sprintf("%s@%s", d.Body, f.Received.Format("15:04")))
	return nil
}

// said empties it.
func (o *outbox) said() string {
	out := strings.Join(o.got, " ")
	o.got = nil
	return out
}

func parseWord(d Document) (Forecast, error) {
	if strings.HasPrefix(string(d.Body), "bad") {
		return Forecast{}, fmt.Errorf("forecast %s: no forecast", d.Source)
	}
	return Forecast{Source: d.Source, Received: d.Received}, nil
}

func TestFolder(t *testing.T) {
	dir, o := t.TempDir(), &outbox{}
	var failed []string
	options := FolderOptions{
		Source: config.Forecast{Name: "f", Folder: dir}, Zone: time.UTC, Parse: parseWord, Intake: o.take,
		Clock: clockwork.NewFakeClockAt(noon), Failed: func(file string, why error) {
			if failed = append(failed, file); strings.Contains(why.Error(), "forecast f") {
				t.Errorf("%s: %v: its source is said by whoever tells of it", file, why)
			}
		},
	}
	f := NewFolder(options)
	put := func(name, body string, at time.Time) {
		t.Helper()
		tmp := filepath.Join(dir, ".incoming")
		if err := errors.Join(os.WriteFile(tmp, []byte(body), 0o600), os.Chtimes(tmp, at, at), os.Rename(tmp, filepath.Join(dir, name))); err != nil {
			t.Fatal(err)
		}
	}
	step := func(name, want string) {
		t.Helper()
		if err := f.Poll(t.Context()); err != nil {
			t.Fatal(err)
		}
		if got := o.said(); got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
	}
	at := func(h int) time.Time { return time.Date(2026, 4, 6, h, 0, 0, 0, time.UTC) }
	step("empty", "")
	put("b", "two", at(9))
	put("a", "one", at(10))
	put("c.tmp", "work in progress", at(10))
	put(".d", "hidden", at(10))
	put("bad", "bad", at(11))
	step("the oldest first, with the files' times", "two@09:00 one@10:00")
	step("nothing new", "")
	put("a", "one", at(11))
	step("touched", "")
	put("a", "more", at(11))
	put("b", "late", at(15))
	step("replaced; a file from the future came now", "more@11:00 late@12:00")
	put("bad", "bad again", at(11))
	step("still bad", "")
	put("bad", "mended", at(11))
	step("mended", "mended@11:00")
	if got := strings.Join(failed, " "); got != "bad bad" {
		t.Errorf("failed %q", got)
	}
	put("e", "five", at(11))
	o.full = errors.New("disk full")
	if err := f.Poll(t.Context()); !errors.Is(err, o.full) {
		t.Errorf("%v", err)
	}
	o.full = nil
	step("refused, so offered again", "five@11:00")
	if err := os.Remove(filepath.Join(dir, "e")); err != nil {
		t.Fatal(err)
	}
	step("gone", "")
	put("e", "five", at(11))
	step("and back", "five@11:00")
	f = NewFolder(options)
	step("after a restart, as old as they were", "more@11:00 mended@11:00 five@11:00 late@12:00")
	if err := os.Truncate(filepath.Join(dir, "e"), documentLimit+1); err != nil {
		t.Fatal(err)
	}
	step("too long", "")
	if failed[len(failed)-1] != "e" {
		t.Errorf("failed %q", failed)
	}
	options.Source.Folder = filepath.Join(dir, "none")
	if err := NewFolder(options).Poll(t.Context()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("%v", err)
	}
}

func TestAddress(t *testing.T) {
	var body, etag, mark, status = "one", `"1"`, "", 200
	var asked []string
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		asked = append(asked, r.Header.Get("If-None-Match")+"|"+r.Header.Get("If-Modified-Since")+"|"+r.UserAgent())
		w.Header().Set("Retry-After", "60")
		if etag != "" && r.Header.Get("If-None-Match") == etag {
			w.WriteHeader(http.StatusNotModified)
			return
		}
		w.Header().Set("ETag", etag)
		w.Header().Set("Last-Modified", mark)
		w.WriteHeader(status)
		_, _ = w.Write([]byte(body))
	}))
	defer server.Close()
	o := &outbox{}
	a := NewAddress(AddressOptions{
		Source: config.Forecast{Name: "f", URL: server.URL + "/?key=hush"}, Client: server.Client(), Agent: "fairwindow (yard)",
		Parse: parseWord, Intake: o.take, Clock: clockwork.NewFakeClockAt(noon),
	})
	step := func(name, want, fault string) {
		t.Helper()
		err := a.Poll(t.Context())
		if got := o.said(); got != want {
			t.Errorf("%s: got %q, want %q", name, got, want)
		}
		if (err == nil) != (fault == "") || err != nil && (!strings.Contains(err.Error(), fault) || strings.Count(err.Error(), "forecast f") != 1) {
			t.Errorf("%s: %v, want %q", name, err, fault)
		}
		if err != nil && strings.Contains(err.Error(), "hush") {
			t.Errorf("%s: the key is told: %v", name, err)
		}
	}
	o.full = errors.New("disk full")
	step("refused", "", "disk full")
	o.full = nil
	step("so fetched again whole", "one@12:00", "")
	step("unchanged", "", "")
	mark, etag = "Mon, 06 Apr 2026 06:00:00 GMT", ""
	step("the same under another mark", "", "")
	body = "two"
	step("another", "two@12:00", "")
	body = "bad"
	step("no forecast", "", "no forecast")
	body = strings.Repeat("x", documentLimit+1)
	step("too long", "", "longer than")
	status = 503
	step("busy", "", "it asks to wait: 60")
	want := []string{`||`, `||`, `"1"||`, `"1"||`, `|` + mark + `|`}
	for i, w := range want {
		if asked[i] != w+"fairwindow (yard)" {
			t.Errorf("request %d asked %q", i, asked[i])
		}
	}
	server.Close()
	step("nobody there", "", "refused")
	stopped, cancel := context.WithCancel(t.Context())
	cancel()
	if err := a.Poll(stopped); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}
