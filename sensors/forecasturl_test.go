package sensors

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// site is a weather service of these tests: a real server whose next answer a test
// sets, and which keeps what it was asked.
type site struct {
	*httptest.Server
	mu    sync.Mutex // a question that was left may still be on its way in
	serve http.HandlerFunc
	asked []http.Header
}

// answers sets the next answer though somebody may still be asking.
func (s *site) answers(serve http.HandlerFunc) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.serve = serve
}

func newSite(t *testing.T) *site {
	t.Helper()
	s := &site{}
	s.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.mu.Lock()
		s.asked = append(s.asked, r.Header.Clone())
		serve := s.serve
		s.mu.Unlock()
		serve(w, r)
	}))
	t.Cleanup(s.Close)
	return s
}

// gives answers with a status, headers as "Name: value", and a body.
func gives(status int, body string, headers ...string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) {
		for _, h := range headers {
			name, value, _ := strings.Cut(h, ": ")
			w.Header().Set(name, value)
		}
		w.WriteHeader(status)
		_, _ = w.Write([]byte(body))
	}
}

// reader polls a site by a played clock.
type reader struct {
	*Address
	t       *testing.T
	clock   *clockwork.FakeClock
	out     outbox
	options AddressOptions
	refused []string
}

func newReader(t *testing.T, s *site) *reader {
	t.Helper()
	r := &reader{t: t, clock: clockwork.NewFakeClockAt(noon)}
	r.options = AddressOptions{
		Source: config.Forecast{Name: "f", URL: s.URL + "/doc?key=hush", Every: unit.Duration(time.Hour)},
		Client: s.Client(), Agent: "fairwindow (yard)", Parse: parseWord, Intake: r.out.take, Clock: r.clock,
		Refuse: func(d Document, why error) { r.refused = append(r.refused, fmt.Sprintf("%s: %v", d.Body, why)) },
	}
	r.Address = NewAddress(r.options)
	return r
}

// poll fetches once: what was taken in, what went wrong and how long to wait then.
func (r *reader) poll(took, fault string, wait time.Duration) {
	r.t.Helper()
	err := r.Poll(r.t.Context())
	if got := r.out.said(); got != took {
		r.t.Errorf("took %q, want %q", got, took)
	}
	if (err == nil) != (fault == "") || err != nil && !strings.Contains(err.Error(), fault) {
		r.t.Errorf("%v, want %q", err, fault)
	}
	if err != nil && strings.Contains(err.Error(), "hush") {
		r.t.Errorf("the key is told: %v", err)
	}
	if got := r.Next().Sub(r.clock.Now()); wait >= 0 && got != wait {
		r.t.Errorf("waits %s, want %s", got, wait)
	}
}

// restart goes on from what was remembered, as JSON.
func (r *reader) restart() {
	r.t.Helper()
	text, err := json.Marshal(r.State())
	if err != nil {
		r.t.Fatal(err)
	}
	if strings.Contains(string(text), "hush") {
		r.t.Errorf("the key is remembered in the open: %s", text)
	}
	r.options.State = AddressState{}
	if err := json.Unmarshal(text, &r.options.State); err != nil {
		r.t.Fatal(err)
	}
	r.Address = NewAddress(r.options)
}

const whenever = time.Duration(-1) // of a wait that is not the point

// TestUnchanged: an unchanged forecast is no new one, also after a restart, and
// the request says what we have: RFC 9110 sections 13.1.2 and 13.1.3.
func TestUnchanged(t *testing.T) {
	s := newSite(t)
	r := newReader(t, s)
	s.serve = gives(200, "one", `ETag: "a"`, "Last-Modified: Mon, 06 Apr 2026 06:00:00 GMT")
	r.poll("one@12:00", "", time.Hour)
	s.serve = gives(304, "", `ETag: "a"`)
	r.poll("", "", time.Hour)
	next := r.Next()
	r.restart()
	if !r.Next().Equal(next) || r.Due().Before(next) { // which of the two said so is not remembered
		t.Errorf("after a restart it asks at %v, by a look at %v, not at %v", r.Next(), r.Due(), next)
	}
	r.poll("", "", time.Hour)
	last := s.asked[len(s.asked)-1]
	if last.Get("If-None-Match") != `"a"` || last.Get("If-Modified-Since") != "Mon, 06 Apr 2026 06:00:00 GMT" {
		t.Errorf("asked with %v", last)
	}
	s.serve = gives(200, "one", `ETag: "b"`)
	r.poll("", "", time.Hour) // the same under another mark
	s.serve = gives(200, "two", `ETag: "c"`)
	r.restart()
	r.clock.Advance(time.Hour)
	r.poll("two@13:00", "", time.Hour)
	if last := s.asked[len(s.asked)-1]; last.Get("If-None-Match") != `"b"` || last.Get("If-Modified-Since") != "" {
		t.Errorf("the marks of an older answer stay: %v", last)
	}

	// RFC 9111 section 4.3.4: a 304 with another strong validator is not of our document.
	s.serve = gives(304, "", `ETag: "x"`)
	r.poll("", "another document", whenever)
	s.serve = gives(200, "three", `ETag: "x"`)
	r.poll("three@13:00", "", time.Hour)
	if last := s.asked[len(s.asked)-1]; last.Get("If-None-Match") != "" {
		t.Errorf("asked for %v, want it whole", last)
	}
	s.serve = gives(200, "four", `ETag: "y"`, "Cache-Control: no-store")
	r.poll("four@13:00", "", time.Hour)
	s.serve = gives(304, "")
	r.poll("", "asked for the whole", whenever)
}

// TestAnotherAddress: what was remembered of one address or format says nothing of
// another, and a time to wait until that no clock of ours wrote is not waited for.
func TestAnotherAddress(t *testing.T) {
	s := newSite(t)
	r := newReader(t, s)
	s.serve = gives(200, "one", `ETag: "a"`)
	r.poll("one@12:00", "", time.Hour)
	r.options.Source.Format = "csv"
	r.restart()
	if r.State().ETag != "" || !r.Next().IsZero() {
		t.Errorf("read as another format: %+v", r.State())
	}
	r.poll("one@12:00", "", time.Hour)
	r.options.Source.URL += "2"
	r.restart()
	if r.State().ETag != "" {
		t.Errorf("of another address: %+v", r.State())
	}
	r.poll("one@12:00", "", time.Hour)
	r.options.State = r.State()
	r.options.State.Next = noon.AddDate(1, 0, 0)
	if a := NewAddress(r.options); !a.Next().IsZero() || a.State().ETag == "" {
		t.Errorf("a year ahead: %+v", a.State())
	}
}

// TestFresh: how long an answer counts as the newest. RFC 9111 section 4.2.1 for what
// wins, 4.2.3 for the age, 5.2.2 for Cache-Control, 5.3 for Expires.
func TestFresh(t *testing.T) {
	s := newSite(t)
	date := func(after time.Duration) string { return noon.Add(after).Format(http.TimeFormat) }
	for _, c := range []struct {
		headers string
		wait    time.Duration
	}{
		{"", time.Hour}, // the yard's own
		{"Cache-Control: max-age=7200", 2 * time.Hour},
		{"Cache-Control: max-age=60", time.Hour}, // no sooner than the yard asked for
		{"Cache-Control: public, MAX-AGE=\"7200\"", 2 * time.Hour},
		{"Cache-Control: max-age=7200|Age: 1800", 90 * time.Minute},
		{"Cache-Control: max-age=7200|Date: " + date(-20*time.Minute), 100 * time.Minute},
		{"Cache-Control: max-age=7200|Date: " + date(time.Hour), 2 * time.Hour}, // its clock runs ahead
		{"Cache-Control: max-age=7200|Expires: " + date(5*time.Hour), 2 * time.Hour},
		{"Expires: " + date(2*time.Hour) + "|Date: " + date(0), 2 * time.Hour},
		{"Expires: " + date(3*time.Hour) + "|Date: " + date(time.Hour), 2 * time.Hour},
		{"Expires: 0|Date: " + date(0), time.Hour},
		{"Cache-Control: max-age=soon|Expires: " + date(2*time.Hour) + "|Date: " + date(0), 2 * time.Hour},
		{"Cache-Control: no-cache, max-age=7200", time.Hour},
		{"Cache-Control: no-store, max-age=7200", time.Hour},
		{"Cache-Control: max-age=31536000", longestFresh},
		{"Cache-Control: max-age=99999999999999999999", longestFresh},
		{"Cache-Control: max-age=-7200", time.Hour},
	} {
		t.Run(c.headers, func(t *testing.T) {
			r := newReader(t, s)
			headers := []string{`ETag: "a"`}
			if c.headers != "" {
				headers = append(headers, strings.Split(c.headers, "|")...)
			}
			if !strings.Contains(c.headers, "Date: ") {
				headers = append(headers, "Date: "+date(0))
			}
			s.serve = gives(200, "one", headers...)
			r.poll("one@12:00", "", c.wait)
			if strings.Contains(c.headers, "no-store") {
				return
			}
			s.serve = gives(304, "", headers...)
			r.poll("", "", c.wait)
		})
	}
}

// TestBackOff: a source that fails is asked ever less often, up to an hour or to the
// yard's own interval, and no sooner than it asks for: RFC 9110 section 10.2.3.
func TestBackOff(t *testing.T) {
	s := newSite(t)
	r := newReader(t, s)
	s.serve = gives(503, "busy")
	for i, most := range []time.Duration{1, 2, 4, 8, 16, 32, 60, 60, 60} {
		most *= time.Minute
		r.poll("", "503", whenever)
		if wait := r.Next().Sub(r.clock.Now()); wait < most/2 || wait > most {
			t.Errorf("after failure %d it waits %s, want %s to %s", i+1, wait, most/2, most)
		}
		r.clock.Advance(r.Next().Sub(r.clock.Now()))
		if i%2 == 0 {
			r.restart()
		}
	}
	s.serve = gives(429, "", "Retry-After: 7200")
	r.poll("", "it asks to wait: 7200", 2*time.Hour)
	s.serve = gives(503, "", "Retry-After: "+r.clock.Now().Add(3*time.Hour).Truncate(time.Second).Format(http.TimeFormat))
	r.poll("", "503", whenever)
	if wait := r.Next().Sub(r.clock.Now()); wait <= 3*time.Hour-time.Second || wait > 3*time.Hour || r.Due().Before(r.Next()) {
		t.Errorf("waits %s, by a look until %v", wait, r.Due())
	}
	s.serve = gives(503, "", "Retry-After: 31536000")
	r.poll("", "503", longestWait)
	s.serve = gives(200, "one")
	r.poll("one@"+r.clock.Now().Format("15:04"), "", whenever)
	if r.State().Failed != 0 || r.State().Why != "" {
		t.Errorf("after a good one: %+v", r.State())
	}
}

// TestBackOffScatters: two addresses that fail together are not asked again together,
// and one address by the same clock always waits the same.
func TestBackOffScatters(t *testing.T) {
	var tenths [10]int
	for i := range 1000 {
		state := AddressState{Of: fmt.Sprint(i), Failed: 3}
		wait := backOff(state, noon, time.Hour)
		if again := backOff(state, noon, time.Hour); again != wait {
			t.Fatalf("%s, then %s", wait, again)
		}
		tenths[min(9, int(10*(wait-2*time.Minute)/(2*time.Minute)))]++
	}
	for i, n := range tenths { // 100 each, with a standard deviation of 9.5
		if n < 50 || n > 150 {
			t.Errorf("tenth %d has %d of 1000", i, n)
		}
	}
}

// TestEachLook: an address that is asked "every: 1 min" is asked at each minute's look, though
// looks ring late by some milliseconds and an answer takes a while; but never before its
// server's own time is over.
func TestEachLook(t *testing.T) {
	s := newSite(t)
	r := newReader(t, s)
	r.options.Source.Every = unit.Duration(time.Minute)
	r.Address = NewAddress(r.options)
	fresh := ""
	s.serve = func(w http.ResponseWriter, _ *http.Request) {
		r.clock.Advance(20 * time.Second) // as long as the answer takes
		gives(200, "one", fresh)(w, nil)
	}
	asked := 0
	for minute, late := range []time.Duration{40, 10, 900, 0, 3} {
		look := noon.Add(time.Duration(minute)*time.Minute + late*time.Millisecond)
		r.clock.Advance(look.Sub(r.clock.Now()))
		if minute == 3 {
			fresh = "Cache-Control: max-age=60" // 20 s after the look, so 20 s past the next
		}
		if r.clock.Now().Before(r.Due()) {
			continue
		}
		asked++
		r.poll([]string{"one@12:00", ""}[min(minute, 1)], "", whenever)
	}
	if asked != 4 || r.clock.Now().After(r.Due()) {
		t.Errorf("asked at %d of 4 looks; then not before %v", asked, r.Due())
	}
}
