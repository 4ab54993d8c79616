package store

import (
	"testing"
	"time"

	"fairwindow/config"
)

var doorAt = time.Date(2026, 4, 7, 9, 0, 0, 0, time.UTC)

func ok(t *testing.T, what string, want bool) func(bool, error) {
	return func(got bool, err error) {
		t.Helper()
		if err != nil || got != want {
			t.Errorf("%s: %v, %v; want %v", what, got, err, want)
		}
	}
}

// An invitation sets one password, once, while it holds; a later one takes its place.
func TestInvitationHoldsOnce(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	sig := Signature{Kind: "password set", About: "Ines", By: "Ines"}
	invite := func(word string) {
		if err := s.Invite(t.Context(), Invitation{"Ines", []byte(word), "Marta", doorAt, doorAt.Add(time.Hour)}, Signature{Kind: "invited", By: "Marta"}); err != nil {
			t.Fatal(err)
		}
	}
	invite("first")
	invite("second")
	accept := func(word, person string, at time.Time) (bool, error) {
		return s.AcceptInvitation(t.Context(), []byte(word), person, "phc of "+word, at, sig)
	}
	ok(t, "one that was overtaken", false)(accept("first", "Ines", doorAt))
	ok(t, "another's", false)(accept("second", "Rui", doorAt))
	ok(t, "at its end", false)(accept("second", "Ines", doorAt.Add(time.Hour)))
	if phc, err := s.Password(t.Context(), "Ines"); phc != "" || err != nil {
		t.Errorf("%q, %v: refused, and a password is kept", phc, err)
	}
	ok(t, "in time", true)(accept("second", "Ines", doorAt.Add(time.Minute)))
	ok(t, "again", false)(accept("second", "Ines", doorAt.Add(time.Minute)))
	if phc, err := s.Password(t.Context(), "Ines"); phc != "phc of second" || err != nil {
		t.Errorf("%q, %v", phc, err)
	}
	all, err := s.Signatures(t.Context(), SignatureQuery{})
	if err != nil || len(all) != 3 || all[0].Kind != "password set" {
		t.Errorf("%+v, %v: two invitations and one password are signed", all, err)
	}
}

// A new password ends the sessions begun with the old one, and one that is being begun with it.
func TestPasswordEndsSessions(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	if err := s.Invite(t.Context(), Invitation{"Ines", []byte("w"), "Marta", doorAt, doorAt.Add(time.Hour)}, Signature{Kind: "invited"}); err != nil {
		t.Fatal(err)
	}
	ok(t, "accept", true)(s.AcceptInvitation(t.Context(), []byte("w"), "Ines", "old", doorAt, Signature{Kind: "x"}))
	begin := func(word, phc string) (bool, error) {
		return s.BeginSession(t.Context(), Session{Print: []byte(word), Person: "Ines", Role: "painter", Address: "10.0.0.7", Device: "phone", Begun: doorAt}, phc)
	}
	ok(t, "begin", true)(begin("one", "old"))
	ok(t, "change from another", false)(s.ChangePassword(t.Context(), "Ines", "guess", "new", doorAt, Signature{Kind: "x"}))
	if _, there, err := s.Session(t.Context(), []byte("one")); !there || err != nil {
		t.Errorf("a refused change ended the session: %v", err)
	}
	ok(t, "change", true)(s.ChangePassword(t.Context(), "Ines", "old", "new", doorAt, Signature{Kind: "x"}))
	if _, there, err := s.Session(t.Context(), []byte("one")); there || err != nil {
		t.Errorf("the session of the old password goes on: %v", err)
	}
	ok(t, "begin with what was tried before the change", false)(begin("two", "old"))
	ok(t, "begin", true)(begin("three", "new"))
	if err := s.ShutOut(t.Context(), "Ines", doorAt, Signature{Kind: "shut out"}); err != nil {
		t.Fatal(err)
	}
	if all, err := s.Sessions(t.Context(), "Ines"); len(all) != 0 || err != nil {
		t.Errorf("shut out, and %d sessions, %v", len(all), err)
	}
	ok(t, "begin, shut out", false)(begin("four", "new"))
}

// The sweep takes what is over by either end and leaves the rest.
func TestSweepSessions(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	if _, err := s.writer.Exec(`INSERT INTO passwords VALUES ('Ines', 'p', 0)`); err != nil {
		t.Fatal(err)
	}
	for word, begun := range map[string]time.Time{"old": doorAt.Add(-25 * time.Hour), "idle": doorAt.Add(-11 * time.Hour), "used": doorAt.Add(-11 * time.Hour)} {
		ok(t, "begin "+word, true)(s.BeginSession(t.Context(), Session{Print: []byte(word), Person: "Ines", Begun: begun}, "p"))
	}
	for _, word := range []string{"old", "used"} {
		n, _, err := s.Session(t.Context(), []byte(word))
		if err == nil {
			err = s.SeenSession(t.Context(), n.ID, doorAt.Add(-time.Minute))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := s.SweepSessions(t.Context(), doorAt.Add(-24*time.Hour), doorAt.Add(-10*time.Hour), doorAt); err != nil {
		t.Fatal(err)
	}
	all, err := s.Sessions(t.Context(), "")
	if err != nil || len(all) != 1 || string(all[0].Print) != "used" {
		t.Errorf("%+v, %v", all, err)
	}
}

// A token is found until it is forgotten, says when it was revoked, and is revoked by its owner only.
func TestTokens(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	if err := s.MakeToken(t.Context(), Token{Print: []byte("k"), Name: "phone", Scopes: "calendar", Owner: "Ines", By: "Ines", At: doorAt}, Signature{Kind: "token made"}); err != nil {
		t.Fatal(err)
	}
	k, there, err := s.Token(t.Context(), []byte("k"))
	if err != nil || !there || k.Name != "phone" || !k.Used.IsZero() || !k.Revoked.IsZero() {
		t.Fatalf("%+v, %v, %v", k, there, err)
	}
	ok(t, "by another", false)(s.RevokeToken(t.Context(), k.ID, "Rui", doorAt, Signature{Kind: "x"}))
	ok(t, "by its owner", true)(s.RevokeToken(t.Context(), k.ID, "Ines", doorAt, Signature{Kind: "token revoked"}))
	ok(t, "again", false)(s.RevokeToken(t.Context(), k.ID, "", doorAt, Signature{Kind: "x"}))
	if k, _, _ = s.Token(t.Context(), []byte("k")); !k.Revoked.Equal(doorAt) {
		t.Errorf("revoked at %s", k.Revoked)
	}
}

// A change and whose hand it is are one transaction: neither without the other. What is sent
// again is signed once.
func TestSignedWithTheChange(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	sig := Signature{Kind: "boat", About: "Boat One", By: "Ines", Role: "scheduler", Address: "10.0.0.7", Device: "phone", Through: "/boats", Once: "a"}
	change := Change{At: doorAt, Boats: []BoatEdit{{Boat: config.Boat{Name: "Boat One"}, By: "Ines"}}, Signatures: []Signature{sig, sig}}
	if _, err := s.Commit(t.Context(), change); err != nil {
		t.Fatal(err)
	}
	bad := change
	bad.Boats = []BoatEdit{{Boat: config.Boat{Name: "Boat One", Owner: "another"}, Revision: 77}}
	bad.Signatures = []Signature{{Kind: "boat", About: "never kept"}}
	if _, err := s.Commit(t.Context(), bad); err == nil {
		t.Fatal("a conflict was kept")
	}
	if _, err := s.Commit(t.Context(), Change{At: doorAt, Boats: []BoatEdit{{Boat: config.Boat{Name: "Boat Two"}}}, Signatures: []Signature{{}}}); err == nil {
		t.Error("a signature that says nothing was kept")
	}
	if boats, err := s.Boats(t.Context()); err != nil || len(boats) != 1 {
		t.Errorf("%d boats, %v: one was kept without its signature", len(boats), err)
	}
	all, err := s.Signatures(t.Context(), SignatureQuery{By: "Ines", From: doorAt, To: doorAt.Add(1)})
	want := sig
	want.At = doorAt
	if err != nil || len(all) != 0 {
		t.Errorf("within a span that ends before the next millisecond: %+v, %v", all, err)
	}
	all, err = s.Signatures(t.Context(), SignatureQuery{By: "Ines", From: doorAt, To: doorAt.Add(time.Second)})
	if err != nil || len(all) != 1 || all[0] != want {
		t.Errorf("%+v, %v", all, err)
	}
	for _, q := range []SignatureQuery{{By: "Rui"}, {From: doorAt.Add(time.Second)}, {To: doorAt}} {
		if all, err := s.Signatures(t.Context(), q); err != nil || len(all) != 0 {
			t.Errorf("%+v: %+v, %v", q, all, err)
		}
	}
}
