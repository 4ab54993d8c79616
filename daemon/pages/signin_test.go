package pages

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/door"

	"github.com/jonboulle/clockwork"
)

// send plays a browser that keeps its cookies.
type browser struct {
	t       *testing.T
	handler http.Handler
	jar     map[string]*http.Cookie
	https   bool
}

func (b *browser) ask(method, to string, form url.Values) (*http.Response, string) {
	b.t.Helper()
	r := asking(method, to, form, "")
	if b.https {
		r.Header.Set("X-Forwarded-Proto", "https")
	}
	for _, c := range b.jar {
		r.AddCookie(c)
	}
	answer, body := do(b.t, b.handler, r)
	for _, c := range answer.Cookies() {
		if b.jar == nil {
			b.jar = map[string]*http.Cookie{}
		}
		if c.MaxAge < 0 {
			delete(b.jar, c.Name)
			continue
		}
		b.jar[c.Name] = c
	}
	return answer, body
}

// Signed out he is led to the way in, and from there back to where he was; then out again.
func TestInAndOut(t *testing.T) {
	d := newFakeDoor()
	handler, _ := doored(t, newFake(), d)
	b := &browser{t: t, handler: handler}
	answer, _ := b.ask("GET", "/boat/Ada%20&%20Sons?area=house&stage=wash", nil)
	to := answer.Header.Get("Location")
	if answer.StatusCode != http.StatusSeeOther || to != "/signin?to="+url.QueryEscape("/boat/Ada%20&%20Sons?area=house&stage=wash") {
		t.Fatalf("%d to %s", answer.StatusCode, to)
	}
	_, body := b.ask("GET", to, nil)
	has(t, body, `name="to" value="/boat/Ada%20&amp;%20Sons?area=house&amp;stage=wash"`, `autocomplete="current-password"`)
	in := url.Values{"name": {"painter"}, "password": {"wrong words here"}, "to": {"/boat/Ada%20&%20Sons?area=house&stage=wash"}}
	answer, body = b.ask("POST", "/signin", in)
	if answer.StatusCode != http.StatusUnprocessableEntity || b.jar[sessionCookie] != nil {
		t.Errorf("a wrong password: %d, %v", answer.StatusCode, b.jar)
	}
	has(t, body, "The name or the password is not right.", `value="painter"`, `Ada%20&amp;%20Sons`)
	hasNot(t, body, "wrong words here")
	in.Set("password", "right words here")
	answer, _ = b.ask("POST", "/signin", in)
	if answer.StatusCode != http.StatusSeeOther || answer.Header.Get("Location") != in.Get("to") {
		t.Fatalf("%d to %s", answer.StatusCode, answer.Header.Get("Location"))
	}
	c := b.jar[sessionCookie]
	if c == nil || !c.HttpOnly || c.SameSite != http.SameSiteLaxMode || c.Path != "/" || c.Secure || c.Domain != "" {
		t.Errorf("the session's cookie: %+v", c)
	}
	if answer, body = b.ask("GET", "/", nil); answer.StatusCode != http.StatusOK {
		t.Errorf("signed in: %d", answer.StatusCode)
	}
	has(t, body, "painter</summary>")
	if answer, _ = b.ask("POST", "/signout", url.Values{}); answer.Header.Get("Location") != "/signin?said=out" || b.jar[sessionCookie] != nil || len(d.out) != 1 {
		t.Errorf("out: to %s, %v, ended %v", answer.Header.Get("Location"), b.jar, d.out)
	}
}

// Over TLS the cookie is bound to it and to this host, and one that came without is not believed.
func TestCookieOverTLS(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	b := &browser{t: t, handler: handler, https: true}
	b.ask("POST", "/signin", url.Values{"name": {"viewer"}, "password": {"right words here"}})
	c := b.jar[secureSessionCookie]
	if c == nil || !c.Secure || !strings.HasPrefix(c.Name, "__Host-") || b.jar[sessionCookie] != nil {
		t.Fatalf("%+v", b.jar)
	}
	if answer, _ := b.ask("GET", "/", nil); answer.StatusCode != http.StatusOK {
		t.Errorf("status %d", answer.StatusCode)
	}
	c.Name = sessionCookie
	b.jar = map[string]*http.Cookie{sessionCookie: c}
	if answer, _ := b.ask("GET", "/", nil); answer.StatusCode != http.StatusSeeOther {
		t.Errorf("a cookie without its binding: status %d", answer.StatusCode)
	}
}

// A form whose session was lost comes back filled in and is sent by the person alone; a
// password never comes back.
func TestALostFormComesBack(t *testing.T) {
	f, d := newFake(), newFakeDoor()
	handler, _ := doored(t, f, d)
	b := &browser{t: t, handler: handler}
	typed := url.Values{
		"kind": {"cant"}, "area": {"house"}, "stage": {"wash"}, "once": {"o1"}, "pass": {"1"}, "happened": {"2026-04-07T10:00"},
		"note_cant": {"no water at the slip\n\"<b>hose</b>\" is cut"}, "old_password": {"do not show me"}, "word": {"nor me"},
	}
	answer, body := b.ask("POST", "/boat/Kestrel/press", typed)
	if answer.StatusCode != http.StatusUnauthorized || answer.Header.Get("WWW-Authenticate") == "" {
		t.Fatalf("status %d", answer.StatusCode)
	}
	has(t, body, "no water at the slip", "&lt;b&gt;hose", `name="kept"`, `name="to" value="/boat/Kestrel/press"`)
	hasNot(t, body, "do not show me", "nor me", "do+not+show", "<b>hose")
	kept := fieldValue(t, body, "kept")
	hasNot(t, kept, "do+not+show", "nor+me", "password")
	in := url.Values{"name": {"painter"}, "password": {"wrong"}, "to": {"/boat/Kestrel/press"}, "kept": {kept}}
	_, body = b.ask("POST", "/signin", in)
	if fieldValue(t, body, "kept") != kept {
		t.Error("a wrong password lost what was typed")
	}
	in.Set("password", "right words here")
	answer, body = b.ask("POST", "/signin", in)
	if answer.StatusCode != http.StatusOK || len(f.once) > 0 {
		t.Fatalf("status %d; sent by itself: %v", answer.StatusCode, f.once)
	}
	has(t, body, `action="/boat/Kestrel/press"`, "no water at the slip", "nothing was sent yet", "Send it as painter", "Can&#39;t", ">wash<", ">house<")
	hasNot(t, body, "do not show me", "nor me")
	again := url.Values{}
	for name := range typed {
		if name != "old_password" && name != "word" && name != "note_cant" {
			again.Set(name, fieldValue(t, body, name))
		}
	}
	again.Set("note_cant", typed.Get("note_cant"))
	for range 2 { // pressed twice it counts once
		if answer, body = b.ask("POST", "/boat/Kestrel/press", again); answer.StatusCode != http.StatusSeeOther {
			t.Fatalf("sent again: status %d: %s", answer.StatusCode, body)
		}
	}
	last := f.presses[len(f.presses)-1]
	if last.By != "painter" || last.Note != strings.TrimSpace(typed.Get("note_cant")) || len(f.once) != 1 {
		t.Errorf("%+v, %v", last, f.once)
	}
}

// fieldValue is the value of an input in a page.
func fieldValue(t *testing.T, body, name string) string {
	t.Helper()
	_, after, found := strings.Cut(body, `name="`+name+`" value="`)
	value, _, _ := strings.Cut(after, `"`)
	if !found {
		t.Fatalf("no field %s in the page", name)
	}
	return strings.NewReplacer("&amp;", "&", "&#43;", "+", "&#34;", `"`, "&lt;", "<", "&gt;", ">").Replace(value)
}

// A script of the pages is told by a code, and keeps what it has to send.
func TestScriptsAreToldByACode(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	for _, method := range []string{"GET", "POST"} {
		r := asking(method, map[string]string{"GET": "/boat/Kestrel", "POST": "/boat/Kestrel/press"}[method], url.Values{"a": {"b"}}, "")
		r.Header.Set("Sec-Fetch-Mode", "cors")
		answer, body := do(t, handler, r)
		if answer.StatusCode != http.StatusUnauthorized || strings.Contains(body, "<form") {
			t.Errorf("%s: status %d", method, answer.StatusCode)
		}
	}
}

// Too many tries of one name have to wait, and are told how long; another name and the right
// password after the wait are let in. Nobody is shut out for good.
func TestTooManyTries(t *testing.T) {
	f, d := newFake(), newFakeDoor()
	f.yard.People = []config.Person{{Name: "manager", Role: config.Manager}}
	clock := clockwork.NewFakeClockAt(now)
	o, _ := f.options()
	o.Door, o.Clock = d, clock
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	b := &browser{t: t, handler: handler}
	try := func(name, password string) (*http.Response, string) {
		return b.ask("POST", "/signin", url.Values{"name": {name}, "password": {password}})
	}
	var answer *http.Response
	var body string
	for n := range 6 {
		answer, body = try(" Painter ", "guess")
		if limited := answer.StatusCode == http.StatusTooManyRequests; limited != (n == 5) {
			t.Fatalf("try %d: status %d", n+1, answer.StatusCode)
		}
	}
	has(t, body, "Try again in 20 s", "nobody is shut out for good")
	if answer.Header.Get("Retry-After") == "" {
		t.Error("no Retry-After")
	}
	if answer, _ = try("painter", "right words here"); answer.StatusCode != http.StatusTooManyRequests {
		t.Errorf("within the wait: status %d", answer.StatusCode)
	}
	if answer, _ = try("viewer", "right words here"); answer.StatusCode != http.StatusSeeOther {
		t.Errorf("another name: status %d", answer.StatusCode)
	}
	clock.Advance(21 * time.Second)
	if answer, _ = try("painter", "right words here"); answer.StatusCode != http.StatusSeeOther {
		t.Errorf("after the wait: status %d", answer.StatusCode)
	}
	for n := range 5 { // begun anew
		if answer, _ = try("painter", "guess"); answer.StatusCode == http.StatusTooManyRequests {
			t.Errorf("after the right password, try %d has to wait", n+1)
		}
	}
}

// Thirty people behind one address sign in at seven; a loop from it does not go on for ever.
func TestOneAddressForAWholeShopFloor(t *testing.T) {
	l := newLimits()
	for n := range 30 {
		if wait := l.knock("painter "+string(rune('a'+n)), "10.0.0.1", now); wait > 0 {
			t.Fatalf("person %d waits %s", n+1, wait)
		}
	}
	waited := false
	for n := range 60 {
		waited = waited || l.knock("guess "+string(rune('a'+n)), "10.0.0.1", now) > 0
	}
	if !waited {
		t.Error("ninety names from one address in one moment, and none has to wait")
	}
}

// Forms sent by a loop are asked to wait, and given back; a person's fingers never are.
func TestTooManyForms(t *testing.T) {
	handler, _ := doored(t, newFake(), newFakeDoor())
	form := url.Values{"units": {"US"}, "note_x": {"keep me"}}
	for n := range 121 {
		answer, body := do(t, handler, asking("POST", "/you", form, "viewer"))
		if limited := answer.StatusCode == http.StatusTooManyRequests; limited != (n == 120) {
			t.Fatalf("form %d: status %d", n+1, answer.StatusCode)
		} else if limited {
			has(t, body, "keep me", `action="/you"`, "Send it")
		}
	}
	if answer, _ := do(t, handler, asking("POST", "/you", form, "painter")); answer.StatusCode != http.StatusSeeOther {
		t.Errorf("another session has to wait too: %d", answer.StatusCode)
	}
}

// An invitation is looked at as often as one likes and used once, by setting a password.
func TestWelcome(t *testing.T) {
	d := newFakeDoor()
	handler, _ := doored(t, newFake(), d)
	b := &browser{t: t, handler: handler}
	link := "/welcome?word=" + wordFor("invitation")
	for range 3 {
		answer, body := b.ask("GET", link, nil)
		if answer.StatusCode != http.StatusOK {
			t.Fatalf("status %d", answer.StatusCode)
		}
		has(t, body, "<b>painter</b>", `autocomplete="new-password"`)
	}
	if answer, body := b.ask("GET", "/welcome?word=other", nil); answer.StatusCode != http.StatusGone || strings.Contains(body, "<form") {
		t.Errorf("another word: status %d", answer.StatusCode)
	}
	answer, body := b.ask("POST", "/welcome", url.Values{"word": {wordFor("invitation")}, "password": {"short"}})
	if answer.StatusCode != http.StatusUnprocessableEntity || strings.Contains(body, "short") {
		t.Errorf("a weak password: status %d", answer.StatusCode)
	}
	answer, _ = b.ask("POST", "/welcome", url.Values{"word": {wordFor("invitation")}, "password": {"gull ladder seven"}})
	if answer.Header.Get("Location") != "/you?said=welcome" || b.jar[sessionCookie] == nil {
		t.Fatalf("%d to %s, %v", answer.StatusCode, answer.Header.Get("Location"), b.jar)
	}
	_, body = b.ask("GET", "/you?said=welcome", nil)
	has(t, body, "Your password is set", "<b>painter</b>, painter", "this one")
}

// What a manager does, and what he is shown once.
func TestManagersPages(t *testing.T) {
	d := newFakeDoor()
	handler, _ := doored(t, newFake(), d)
	as := func(method, to string, form url.Values) (int, string) {
		answer, body := do(t, handler, asking(method, to, form, "manager"))
		return answer.StatusCode, body
	}
	status, body := as("POST", "/people/invite", url.Values{"person": {"Rui"}})
	if status != http.StatusOK || d.invited != "Rui" {
		t.Errorf("%d, invited %q", status, d.invited)
	}
	has(t, body, "http://example.com/welcome?word="+wordFor("invitation"), "until Wed 8 Apr 10:20")
	status, body = as("POST", "/tokens", url.Values{"name": {"gateway 2"}, "scope": {"readings", "plan"}})
	if status != http.StatusOK || len(d.made) != 1 || len(d.made[0].Scopes) != 2 || d.made[0].Owner != "" {
		t.Errorf("%d, %+v", status, d.made)
	}
	has(t, body, wordFor("made"))
	_, body = as("GET", "/tokens", nil)
	has(t, body, "gateway", "readings", "never", "revoked Tue 7 Apr 10:20")
	hasNot(t, body, wordFor("made"))
	_, body = as("GET", "/changes", nil)
	has(t, body, "Started", "mask on Kestrel", "phone at 10.0.0.7", "Ines")
	_, body = as("GET", "/changes?by=Ines&day=2026-04-07", nil)
	has(t, body, "mask on Kestrel", `value="2026-04-07"`)
	for _, none := range []string{"?by=Rui", "?day=2026-04-06", "?by=Ines&day=2026-04-08"} {
		_, body = as("GET", "/changes"+none, nil)
		hasNot(t, body, "mask on Kestrel")
	}
	// A person's own key of a calendar.
	answer, body := do(t, handler, asking("POST", "/you/calendar", url.Values{"calendar": {"place Booth 1"}}, "viewer"))
	if answer.StatusCode != http.StatusOK || d.made[1].Owner != "viewer" || d.made[1].Scopes[0] != door.Calendar || len(d.made[1].Scopes) != 1 {
		t.Errorf("%d, %+v", answer.StatusCode, d.made)
	}
	has(t, body, "http://example.com/calendar/place/Booth%201.ics?key="+wordFor("made"))
	key := wordFor("calendar")
	if answer, body := do(t, handler, httptest.NewRequest("GET", "/calendar/place/Booth%201.ics?key="+key, nil)); answer.StatusCode != http.StatusOK || !strings.Contains(body, "BEGIN:VCALENDAR") {
		t.Errorf("by its key: %d", answer.StatusCode)
	}
	if answer, _ := do(t, handler, httptest.NewRequest("GET", "/place/Booth%201?key="+key, nil)); answer.StatusCode == http.StatusOK {
		t.Error("a calendar's key opens a page")
	}
	// And of a boat's, which is chosen by its name.
	_, body = do(t, handler, asking("GET", "/you", nil, "viewer"))
	has(t, body, "<option>boat Kestrel</option>", "<option>place Booth 1</option>")
	_, body = do(t, handler, asking("POST", "/you/calendar", url.Values{"calendar": {"boat Kestrel"}}, "viewer"))
	has(t, body, "http://example.com/calendar/boat/Kestrel.ics?key="+wordFor("made"))
	answer, _ = do(t, handler, asking("POST", "/you/calendar", url.Values{"calendar": {"boat Nobody"}}, "viewer"))
	if answer.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("a boat that is none: %d", answer.StatusCode)
	}
}

// FuzzBackTo: whoever signs in is led to a path of these pages and nowhere else.
func FuzzBackTo(f *testing.F) {
	for _, s := range []string{"/", "/boat/x?a=b", "//evil.example", `/\evil.example`, "https://evil.example/", "/signin?to=/", "javascript:alert(1)", "/a\r\nSet-Cookie: x=y", "/%2f%2fevil", "", "/a#b", "/\t/evil.example"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, to string) {
		back := backTo(to)
		base, _ := url.Parse("https://yard.example/signin")
		u, err := base.Parse(back)
		if err != nil || u.Host != "yard.example" || u.Scheme != "https" || strings.ContainsAny(back, "\r\n\\") || strings.HasPrefix(back, "//") || u.Path == "/signin" {
			t.Errorf("%q leads to %q", to, back)
		}
	})
}

// FuzzSessionCookie: what is looked for in the store has the form of a word.
func FuzzSessionCookie(f *testing.F) {
	f.Add("fairwindow_session=" + wordFor("viewer"))
	f.Add("fairwindow_session=; fairwindow_session=x; a=b")
	f.Add(`fairwindow_session="` + wordFor("viewer") + `"`)
	f.Fuzz(func(t *testing.T, header string) {
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("Cookie", header)
		if word := sessionOf(r); word != "" && (len(word) != 43 || !door.Whole(word)) {
			t.Errorf("%q gives %q", header, word)
		}
	})
}

// A server before the pages says for whom it asks, and only one on this machine is believed.
func TestAddresses(t *testing.T) {
	for _, tt := range []struct{ remote, forwarded, want string }{
		{"10.0.0.7:1234", "", "10.0.0.7"}, {"10.0.0.7:1234", "1.2.3.4", "10.0.0.7"},
		{"127.0.0.1:1", "1.2.3.4", "1.2.3.4"}, {"127.0.0.1:1", "6.6.6.6, 1.2.3.4", "1.2.3.4"}, {"[::1]:1", "2001:db8::1", "2001:db8::1"},
		{"127.0.0.1:1", "nonsense", "127.0.0.1"}, {"127.0.0.1:1", "", "127.0.0.1"},
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.RemoteAddr = tt.remote
		if tt.forwarded != "" {
			r.Header.Set("X-Forwarded-For", tt.forwarded)
		}
		if got := addressOf(r); got != tt.want {
			t.Errorf("%s for %q: %s, want %s", tt.remote, tt.forwarded, got, tt.want)
		}
	}
}

// A painter who signs in begins at his work, unless he was on his way elsewhere.
func TestLanding(t *testing.T) {
	for _, c := range []struct{ as, to, lands string }{
		{"painter", "/", "/shift"}, {"painter", "", "/shift"}, {"painter", "/boat/Kestrel", "/boat/Kestrel"},
		{"scheduler", "/", "/"}, {"manager", "/", "/"}, {"viewer", "/", "/"},
	} {
		handler, _ := doored(t, newFake(), newFakeDoor())
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, asking("POST", "/signin", url.Values{"name": {c.as}, "password": {"right words here"}, "to": {c.to}}, ""))
		if at := w.Header().Get("Location"); w.Code != http.StatusSeeOther || at != c.lands {
			t.Errorf("%s to %q lands at %q, %d; want %q", c.as, c.to, at, w.Code, c.lands)
		}
	}
}
