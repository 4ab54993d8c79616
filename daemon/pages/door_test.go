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
	"fairwindow/daemon/door"
	"fairwindow/daemon/signed"
	"fairwindow/planner"
	"fairwindow/sensors"

	"github.com/jonboulle/clockwork"
)

// fakeDoor knows people and machines by words that are their own names, filled up.
type fakeDoor struct {
	roles   map[string]config.Role // by name, who is signed in under wordFor(name)
	tokens  map[string]door.Machine
	out     []string // words signed out
	invited string
	made    []door.Machine
	broken  error
}

// wordFor is a word of the right form that belongs to a name.
func wordFor(name string) string {
	return strings.ReplaceAll(name, " ", "_") + strings.Repeat("A", 43-len(name))
}

func newFakeDoor() *fakeDoor {
	d := &fakeDoor{roles: map[string]config.Role{}, tokens: map[string]door.Machine{}}
	for _, r := range config.Roles() {
		d.roles[string(r)] = r
	}
	for _, s := range append(door.Scopes(), door.Doors) {
		d.tokens[wordFor(string(s))] = door.Machine{Name: "a " + string(s) + " token", Scopes: []door.Scope{s}}
	}
	return d
}

func (d *fakeDoor) SignIn(_ context.Context, name, password string) (string, error) {
	if _, known := d.roles[name]; !known || password != "right words here" {
		return "", publicError{"the name or the password is not right"}
	}
	return wordFor(name), d.broken
}
func (d *fakeDoor) Visitor(_ context.Context, word string) (door.Visitor, bool, error) {
	for name, role := range d.roles {
		if word == wordFor(name) && !slices.Contains(d.out, word) {
			return door.Visitor{Name: name, Role: role}, true, d.broken
		}
	}
	return door.Visitor{}, false, d.broken
}
func (d *fakeDoor) SignOut(_ context.Context, word string, _ bool) error {
	d.out = append(d.out, word)
	return nil
}
func (d *fakeDoor) Stays(context.Context, string, string) ([]door.Stay, error) {
	return []door.Stay{{Device: "phone", Address: "10.0.0.7", Begun: now, Seen: now, This: true}}, nil
}
func (d *fakeDoor) ChangePassword(_ context.Context, name, was, _ string) (string, error) {
	if was != "right words here" {
		return "", publicError{"the old password is not right"}
	}
	return wordFor(name), nil
}
func (d *fakeDoor) Invite(_ context.Context, name string) (string, time.Time, error) {
	d.invited = name
	return wordFor("invitation"), now.Add(24 * time.Hour), nil
}
func (d *fakeDoor) Invited(_ context.Context, word string) (string, bool, error) {
	return "painter", word == wordFor("invitation"), nil
}
func (d *fakeDoor) Accept(_ context.Context, word, password string) (string, error) {
	if word != wordFor("invitation") || len(password) < 10 {
		return "", publicError{"no"}
	}
	return wordFor("painter"), nil
}
func (d *fakeDoor) Guests(context.Context) ([]door.Guest, error) {
	return []door.Guest{{Name: "painter", Role: config.Painter, Knows: true, Stays: 1, Seen: now, Invited: now}, {Name: "Rui", Role: config.Viewer}}, nil
}
func (d *fakeDoor) ShutOut(context.Context, string) error { return nil }
func (d *fakeDoor) Machine(_ context.Context, word string) (door.Machine, bool, error) {
	m, known := d.tokens[word]
	return m, known, d.broken
}
func (d *fakeDoor) MakeToken(_ context.Context, m door.Machine) (string, error) {
	d.made = append(d.made, m)
	return wordFor("made"), nil
}
func (d *fakeDoor) Tokens(context.Context, string) ([]door.Token, error) {
	return []door.Token{{ID: 1, Machine: door.Machine{Name: "gateway", Scopes: []door.Scope{door.Readings}}, By: "manager", Made: now}, {ID: 2, Machine: door.Machine{Name: "old"}, Made: now, Used: now, Revoked: now}}, nil
}
func (d *fakeDoor) RevokeToken(context.Context, int64, string) error { return nil }
func (d *fakeDoor) Signed(_ context.Context, by string, from, to time.Time, _ int) ([]signed.Line, error) {
	line := signed.Line{At: now, Kind: "started", About: "mask on Kestrel", Hand: signed.Hand{By: "Ines", Role: "painter", Address: "10.0.0.7", Device: "phone", Through: "/boat/Kestrel/press"}}
	if by != "" && by != line.By || !from.IsZero() && now.Before(from) || !to.IsZero() && !now.Before(to) {
		return nil, nil
	}
	return []signed.Line{line}, nil
}
func (d *fakeDoor) Signers(context.Context) ([]string, error) { return []string{"Ines", "Rui"}, nil }

// doored is the invented yard behind a door.
func doored(t testing.TB, f *fake, d *fakeDoor) (http.Handler, *pages) {
	t.Helper()
	if f.yard.People == nil {
		f.yard.People = []config.Person{{Name: "manager", Role: config.Manager}}
	}
	o, _ := f.options()
	put := newWaiting()
	put.fake = f
	o.Waits, o.Studies = put, put
	o.Door, o.Boats, o.Clock = d, o.Intake, clockwork.NewFakeClockAt(now)
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return handler, &pages{Options: o, limits: newLimits()}
}

// asking is a request as a browser sends it, signed in as somebody or nobody.
func asking(method, to string, form url.Values, as string) *http.Request {
	r := httptest.NewRequest(method, to, strings.NewReader(form.Encode()))
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	r.Header.Set("Sec-Fetch-Mode", "navigate")
	if as != "" {
		r.AddCookie(&http.Cookie{Name: sessionCookie, Value: wordFor(as)})
	}
	return r
}

// mayBe is who may use each route, written down apart from routes.go: the least person, the
// token's scope; anyone if neither is asked. A new route is refused here until it is added.
var mayBe = map[string]struct {
	person config.Role
	scope  door.Scope
}{
	"GET /{$}":                      {"viewer", ""},
	"POST /release":                 {"scheduler", ""},
	"GET /place/{name}":             {"viewer", ""},
	"POST /place/{name}/reading":    {"painter", ""},
	"POST /place/{name}/signals":    {"painter", ""},
	"GET /boat/{name}":              {"viewer", ""},
	"POST /boat/{name}/press":       {"painter", ""},
	"GET /notices":                  {"viewer", ""},
	"POST /notice/{id}/heard":       {"painter", ""},
	"POST /push":                    {"viewer", ""},
	"GET /mix":                      {"viewer", ""},
	"GET /calendar/{of}/{file}":     {"viewer", "calendar"},
	"GET /you":                      {"viewer", ""},
	"POST /you":                     {"viewer", ""},
	"GET /events":                   {"viewer", "board"},
	"GET /v1/plan":                  {"", "plan"},
	"GET /v1/draft":                 {"", "plan"},
	"POST /v1/readings":             {"", "readings"},
	"GET /v1/boats":                 {"", "boats"},
	"POST /v1/boats":                {"", "boats"},
	"GET /metrics":                  {"", "metrics"},
	"GET /healthz":                  {"", ""},
	"GET /readyz":                   {"", ""},
	"GET /static/{file}":            {"", ""},
	"/":                             {"", ""},
	"GET /signin":                   {"", ""},
	"POST /signin":                  {"", ""},
	"POST /signout":                 {"", ""},
	"GET /welcome":                  {"", ""},
	"POST /welcome":                 {"", ""},
	"POST /you/password":            {"viewer", ""},
	"POST /you/calendar":            {"viewer", ""},
	"POST /you/calendar/revoke":     {"viewer", ""},
	"GET /people":                   {"manager", ""},
	"POST /people/invite":           {"manager", ""},
	"POST /people/shutout":          {"manager", ""},
	"GET /tokens":                   {"manager", ""},
	"POST /tokens":                  {"manager", ""},
	"POST /tokens/revoke":           {"manager", ""},
	"GET /changes":                  {"manager", ""},
	"POST /v1/invitations":          {"", "doors"},
	"POST /v1/tokens":               {"", "doors"},
	"GET /week/days":                {"viewer", ""},
	"GET /week/changes":             {"viewer", ""},
	"GET /shift":                    {"viewer", ""},
	"GET /place/{name}/air.csv":     {"viewer", ""},
	"GET /board":                    {"viewer", ""},
	"GET /board/{place}":            {"viewer", "board"},
	"GET /boat/{name}/record":       {"viewer", ""},
	"GET /boat/{name}/record.pdf":   {"viewer", ""},
	"GET /boat/{name}/record.csv":   {"viewer", ""},
	"GET /boat/{name}/record.json":  {"viewer", ""},
	"GET /boats":                    {"viewer", ""},
	"GET /boats/file/{file}":        {"viewer", ""},
	"GET /boat/{name}/history":      {"viewer", ""},
	"GET /systems":                  {"viewer", ""},
	"GET /system/{name}":            {"viewer", ""},
	"GET /system/{name}/file":       {"viewer", ""},
	"GET /system/{name}/history":    {"viewer", ""},
	"GET /cards":                    {"viewer", ""},
	"POST /shift/press":             {"painter", ""},
	"POST /shift/reading":           {"painter", ""},
	"POST /boat/{name}/entry":       {"painter", ""},
	"GET /boat/{name}/correct":      {"painter", ""},
	"POST /boat/{name}/slip":        {"painter", ""},
	"GET /log":                      {"painter", ""},
	"POST /log":                     {"painter", ""},
	"POST /log/{id}/strike":         {"painter", ""},
	"GET /week/try":                 {"scheduler", ""},
	"POST /week/keep":               {"scheduler", ""},
	"POST /shift/decide":            {"scheduler", ""},
	"GET /boat/{name}/evidence.zip": {"scheduler", ""},
	"POST /boat/{name}/strike":      {"scheduler", ""},
	"GET /boats/new":                {"scheduler", ""},
	"POST /boats/new":               {"scheduler", ""},
	"GET /boats/import":             {"scheduler", ""},
	"POST /boats/import":            {"scheduler", ""},
	"GET /boat/{name}/edit":         {"scheduler", ""},
	"POST /boat/{name}/edit":        {"scheduler", ""},
	"POST /boat/{name}/remove":      {"scheduler", ""},
	"POST /boat/{name}/back":        {"scheduler", ""},
	"GET /systems/new":              {"scheduler", ""},
	"POST /systems/new":             {"scheduler", ""},
	"GET /system/{name}/edit":       {"scheduler", ""},
	"POST /system/{name}/edit":      {"scheduler", ""},
	"POST /system/{name}/remove":    {"scheduler", ""},
	"GET /waits":                    {"scheduler", ""},
	"GET /waits/{file}":             {"scheduler", ""},
	"GET /waits/lost":               {"scheduler", ""},
	"GET /plan/{id}":                {"scheduler", ""},
	"POST /plan/{id}/again":         {"scheduler", ""},
	"GET /whatif":                   {"scheduler", ""},
	"POST /whatif":                  {"scheduler", ""},
	"GET /whatif/{id}":              {"scheduler", ""},
	"POST /boat/{name}/sign":        {"manager", ""},
	"GET /worker.js":                {"", ""},
}

// ranks are the roles from the least, written down apart from package config.
var ranks = []config.Role{"viewer", "painter", "scheduler", "manager"}

// Every route, for everybody who may come: who may not gets nothing done.
func TestEveryRouteForEverybody(t *testing.T) {
	_, p := doored(t, newFake(), newFakeDoor())
	comers := []string{"signed out", "ended session", "unknown token"}
	for _, r := range ranks {
		comers = append(comers, string(r))
	}
	for _, s := range append(door.Scopes(), door.Doors) {
		comers = append(comers, "token "+string(s))
	}
	there := map[string]bool{}
	for _, one := range p.routes() {
		there[one.pattern] = true
		want, written := mayBe[one.pattern]
		if !written {
			t.Errorf("%s: nobody wrote down here who may use it", one.pattern)
			continue
		}
		f, d := newFake(), newFakeDoor()
		handler, _ := doored(t, f, d)
		for _, comer := range comers {
			method, path, _ := strings.Cut(one.pattern, " ")
			if path == "" {
				method, path = "GET", "/nowhere"
			}
			path = strings.NewReplacer("{$}", "", "/place/{name}", "/place/Booth%201", "{place}", "Booth%201", "/boats/file/{file}", "/boats/file/boats.yaml", "/waits/{file}", "/waits/deferrals.csv", "/system/{name}", "/system/topsides%20gloss", "/plan/{id}", "/plan/1", "{name}", "Kestrel", "{id}", "x", "{of}/{file}", "place/Booth%201.ics", "{file}", "app.css").Replace(path)
			r := asking(method, path, url.Values{}, "")
			if path == "/events" {
				gone, leave := context.WithCancel(r.Context())
				leave()
				r = r.WithContext(gone)
			}
			role, isPerson := config.Role(comer), slices.Contains(ranks, config.Role(comer))
			scope, isToken := strings.CutPrefix(comer, "token ")
			switch {
			case isPerson:
				r.AddCookie(&http.Cookie{Name: sessionCookie, Value: wordFor(comer)})
			case comer == "ended session":
				r.AddCookie(&http.Cookie{Name: sessionCookie, Value: wordFor("ended")})
			case comer == "unknown token":
				r.Header.Set("Authorization", "Bearer "+wordFor("revoked"))
			case isToken:
				r.Header.Set("Authorization", "Bearer "+wordFor(scope))
			}
			lets := want.person == "" && want.scope == ""
			lets = lets || isPerson && want.person != "" && slices.Index(ranks, role) >= slices.Index(ranks, want.person)
			lets = lets || isToken && want.scope != "" && string(want.scope) == scope
			answer, body := do(t, handler, r)
			status := answer.StatusCode
			toSignIn := status == http.StatusSeeOther && strings.HasPrefix(answer.Header.Get("Location"), "/signin?to=")
			in := status != http.StatusUnauthorized && status != http.StatusForbidden && !toSignIn
			if in != lets {
				t.Errorf("%s as %s: status %d to %q, let in: %v, want %v", one.pattern, comer, status, answer.Header.Get("Location"), in, lets)
			}
			if lets {
				continue
			}
			// How it is refused: a person is shown the way in, or told whom to ask; a machine gets a code.
			stranger := comer == "signed out" || comer == "ended session"
			switch {
			case stranger && want.person != "" && want.scope == "" && method == "GET" && path != "/events":
				if !toSignIn {
					t.Errorf("%s as %s: status %d, want the way in", one.pattern, comer, status)
				}
			case stranger && want.person != "" && method == "POST":
				if status != http.StatusUnauthorized || !strings.Contains(body, `action="/signin"`) {
					t.Errorf("%s as %s: status %d, want the way in with what was typed", one.pattern, comer, status)
				}
			case isPerson && want.person != "":
				if status != http.StatusForbidden || !strings.Contains(body, "Ask a manager") || !strings.Contains(body, `href="/you">Sign out`) {
					t.Errorf("%s as %s: status %d, want a word whom to ask", one.pattern, comer, status)
				}
			}
			for _, secret := range []string{"Plover", "North shed", "Forecast harbour"} {
				if (stranger || isToken) && strings.Contains(body, secret) {
					t.Errorf("%s as %s: a stranger reads %q", one.pattern, comer, secret)
				}
			}
		}
		if len(f.taken)+len(f.released)+len(f.once) > 0 {
			t.Errorf("%s: an empty form changed something", one.pattern)
		}
	}
	for pattern := range mayBe {
		if !there[pattern] {
			t.Errorf("%s is written down here and is no route", pattern)
		}
	}
}

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
