package service

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
	"fairwindow/daemon/door"
)

const doorPeople = `people:
  - {name: Marta, role: manager}
  - {name: Ines, role: painter}
  - {name: Rui}
season:`

// doorway is a rig with people and its doors on a clock of their own.
func doorway(t *testing.T) (*rig, *Doors, *clockwork.FakeClock) {
	t.Helper()
	r := play(t, "two coats", "season:", doorPeople)
	clock := clockwork.NewFakeClockAt(monday)
	return r, r.doors(t, clock), clock
}

func (r *rig) doors(t *testing.T, clock clockwork.Clock) *Doors {
	t.Helper()
	d, err := r.svc.Doors(ByClock(clock), func(d *Doors) { d.passwords = door.NewPasswords(door.Cost{Memory: 8, Passes: 1, Threads: 1}) })
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// settled lets a person in for the first time; the word is his session's.
func (r *rig) settled(t *testing.T, d *Doors, name, password string) string {
	t.Helper()
	word, _, err := d.Invite(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	session, err := d.Accept(t.Context(), word, password)
	if err != nil {
		t.Fatal(err)
	}
	return session
}

func (d *Doors) in(t *testing.T, word string) string {
	t.Helper()
	v, signedIn, err := d.Visitor(t.Context(), word)
	if err != nil {
		t.Fatal(err)
	}
	if !signedIn {
		return ""
	}
	return v.Name + " " + string(v.Role)
}

// A session ends after some idle hours, or a day after it began whatever is done in it, on a
// new password, for a lesser role and when the person left the yard file.
func TestSessionsEnd(t *testing.T) {
	t.Parallel()
	r, d, clock := doorway(t)
	word := r.settled(t, d, "Ines", "gull ladder seven")
	for range 5 { // 4.5 h each: never idle for ten hours
		if who := d.in(t, word); who != "Ines painter" {
			t.Fatalf("%s after it began: %q", clock.Since(monday), who)
		}
		clock.Advance(4*time.Hour + 30*time.Minute)
	}
	if who := d.in(t, word); who != "Ines painter" {
		t.Errorf("after 22.5 h: %q", who)
	}
	clock.Advance(90 * time.Minute)
	if who := d.in(t, word); who != "" {
		t.Errorf("after 24 h: %q", who)
	}

	word, err := d.SignIn(t.Context(), "ines ", "gull ladder seven")
	if err != nil {
		t.Fatal(err)
	}
	clock.Advance(10*time.Hour - time.Second)
	if who := d.in(t, word); who != "Ines painter" {
		t.Errorf("idle for just under ten hours: %q", who)
	}
	clock.Advance(10 * time.Hour)
	if who := d.in(t, word); who != "" {
		t.Errorf("idle for ten hours: %q", who)
	}

	one, _ := d.SignIn(t.Context(), "Ines", "gull ladder seven")
	two, _ := d.SignIn(t.Context(), "Ines", "gull ladder seven")
	other := r.settled(t, d, "Marta", "boat stone apple")
	if stays, err := d.Stays(t.Context(), "Ines", two); err != nil || len(stays) != 2 || !stays[0].This && !stays[1].This {
		t.Errorf("%+v, %v", stays, err)
	}
	if _, err := d.ChangePassword(t.Context(), "Ines", "wrong", "another four words"); err == nil {
		t.Error("changed with a wrong old password")
	}
	three, err := d.ChangePassword(t.Context(), "Ines", "gull ladder seven", "another four words")
	if err != nil || d.in(t, one) != "" || d.in(t, two) != "" || d.in(t, three) != "Ines painter" || d.in(t, other) != "Marta manager" {
		t.Errorf("after a new password: %q %q %q %q, %v", d.in(t, one), d.in(t, two), d.in(t, three), d.in(t, other), err)
	}
	if _, err := d.SignIn(t.Context(), "Ines", "gull ladder seven"); err == nil {
		t.Error("the old password still opens")
	}

	reload := func(changes ...string) {
		t.Helper()
		r.mu.Lock()
		r.yard = strings.NewReplacer(changes...).Replace(r.yard)
		r.mu.Unlock()
		if err := r.svc.Reload(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	reload("{name: Ines, role: painter}", "{name: Ines, role: scheduler}")
	if who := d.in(t, three); who != "Ines scheduler" {
		t.Errorf("with a greater role: %q", who)
	}
	four, _ := d.SignIn(t.Context(), "Ines", "another four words")
	reload("{name: Ines, role: scheduler}", "{name: Ines, role: viewer}")
	if d.in(t, three) != "" || d.in(t, four) != "" {
		t.Errorf("with a lesser role: %q and %q", d.in(t, three), d.in(t, four))
	}
	five, _ := d.SignIn(t.Context(), "Ines", "another four words")
	reload("  - {name: Ines, role: viewer}\n", "")
	reload("people:\n", "people:\n  - {name: Ines, role: viewer}\n")
	if who := d.in(t, five); who != "" {
		t.Errorf("out of the yard file and in again: %q goes on", who)
	}
}

// A session and a password outlast a restart; what the yard file no longer lets go on does not.
func TestDoorsAcrossARestart(t *testing.T) {
	t.Parallel()
	r, d, clock := doorway(t)
	word, gone := r.settled(t, d, "Ines", "gull ladder seven"), r.settled(t, d, "Rui", "boat stone apple")
	r.halt()
	r.yard = strings.Replace(r.yard, "  - {name: Rui}\n", "", 1)
	r.start()
	d = r.doors(t, clock)
	if d.in(t, word) != "Ines painter" || d.in(t, gone) != "" {
		t.Errorf("%q, %q", d.in(t, word), d.in(t, gone))
	}
	if all, err := r.svc.store.Sessions(t.Context(), ""); err != nil || len(all) != 1 {
		t.Errorf("%d sessions are kept, %v", len(all), err)
	}
}

// A wrong password, a person without one and a stranger get one answer.
func TestNobodyIsTold(t *testing.T) {
	t.Parallel()
	r, d, _ := doorway(t)
	r.settled(t, d, "Ines", "gull ladder seven")
	for _, tt := range [][2]string{{"Ines", "guess"}, {"Rui", "guess"}, {"Rui", ""}, {"Nobody", "guess"}, {"", ""}} {
		word, err := d.SignIn(t.Context(), tt[0], tt[1])
		var public interface{ Public() string }
		if word != "" || !errors.As(err, &public) || public.Public() != errNotRight.Error() {
			t.Errorf("%q: %q, %v", tt, word, err)
		}
	}
	// All secrets lie in the store as what can't be used.
	word, err := d.SignIn(t.Context(), "Ines", "gull ladder seven")
	token, worse := d.MakeToken(t.Context(), door.Machine{Name: "gateway", Scopes: []door.Scope{door.Readings}})
	invitation, _, worst := d.Invite(t.Context(), "Rui")
	if err := errors.Join(err, worse, worst); err != nil {
		t.Fatal(err)
	}
	r.halt()
	files, _ := filepath.Glob(filepath.Join(r.state, "fairwindow.db*"))
	for _, name := range files {
		text, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		for what, secret := range map[string]string{"a password": "gull ladder seven", "a session": word, "a token": token, "an invitation": invitation} {
			if strings.Contains(string(text), secret) {
				t.Errorf("%s lies open in %s", what, filepath.Base(name))
			}
		}
		if len(files) == 1 && !strings.Contains(string(text), "$argon2id$v=19$") {
			t.Error("no password is kept as argon2id")
		}
	}
}

// Who is invited, for how long, and who is not.
func TestInvitations(t *testing.T) {
	t.Parallel()
	r, d, clock := doorway(t)
	if _, _, err := d.Invite(t.Context(), "Nobody"); err == nil || !strings.Contains(err.Error(), "yard file") {
		t.Errorf("a stranger: %v", err)
	}
	word, until, err := d.Invite(t.Context(), "Ines")
	if err != nil || !until.Equal(monday.Add(24*time.Hour)) {
		t.Fatal(until, err)
	}
	for weak, says := range map[string]string{"short": "at least 10", "ines ines ines": "little more than a name", "aaaaaaaaaaaa": "same few letters"} {
		if _, err := d.Accept(t.Context(), word, weak); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v", weak, err)
		}
	}
	if name, holds, err := d.Invited(t.Context(), word); name != "Ines" || !holds || err != nil {
		t.Errorf("a weak password used it up: %q, %v, %v", name, holds, err)
	}
	clock.Advance(24 * time.Hour)
	if _, err := d.Accept(t.Context(), word, "gull ladder seven"); err == nil {
		t.Error("a day later it still holds")
	}
	session := r.settled(t, d, "Ines", "gull ladder seven")
	key, err := d.MakeToken(t.Context(), door.Machine{Name: "calendar", Scopes: []door.Scope{door.Calendar}, Owner: "Ines"})
	if err != nil {
		t.Fatal(err)
	}
	if err := d.ShutOut(t.Context(), "Ines"); err != nil {
		t.Fatal(err)
	}
	if _, err := d.SignIn(t.Context(), "Ines", "gull ladder seven"); err == nil || d.in(t, session) != "" {
		t.Errorf("shut out, and signed in: %q, %v", d.in(t, session), err)
	}
	if _, known, _ := d.Machine(t.Context(), key); known {
		t.Error("shut out, and the calendar's key still opens")
	}
	guests, err := d.Guests(t.Context())
	if err != nil || len(guests) != 3 || guests[1].Knows || guests[2].Role != config.Viewer {
		t.Errorf("%+v, %v", guests, err)
	}
}
