package pages

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"fairwindow/config"
)

// get asks for a page and returns its answer and its text, blanks run together.
func get(t *testing.T, f *fake, path string) (*http.Response, string) {
	t.Helper()
	return do(t, handlerOf(t, f), httptest.NewRequest("GET", path, nil))
}

func do(t *testing.T, handler http.Handler, r *http.Request) (*http.Response, string) {
	t.Helper()
	w := httptest.NewRecorder()
	handler.ServeHTTP(w, r)
	return w.Result(), w.Body.String()
}

func post(t *testing.T, f *fake, path string, form url.Values) (*http.Response, string) {
	t.Helper()
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return do(t, handlerOf(t, f), r)
}

func has(t *testing.T, body string, wants ...string) {
	t.Helper()
	for _, want := range wants {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

func hasNot(t *testing.T, body string, banned ...string) {
	t.Helper()
	for _, ban := range banned {
		if strings.Contains(body, ban) {
			t.Errorf("the page says %q", ban)
		}
	}
}

// pagesOf are all the pages people read.
var pagesOf = []string{
	"/", "/?days=2", "/?days=42", "/?plan=told", "/?from=2026-03-27", "/place/Booth%201", "/place/North%20shed", "/place/Slip%202", "/place/Hardstand",
	"/boat/Kestrel", "/boat/Ada%20&%20Sons", "/boat/Plover", "/boat/Kestrel?area=topsides&stage=mask", "/notices", "/notices?days=28",
	"/shift", "/shift?boat=Kestrel&area=topsides&stage=gloss+coat", "/shift?boat=Plover&area=house&stage=gloss+coat",
	"/you", "/board", "/mix", "/mix?card=Gloss+topcoat&area=64+m2&temp=18+C",
	"/boats", "/boats/new", "/boats/new?like=Kestrel", "/boats/import", "/boat/Kestrel/edit", "/boat/Ada%20&%20Sons/history",
	"/systems", "/systems/new", "/systems/new?like=topsides+gloss", "/system/topsides%20gloss", "/cards",
}

func TestEveryPage(t *testing.T) {
	// An element name, then an attribute that would be an inline script or style.
	inline := regexp.MustCompile(`(?i)<[a-z][^>]*\s(on[a-z]+|style)\s*=|<style|<script>|javascript:`)
	unsaid := regexp.MustCompile(`(?i)\bsafe(ly|ty)?\b`)
	for _, page := range pagesOf {
		t.Run(page, func(t *testing.T) {
			answer, body := get(t, newFake(), page)
			if answer.StatusCode != http.StatusOK {
				t.Fatalf("status %d", answer.StatusCode)
			}
			if len(body) > 150_000 {
				t.Errorf("%d bytes, at most 150 kB", len(body))
			}
			if found := inline.FindString(body); found != "" {
				t.Errorf("inline script or style, which the policy forbids: %s", found)
			}
			if found := unsaid.FindString(body); found != "" {
				t.Errorf("the page says %q", found)
			}
			if strings.Contains(body, "ZgotmplZ") || strings.Contains(body, "<no value>") || strings.Contains(body, "NaN") {
				t.Error("a value did not reach the page")
			}
			has(t, body, `<html lang="en">`, `<main id="main">`, `<nav aria-label="Pages">`, "<footer>", "Forecast harbour is 19 h old", "Europe/Lisbon")
			policy := answer.Header.Get("Content-Security-Policy")
			has(t, policy, "default-src 'none'", "script-src 'self'", "style-src 'self'", "frame-ancestors 'none'")
			hasNot(t, policy, "unsafe")
			for name, want := range map[string]string{
				"X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY", "Cache-Control": "no-store", "Content-Type": "text/html; charset=utf-8",
			} {
				if got := answer.Header.Get(name); got != want {
					t.Errorf("%s is %q, want %q", name, got, want)
				}
			}
		})
	}
}

// A label for each field, a name for each button: each input stands inside its label.
func TestEveryFieldIsLabelled(t *testing.T) {
	field := regexp.MustCompile(`<(input|select|textarea)\b[^>]*>`)
	for _, page := range pagesOf {
		_, body := get(t, newFake(), page)
		for _, at := range field.FindAllStringIndex(body, -1) {
			tag := body[at[0]:at[1]]
			before := body[:at[0]]
			if !strings.Contains(tag, `type="hidden"`) && strings.LastIndex(before, "<label") <= strings.LastIndex(before, "</label") {
				t.Errorf("%s: no label about %s", page, tag)
			}
		}
	}
}

// Boats go in and out by their own handler where there is one.
func TestBoatsRoute(t *testing.T) {
	f := newFake()
	if answer, _ := get(t, f, "/v1/boats"); answer.StatusCode != http.StatusNotFound {
		t.Errorf("with no handler: status %d", answer.StatusCode)
	}
	o, _ := f.options()
	var methods []string
	o.Boats = http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) { methods = append(methods, r.Method) })
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	for _, method := range []string{"GET", "POST"} {
		handler.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest(method, "/v1/boats", nil))
	}
	if strings.Join(methods, " ") != "GET POST" {
		t.Errorf("taken: %v", methods)
	}
}

func TestNamesAreEscaped(t *testing.T) {
	f := newFake()
	const evil = `<script>alert("x")</script>`
	f.boats[0].Name, f.yard.Places[0].Name, f.yard.Name, f.health = evil, evil, evil, []string{evil}
	for i := range f.presses {
		if f.presses[i].Key.Boat == "Kestrel" {
			f.presses[i].Key.Boat, f.presses[i].Note, f.presses[i].By = evil, evil, evil
		}
	}
	f.notes[0].Boat = evil
	f.draft.Stages[0].Key.Boat, f.draft.Stages[0].Key.Stage, f.draft.Blocks[0].Boat = evil, evil, evil
	for _, page := range []string{"/", boatLink(evil), placeLink(evil), "/notices", "/mix?card=" + url.QueryEscape(evil), "/place/nowhere" + url.PathEscape(evil)} {
		answer, body := get(t, f, page)
		if answer.StatusCode >= 500 {
			t.Errorf("%s: status %d", page, answer.StatusCode)
		}
		hasNot(t, body, "<script>alert")
	}
}

func TestOtherSitesAreRefused(t *testing.T) {
	f := newFake()
	handler := handlerOf(t, f)
	for _, path := range []string{"/release", "/boat/Kestrel/press", "/place/Booth%201/reading", "/v1/readings"} {
		for _, header := range [][2]string{{"Sec-Fetch-Site", "cross-site"}, {"Origin", "https://elsewhere.example"}} {
			r := httptest.NewRequest("POST", path, strings.NewReader("by=x"))
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set(header[0], header[1])
			answer, _ := do(t, handler, r)
			if answer.StatusCode != http.StatusForbidden {
				t.Errorf("%s with %s: status %d, want 403", path, header[0], answer.StatusCode)
			}
		}
	}
	if len(f.taken)+len(f.released)+len(f.once) > 0 {
		t.Error("something was kept")
	}
	// A sensor's gateway is no browser and sends neither header.
	answer, body := do(t, handler, httptest.NewRequest("POST", "/v1/readings", strings.NewReader("{}")))
	if answer.StatusCode != http.StatusOK || body != "taken in" {
		t.Errorf("a gateway got %d %q", answer.StatusCode, body)
	}
}

func TestWhatIsNotThere(t *testing.T) {
	f := newFake()
	for _, page := range []string{"/place/Booth%209", "/boat/Nobody", "/elsewhere", "/static/none.css", "/static/..%2fpages.go"} {
		answer, body := get(t, f, page)
		if answer.StatusCode != http.StatusNotFound && answer.StatusCode != http.StatusBadRequest {
			t.Errorf("%s: status %d, want 404 or 400", page, answer.StatusCode)
		}
		hasNot(t, body, "package pages")
	}
	answer, body := get(t, f, "/place/Booth%209")
	if answer.Header.Get("Content-Security-Policy") == "" {
		t.Error("no policy on an error page")
	}
	has(t, body, "There is no place called", "Booth 9", "To the week")
}

// What went wrong goes to the log, with the page named; people get a way out.
func TestFaultsAreLoggedAndNotShown(t *testing.T) {
	f := newFake()
	f.broken = errors.New("disk I/O error at /var/lib/x.db")
	o, hook := f.options()
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/", "/place/Booth%201", "/boat/Kestrel", "/v1/plan", "/readyz"} {
		hook.Reset()
		answer, body := do(t, handler, httptest.NewRequest("GET", path, nil))
		if answer.StatusCode < 500 {
			t.Errorf("%s: status %d", path, answer.StatusCode)
		}
		hasNot(t, body, "disk I/O", "/var/lib")
		if n := len(hook.AllEntries()); n != 1 {
			t.Errorf("%s: %d lines in the log, want 1", path, n)
		}
	}
}

func TestProbesAndPlans(t *testing.T) {
	f := newFake()
	for path, want := range map[string]string{"/healthz": "alive", "/readyz": "ready", "/metrics": "metrics"} {
		answer, body := get(t, f, path)
		if answer.StatusCode != http.StatusOK || strings.TrimSpace(body) != want {
			t.Errorf("%s: %d %q", path, answer.StatusCode, body)
		}
	}
	for path, number := range map[string]int64{"/v1/plan": 11, "/v1/draft": 12} {
		answer, body := get(t, f, path)
		var got numbered
		if err := json.Unmarshal([]byte(body), &got); err != nil {
			t.Fatalf("%s: %v", path, err)
		}
		if got.Number != number || len(got.Plan.Stages) != 8 || answer.Header.Get("Content-Type") != "application/json" {
			t.Errorf("%s: number %d, %d stages, %s", path, got.Number, len(got.Plan.Stages), answer.Header.Get("Content-Type"))
		}
	}
	f.toldID = 0
	if answer, body := get(t, f, "/v1/plan"); answer.StatusCode != http.StatusNotFound || !strings.Contains(body, "no such plan yet") {
		t.Errorf("no plan: %d %q", answer.StatusCode, body)
	}
}

func TestStaticFilesAreKeptByTheirPrint(t *testing.T) {
	f := newFake()
	_, page := get(t, f, "/")
	for _, file := range regexp.MustCompile(`/static/[a-z.]+\?v=[0-9a-f]+`).FindAllString(page, -1) {
		answer, body := get(t, f, file)
		if answer.StatusCode != http.StatusOK || body == "" || !strings.Contains(answer.Header.Get("Cache-Control"), "immutable") {
			t.Errorf("%s: %d, %s", file, answer.StatusCode, answer.Header.Get("Cache-Control"))
		}
	}
	if answer, _ := get(t, f, "/static/app.css?v=old"); answer.Header.Get("Cache-Control") != "no-store" {
		t.Error("a file under another print may be kept")
	}
}

func TestNewNamesWhatIsMissing(t *testing.T) {
	_, err := New(Options{})
	if err == nil {
		t.Fatal("no error")
	}
	for _, name := range []string{"Plans", "Air", "Desk", "Intake", "Metrics", "Ready", "Log"} {
		has(t, err.Error(), "Options."+name+" is missing")
	}
}

func TestAnEmptyYard(t *testing.T) {
	f := &fake{yard: config.Yard{Name: "Empty", Zone: "nowhere/none"}, once: map[string]int{}}
	for _, page := range []string{"/", "/notices", "/mix"} {
		if answer, body := get(t, f, page); answer.StatusCode != http.StatusOK {
			t.Errorf("%s: %d %s", page, answer.StatusCode, body)
		}
	}
	_, body := get(t, f, "/")
	has(t, body, "There is no plan yet")
}

// publicError is a refusal as the desk gives it.
type publicError struct{ sentence string }

func (e publicError) Error() string  { return "cause for the log" }
func (e publicError) Public() string { return e.sentence }
