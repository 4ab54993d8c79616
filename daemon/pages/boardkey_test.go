package pages

import (
	"context"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"fairwindow/config"
	"fairwindow/daemon/door"
	"fairwindow/notify"
)

// A screen on the wall has no hand to sign in: the key in its address opens boards and what
// tells them that something changed, and nothing else; a key that was revoked opens nothing.
func TestBoardByItsKey(t *testing.T) {
	f, d := newFake(), newFakeDoor()
	handler, _ := doored(t, f, d)
	for _, c := range []struct {
		path   string
		status int
		says   string
	}{
		{"/board/Booth%201?key=" + wordFor("board"), http.StatusOK, "Booth 1"},
		{"/board/Booth%201?light=dark&key=" + wordFor("board"), http.StatusOK, `class="wall dark"`},
		{"/board/Booth%201?key=" + wordFor("revoked"), http.StatusUnauthorized, "was revoked"},
		{"/board/Booth%201?key=", http.StatusUnauthorized, "was revoked"},
		{"/board/Booth%201?key=" + wordFor("plan"), http.StatusForbidden, "does not open that"},
		{"/board/Booth%201", http.StatusSeeOther, ""}, // a person signs in
		{"/board?key=" + wordFor("board"), http.StatusSeeOther, ""},
		{"/place/Booth%201?key=" + wordFor("board"), http.StatusSeeOther, ""},
		{"/notices?key=" + wordFor("board"), http.StatusSeeOther, ""},
		{"/calendar/place/Booth%201.ics?key=" + wordFor("board"), http.StatusForbidden, "does not open that"},
	} {
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, asking("GET", c.path, url.Values{}, ""))
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.says) {
			t.Errorf("%s: %d %q, want %d with %q", c.path, w.Code, first(w.Body.String()), c.status, c.says)
		}
	}
}

func first(text string) string { return text[:min(len(text), 200)] }

// A screen hears that something changed; the notices' sentences are for people.
func TestScreenReadsNoNotices(t *testing.T) {
	_, p := doored(t, newFake(), newFakeDoor())
	all := []notify.Notice{{Kind: notify.WindowClosing, Boat: "Kestrel", Area: "topsides", Stage: "gloss coat", At: now}}
	as := func(is who) *http.Request {
		r := asking("GET", "/events", url.Values{}, "")
		return r.WithContext(context.WithValue(r.Context(), whoKey{}, is))
	}
	if got := p.live(as(who{machine: &door.Machine{Scopes: []door.Scope{door.Board}}}), all); got != "" {
		t.Errorf("a screen is sent %q", got)
	}
	if got := p.live(as(who{visitor: door.Visitor{Name: "painter", Role: config.Painter}}), all); !strings.Contains(got, "Kestrel") {
		t.Errorf("a painter is sent %q", got)
	}
}

// Who listens hears no more once he is signed out, from wherever that is done.
func TestShutOutHearsNoMore(t *testing.T) {
	d := newFakeDoor()
	_, p := doored(t, newFake(), d)
	w := httptest.NewRecorder()
	d.out = append(d.out, wordFor("painter"))
	ctx, leave := context.WithCancel(t.Context())
	leave() // one word is enough
	p.events(w, asking("GET", "/events", url.Values{}, "painter").WithContext(ctx))
	if text := w.Body.String(); text != "" {
		t.Errorf("heard %q", text)
	}
}

// Whoever makes a key for screens is given each place's whole address, this once.
func TestAddressesOfScreens(t *testing.T) {
	for scope, want := range map[string]bool{"board": true, "plan": false} {
		handler, _ := doored(t, newFake(), newFakeDoor())
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, asking("POST", "http://yard.example/tokens", url.Values{"name": {"screen"}, "scope": {scope}}, "manager"))
		if got := strings.Contains(w.Body.String(), "http://yard.example/board/Booth%201?key="+wordFor("made")); got != want || w.Code != http.StatusOK {
			t.Errorf("%s: %d, its addresses %t, want %t", scope, w.Code, got, want)
		}
	}
	handler, _ := doored(t, newFake(), newFakeDoor())
	for as, want := range map[string]string{"manager": `href="/tokens?scope=board"`, "painter": "the page Tokens"} {
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, asking("GET", "/board", url.Values{}, as))
		has(t, w.Body.String(), want)
	}
}
