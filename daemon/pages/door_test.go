package pages

import (
	"context"
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
