package service

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	netmail "net/mail"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-smtp"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/notify"
)

// hall is where letters arrive: a real mail server and a real web server.
type hall struct {
	mu      sync.Mutex
	clock   func() time.Time
	letters []string // "Mon 15:04 mail Subject"
	ids     []string
	down    bool
}

func (h *hall) take(way, id, subject string) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.down {
		return &smtp.SMTPError{Code: 451, Message: "try later"}
	}
	h.letters = append(h.letters, h.clock().UTC().Format("Mon 15:04 ")+way+" "+subject)
	h.ids = append(h.ids, id)
	return nil
}

func (h *hall) NewSession(*smtp.Conn) (smtp.Session, error) { return inbox{h}, nil }

type inbox struct{ *hall }

func (inbox) Mail(string, *smtp.MailOptions) error { return nil }
func (inbox) Rcpt(string, *smtp.RcptOptions) error { return nil }
func (inbox) Reset()                               {}
func (inbox) Logout() error                        { return nil }
func (i inbox) Data(r io.Reader) error {
	m, err := netmail.ReadMessage(r)
	if err != nil {
		return err
	}
	subject, _, _ := strings.Cut(m.Header.Get("Subject"), " (")
	return i.take("mail", m.Header.Get("Message-ID"), subject)
}

func (h *hall) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	var b struct{ ID, Subject string }
	if json.NewDecoder(r.Body).Decode(&b) != nil || h.take("webhook", b.ID, b.Subject) != nil {
		w.WriteHeader(http.StatusServiceUnavailable)
	}
}

// open serves the hall and gives the yard file's lines of the people who are told there.
func (h *hall) open(t *testing.T) string {
	t.Helper()
	server := smtp.NewServer(h)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	go server.Serve(l)
	t.Cleanup(func() { server.Close() })
	web := httptest.NewServer(h)
	t.Cleanup(web.Close)
	return fmt.Sprintf(`
mail: {server: "%s", from: yard@yard.example, tls: none}
people:
  - {name: Ines, crews: [hands], mail: ines@yard.example, quiet: [{starts: "0 20 * * *", length: 10 h}], next: Rui, after: 20 min}
  - {name: Rui, hears: {kinds: [booth_stopped]}, webhook: {url: "%s/hook", secret_file: hook.key}}
forecasts:`, l.Addr(), web.URL)
}

// peopled is a rig that runs with those people.
func peopled(t *testing.T) (*rig, *hall) {
	t.Helper()
	h := &hall{}
	r := newRig(t, strings.Replace(yardText, "\nforecasts:", h.open(t), 1))
	h.clock = r.clock.Now
	if err := os.WriteFile(filepath.Join(r.folder, "hook.key"), []byte("hush\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	r.start()
	return r, h
}

// say commits notices as the guard would.
func (r *rig) say(all ...notify.Notice) {
	r.t.Helper()
	r.svc.mu.Lock()
	now := r.svc.clock.Now()
	for i := range all {
		all[i].At, all[i].ID = now, notify.ID(all[i])
	}
	_, err := r.svc.commit(context.Background(), store.Change{Notices: all})
	r.svc.mu.Unlock()
	if err != nil {
		r.t.Fatal(err)
	}
	r.settle()
}

func aboutOne(k notify.Kind, stage string) notify.Notice {
	return notify.Notice{Kind: k, Boat: "Boat One", Area: "topsides", Stage: stage, Occurrence: 1, Revision: 1, Place: "booth", Crew: "hands"}
}

func (h *hall) got(t *testing.T, want ...string) {
	t.Helper()
	h.mu.Lock()
	defer h.mu.Unlock()
	if !slices.Equal(h.letters, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(h.letters, "\n"), strings.Join(want, "\n"))
	}
}

// What is not called heard goes to the next person; what is, does not.
func TestToldAndPassedOn(t *testing.T) {
	t.Parallel()
	r, h := peopled(t)
	r.until(at(0, 7, 0))
	r.say(aboutOne(notify.WindowOpens, "first"))
	h.got(t, "Mon 07:00 mail Window opens: first on Boat One topsides")
	r.until(at(0, 7, 15))
	h.got(t, "Mon 07:00 mail Window opens: first on Boat One topsides")
	r.until(at(0, 7, 40))
	want := []string{"Mon 07:00 mail Window opens: first on Boat One topsides", "Mon 07:20 webhook Window opens: first on Boat One topsides"}
	h.got(t, want...)

	n := aboutOne(notify.MeasureNow, "first")
	r.say(n)
	if err := r.svc.Hear(t.Context(), notify.ID(n), 1, "Ines"); err != nil {
		t.Fatal(err)
	}
	r.until(at(0, 9, 0))
	h.got(t, append(want, "Mon 07:40 mail Measure now: first on Boat One topsides")...)
	if who, err := r.svc.HeardBy(t.Context(), monday); err != nil || who[notify.ID(n)][1] != "Ines" {
		t.Errorf("%v, %v", who, err)
	}
	for _, bad := range [][2]string{{"nothing", "Ines"}, {notify.ID(n), " "}} {
		if err := r.svc.Hear(t.Context(), bad[0], 1, bad[1]); err == nil {
			t.Errorf("%q was taken", bad)
		}
	}
}

// At night what can wait is held and comes in one letter, with what was overtaken left out; a
// wet coat breaks through. The list of changes comes before the shift.
func TestQuietHoursAndTheList(t *testing.T) {
	t.Parallel()
	r, h := peopled(t)
	r.until(at(0, 22, 0))
	r.say(aboutOne(notify.MeasureNow, "first"), aboutOne(notify.WindowOpens, "first"), aboutOne(notify.SourceSilent, ""))
	r.until(at(0, 23, 0))
	r.say(aboutOne(notify.WindowClosed, "first"))
	h.got(t)
	two := aboutOne(notify.WetCoatAtRisk, "second")
	two.Boat = "Boat Two"
	r.say(two)
	wet := "Mon 23:00 mail Wet coat at risk: second on Boat Two topsides"
	passed := "Mon 23:20 webhook Wet coat at risk: second on Boat Two topsides"
	r.until(at(1, 6, 0))
	h.got(t, wet, passed, "Tue 06:00 mail 2 notices")
	var moves []notify.Notice
	for _, boat := range []string{"Boat One", "Boat Two", "Boat Three"} {
		n := aboutOne(notify.StageMoved, "second")
		n.Boat = boat
		moves = append(moves, n)
	}
	r.until(at(1, 17, 0))
	for _, n := range moves {
		r.say(n)
	}
	r.until(at(2, 7, 0))
	if last := h.letters[len(h.letters)-1]; last != "Wed 06:30 mail Changes of plan: 3 stages" {
		t.Errorf("the list came as %q of %q", last, h.letters)
	}
}

// A mail server that is away for an hour and a daemon that is killed meanwhile lose nothing: the
// same letter goes out, under the same id, and what came later follows it.
func TestServerAway(t *testing.T) {
	t.Parallel()
	r, h := peopled(t)
	r.until(at(0, 7, 0))
	h.mu.Lock()
	h.down = true
	h.mu.Unlock()
	r.say(aboutOne(notify.WindowOpens, "first"))
	rows, err := r.svc.store.Deliveries(t.Context(), monday)
	if err != nil || len(rows) != 1 || rows[0].Tries != 1 || rows[0].Letter == "" || !strings.Contains(rows[0].Error, "try later") {
		t.Fatalf("%+v, %v", rows, err)
	}
	if err := r.svc.Hear(t.Context(), rows[0].Notice.ID, 1, "Rui"); err != nil {
		t.Fatal(err)
	}
	r.say(aboutOne(notify.WindowClosing, "first"))
	r.until(at(0, 7, 5))
	r.restart()
	r.until(at(0, 7, 15))
	h.got(t)
	h.mu.Lock()
	h.down = false
	h.mu.Unlock()
	r.until(at(0, 7, 50))
	if len(h.letters) < 2 || !strings.HasSuffix(h.letters[0], "mail Window opens: first on Boat One topsides") {
		t.Fatalf("%q", h.letters)
	}
	if want := "<" + rows[0].Letter + "@yard.example>"; h.ids[0] != want {
		t.Errorf("the id was %s, want %s", h.ids[0], want)
	}
	for _, l := range h.letters[1:] {
		if strings.Contains(l, "opens") {
			t.Errorf("told twice: %q", h.letters)
		}
	}
}

// A letter that is tried again, also after a restart, is the same to the last byte, though time is
// finer than what the store keeps of it.
func TestSameLetterAtEveryTry(t *testing.T) {
	t.Parallel()
	var mu sync.Mutex
	var tries []string
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		text, _ := io.ReadAll(r.Body)
		mu.Lock()
		defer mu.Unlock()
		tries = append(tries, string(text))
		if len(tries) < 3 {
			w.WriteHeader(http.StatusServiceUnavailable)
		}
	}))
	defer web.Close()
	r := newRig(t, strings.Replace(yardText, "\nforecasts:", fmt.Sprintf(`
people:
  - {name: Rui, webhook: {url: "%s", secret_file: hook.key}}
forecasts:`, web.URL), 1))
	if err := os.WriteFile(filepath.Join(r.folder, "hook.key"), []byte("hush\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	r.clock.Advance(1234567 * time.Nanosecond)
	r.start()
	r.say(aboutOne(notify.WindowClosed, "first"))
	r.until(at(0, 6, 10))
	r.restart()
	r.until(at(0, 6, 30))
	mu.Lock()
	defer mu.Unlock()
	if len(tries) != 3 || tries[1] != tries[0] || tries[2] != tries[0] {
		t.Errorf("%d tries, want 3 of one letter:\n%s", len(tries), strings.Join(tries, "\n"))
	}
}

// A letter that nobody takes for too long is given up, and what came later goes out when the way is
// free again.
func TestGivenUp(t *testing.T) {
	t.Parallel()
	r, h := peopled(t)
	r.until(at(0, 7, 0))
	h.mu.Lock()
	h.down = true
	h.mu.Unlock()
	r.say(aboutOne(notify.WindowOpens, "first"))
	rows, err := r.svc.store.Deliveries(t.Context(), monday)
	if err != nil || len(rows) != 1 {
		t.Fatalf("%+v, %v", rows, err)
	}
	letter := rows[0].Letter
	r.until(rows[0].Begun.Add(notify.GiveUpAfter + 40*time.Minute))
	rows, err = r.svc.store.Deliveries(t.Context(), monday)
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range rows {
		if d.Letter == letter && (d.Open() || !d.Sent.IsZero() || !strings.Contains(d.Error, "try later")) {
			t.Errorf("it is not given up: %+v", d)
		}
	}
}

// The words of the yard file for kinds of notice are those of notices.
func TestNoticeKindsAreTheSame(t *testing.T) {
	var kinds []string
	for _, k := range notify.Kinds() {
		kinds = append(kinds, string(k))
	}
	if !slices.Equal(kinds, config.NoticeKinds()) {
		t.Errorf("the yard file knows %v, notices are %v", config.NoticeKinds(), kinds)
	}
}
