package pages

import (
	"context"
	"fmt"
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/notify"
)

// ears remember what was called heard.
type ears struct{ heard map[string]map[int]string }

type deaf struct{}

func (deaf) Error() string  { return "no such notice" }
func (deaf) Public() string { return "there is no such notice" }

func (e *ears) Hear(_ context.Context, id string, revision int, by string) error {
	if id == "unknown" {
		return deaf{}
	}
	e.heard[id] = map[int]string{revision: by}
	return nil
}

func (e *ears) HeardBy(context.Context, time.Time) (map[string]map[int]string, error) {
	return e.heard, nil
}

func TestHeard(t *testing.T) {
	f := newFake()
	first := notify.Notice{Kind: notify.WindowClosing, Boat: "Ada & Sons", Area: "deck/aft", Stage: "gloss coat", Pass: 1, Occurrence: 1, Revision: 1, At: now.Add(-time.Hour)}
	first.ID = notify.ID(first)
	second := first
	second.Revision, second.At = 2, now.Add(-time.Minute)
	f.notes = []notify.Notice{first, second}
	e := &ears{heard: map[string]map[int]string{}}
	o, _ := f.options()
	o.Ears = e
	alone, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	if _, body := do(t, alone, httptest.NewRequest("GET", "/notices", nil)); strings.Contains(body, `class="hear"`) {
		t.Error("the yard file names nobody to pass a notice on to, and yet somebody is asked whether he heard")
	}
	f.yard.People = []config.Person{{Name: "Ines"}}
	o.Ears = e
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	look := func() string {
		_, body := do(t, handler, httptest.NewRequest("GET", "/notices", nil))
		return body
	}
	action := regexp.MustCompile(`<form class="hear" method="post" action="([^"]+)"><input type="hidden" name="revision" value="2"><label>`)
	body := look()
	found := action.FindAllStringSubmatch(body, -1)
	if len(found) != 1 || strings.Count(body, `class="hear"`) != 1 {
		t.Fatalf("buttons %q: want one, for the latest revision", found)
	}
	to := html.UnescapeString(found[0][1])
	press := func(path string, form url.Values) (*http.Response, string) {
		r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		return do(t, handler, r)
	}
	for _, tt := range []struct {
		path, by, revision string
		want               int
		says               string
	}{
		{to, " ", "2", http.StatusUnprocessableEntity, "Write who heard it"},
		{to, "Ines", "two", http.StatusUnprocessableEntity, "did not say which notice"},
		{"/notice/unknown/heard", "Ines", "2", http.StatusConflict, "There is no such notice."},
	} {
		answer, body := press(tt.path, url.Values{"by": {tt.by}, "revision": {tt.revision}})
		if answer.StatusCode != tt.want || len(e.heard) != 0 {
			t.Errorf("%s by %q: %d, heard %v", tt.path, tt.by, answer.StatusCode, e.heard)
		}
		has(t, body, tt.says)
	}
	answer, _ := press(to, url.Values{"by": {"Ines"}, "revision": {"2"}})
	if answer.StatusCode != http.StatusSeeOther || e.heard[first.ID][2] != "Ines" {
		t.Fatalf("%d, heard %v", answer.StatusCode, e.heard)
	}
	body = look()
	has(t, body, "heard by Ines")
	hasNot(t, body, `class="hear"`)
	// Another site can't call it heard in a person's name.
	r := httptest.NewRequest("POST", to, strings.NewReader("by=x&revision=2"))
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	if answer, _ := do(t, handler, r); answer.StatusCode != http.StatusForbidden {
		t.Errorf("another site got %d", answer.StatusCode)
	}
}

// Who listens gets each new notice once, worded, before he hears that something changed.
func TestLiveNotices(t *testing.T) {
	f := newFake()
	o, _ := f.options()
	p := &pages{Options: o}
	n := func(i int) notify.Notice {
		return notify.Notice{ID: fmt.Sprint(i), Kind: notify.MeasureNow, Boat: "Kestrel", Stage: "gloss coat", Revision: 1, At: now}
	}
	for _, tt := range []struct {
		heard, now []notify.Notice
		want       int
	}{
		{nil, nil, 0}, {nil, []notify.Notice{n(1)}, 1}, {[]notify.Notice{n(1)}, []notify.Notice{n(1)}, 0},
		{[]notify.Notice{n(1)}, []notify.Notice{n(1), n(2), n(3)}, 2}, {[]notify.Notice{n(1)}, []notify.Notice{n(2)}, 1},
	} {
		got := p.live(httptest.NewRequest("GET", "/events", nil), since(tt.heard, tt.now))
		if strings.Count(got, "event: notice\ndata: {") != tt.want || strings.Count(got, "\n") != 3*tt.want {
			t.Errorf("after %v of %v: %q", tt.heard, tt.now, got)
		}
		if tt.want > 0 && !strings.Contains(got, `"at":"10:20","sentence":"Measure now for gloss coat on Kestrel`) {
			t.Errorf("got %q", got)
		}
	}
}
