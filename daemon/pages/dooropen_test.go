package pages

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/signed"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// A stranger who asks for no page at all learns nothing of the yard either.
func TestStrangersLearnNothing(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	for _, path := range []string{"/signin", "/welcome?word=" + wordFor("invitation"), "/welcome?word=x", "/nowhere", "/signin?to=/boat/Kestrel"} {
		_, body := do(t, handler, asking("GET", path, nil, ""))
		hasNot(t, strings.ReplaceAll(body, `value="/boat/Kestrel"`, ""), "Kestrel", "Booth 1", "Forecast harbour", "Ada")
	}
}

// Where nobody has a role all is as without a door, but inviting people, which takes the key.
func TestAnOpenYard(t *testing.T) {
	f, d := newFake(), newFakeDoor()
	f.yard.People = []config.Person{{Name: "Ines"}}
	handler, p := doored(t, f, d)
	for _, one := range p.routes() {
		method, path, _ := strings.Cut(one.pattern, " ")
		if method != "GET" || strings.Contains(path, "{") || path == "/events" {
			continue
		}
		if answer, _ := do(t, handler, asking("GET", path, nil, "")); answer.StatusCode == http.StatusUnauthorized || answer.StatusCode == http.StatusForbidden {
			t.Errorf("%s: status %d", path, answer.StatusCode)
		}
	}
	_, body := do(t, handler, asking("GET", "/boat/Kestrel", nil, ""))
	has(t, body, `name="by"`)
	for _, path := range []string{"/v1/invitations", "/v1/tokens"} {
		r := asking("POST", path, url.Values{"person": {"Ines"}}, "")
		r.Host = "127.0.0.1:8450"
		if answer, _ := do(t, handler, r); answer.StatusCode != http.StatusUnauthorized {
			t.Errorf("%s without the key: status %d", path, answer.StatusCode)
		}
	}
	if d.invited != "" || len(d.made) > 0 {
		t.Error("a stranger was given a secret")
	}
}

// What a role may not do has no button; nobody is asked for a name that is known.
func TestButtonsByRole(t *testing.T) {
	f := newFake()
	handler, _ := doored(t, f, newFakeDoor())
	for _, tt := range []struct {
		page, button string
		least        config.Role
	}{
		{"/", `action="/release"`, "scheduler"},
		{"/boat/Kestrel", `class="press"`, "painter"},
		{"/boat/Kestrel", `The boat itself`, "painter"},
		{"/place/Booth%201", `id="typed"`, "painter"},
		{"/place/Booth%201", `id="seen"`, "painter"},
		{"/you", `href="/people"`, "manager"},
		{"/you", `href="/changes"`, "manager"},
		{"/you", `action="/signout"`, "viewer"},
	} {
		for i, role := range ranks {
			answer, body := do(t, handler, asking("GET", tt.page, nil, string(role)))
			want := i >= slices.Index(ranks, tt.least)
			if got := strings.Contains(body, tt.button); got != want || answer.StatusCode != http.StatusOK {
				t.Errorf("%s as %s: %s shown: %v, want %v (status %d)", tt.page, role, tt.button, got, want, answer.StatusCode)
			}
			hasNot(t, body, `name="by"`)
		}
	}
}

// The name on a form is the one signed in, whatever the form says; the hand goes along.
func TestNamesAreNotTyped(t *testing.T) {
	f := newFake()
	hands := map[string]signed.Hand{}
	o, _ := f.options()
	f.yard.People = []config.Person{{Name: "painter", Role: config.Painter}}
	o.Door = newFakeDoor()
	o.Desk = handDesk{f, hands}
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	form := url.Values{
		"kind": {"started"}, "area": {"house"}, "stage": {"wash"}, "once": {"o1"}, "pass": {"1"}, "happened": {"2026-04-07T10:00"}, "by": {"Somebody Else"},
	}
	r := asking("POST", "/boat/Kestrel/press", form, "painter")
	r.RemoteAddr = "10.1.2.3:999"
	r.Header.Set("User-Agent", "Mozilla/5.0 (X; Mobile)")
	if answer, body := do(t, handler, r); answer.StatusCode != http.StatusSeeOther {
		t.Fatalf("status %d: %s", answer.StatusCode, body)
	}
	want := signed.Hand{By: "painter", Role: "painter", Address: "10.1.2.3", Device: "phone", Through: "/boat/Kestrel/press"}
	if hands["press"] != want {
		t.Errorf("%+v, want %+v", hands["press"], want)
	}
	if last := f.presses[len(f.presses)-1]; last.By != "painter" {
		t.Errorf("pressed by %q", last.By)
	}
	// Without a door it is the typed one, signed as such.
	f.yard.People = nil
	form.Set("once", "o2")
	foreign := asking("POST", "/boat/Kestrel/press", form, "")
	for host, want := range map[string]int{"elsewhere.example": 403, "elsewhere.example:8450": 403, "10.0.0.4:8450": 403, "127.0.0.1:8450": 303, "localhost": 303, "[::1]:8450": 303} {
		r := foreign.Clone(foreign.Context())
		r.Body, r.Host = io.NopCloser(strings.NewReader(form.Encode())), host
		if answer, _ := do(t, handler, r); answer.StatusCode != want {
			t.Errorf("as %s: status %d, want %d", host, answer.StatusCode, want)
		}
	}
	if h := hands["press"]; h.By != "Somebody Else" || h.Role != signed.Typed || f.presses[len(f.presses)-1].By != "Somebody Else" {
		t.Errorf("%+v", h)
	}
}

// handDesk notes whose hand reached the desk.
type handDesk struct {
	*fake
	hands map[string]signed.Hand
}

func (d handDesk) Press(ctx context.Context, p planner.Press) error {
	d.hands["press"], _ = signed.Of(ctx)
	return d.fake.Press(ctx, p)
}
func (d handDesk) TakeReading(ctx context.Context, r sensors.Reading) error {
	d.hands["reading"], _ = signed.Of(ctx)
	return d.fake.TakeReading(ctx, r)
}

// A door that cannot look lets nobody in and keeps nothing.
func TestABrokenDoorIsShut(t *testing.T) {
	f, d := newFake(), newFakeDoor()
	handler, _ := doored(t, f, d)
	d.broken = errors.New("disk I/O error at /var/lib/x.db")
	for _, r := range []*http.Request{asking("GET", "/", nil, "manager"), asking("POST", "/release", url.Values{"plan": {"12"}}, "manager")} {
		answer, body := do(t, handler, r)
		if answer.StatusCode != http.StatusServiceUnavailable {
			t.Errorf("%s: status %d", r.URL, answer.StatusCode)
		}
		hasNot(t, body, "disk I/O", "Kestrel")
	}
	if len(f.released) > 0 {
		t.Error("something was released")
	}
}

// Who asks an address by a method that it does not take is told which it takes, and not that
// there is nothing: RFC 9110 section 15.5.6.
func TestAnotherMethod(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	for _, tt := range []struct{ method, path, allow, says string }{
		{"GET", "/v1/readings", "POST", "takes POST"},
		{"PUT", "/v1/readings", "POST", "takes POST"},
		{"POST", "/v1/plan", "GET, HEAD", "takes GET, HEAD"},
		{"DELETE", "/v1/boats", "GET, HEAD, POST", "takes GET, HEAD, POST"},
		{"GET", "/v1/invitations", "POST", "takes POST"},
		{"GET", "/shift/press", "POST", "only takes a form"},
		{"POST", "/shift", "GET, HEAD", "takes no form"},
		{"GET", "/nowhere", "", "no such page"},
		{"POST", "/v1/nothing", "", "no such page"},
	} {
		answer, body := do(t, handler, asking(tt.method, tt.path, url.Values{}, "painter"))
		want := http.StatusMethodNotAllowed
		if tt.allow == "" {
			want = http.StatusNotFound
		}
		if answer.StatusCode != want || answer.Header.Get("Allow") != tt.allow || !strings.Contains(body, tt.says) {
			t.Errorf("%s %s: status %d, Allow %q, %q not said", tt.method, tt.path, answer.StatusCode, answer.Header.Get("Allow"), tt.says)
		}
	}
}

// timed is a writer that knows until when its request's body may come.
type timed struct {
	*httptest.ResponseRecorder
	until time.Time
}

func (w *timed) SetReadDeadline(t time.Time) error {
	w.until = t
	return nil
}

// Nobody, let in or not, holds a line by a form that never ends; a page that listens for what
// is new is not cut off.
func TestABodyComesInTime(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	for _, tt := range []struct {
		method, to string
		bounded    bool
	}{{"POST", "/signin", true}, {"POST", "/boat/Boat%20One/press", true}, {"POST", "/v1/boats", true}, {"POST", "/nowhere", true}, {"GET", "/", false}} {
		w := &timed{ResponseRecorder: httptest.NewRecorder()}
		handler.ServeHTTP(w, asking(tt.method, tt.to, nil, ""))
		if w.until.IsZero() == tt.bounded {
			t.Errorf("%s %s: its body may come until %v", tt.method, tt.to, w.until)
		}
	}
}
