package service

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/door"
	"fairwindow/daemon/record"
	"fairwindow/daemon/signed"
	"fairwindow/planner"
	"fairwindow/planner/waits"
	"fairwindow/sensors"
)

// What each token opens: the yard's own readings and boats, the command line's key the doors,
// those that were made what they were made for, until they are revoked.
func TestTokensOpenWhatTheyName(t *testing.T) {
	t.Parallel()
	r, d, clock := doorway(t)
	read := func(name string) string {
		text, err := os.ReadFile(filepath.Join(r.state, name))
		if err != nil {
			t.Fatal(err)
		}
		info, err := os.Stat(filepath.Join(r.state, name))
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s may be read by others: %v, %v", name, info.Mode(), err)
		}
		return strings.TrimSpace(string(text))
	}
	made, err := d.MakeToken(t.Context(), door.Machine{Name: "gateway", Scopes: []door.Scope{door.Readings}})
	if err != nil {
		t.Fatal(err)
	}
	opens := func(word string) string {
		m, known, err := d.Machine(t.Context(), word)
		if err != nil || !known {
			return ""
		}
		var all []string
		for _, s := range append(door.Scopes(), door.Doors) {
			if m.Opens(s) {
				all = append(all, string(s))
			}
		}
		return strings.Join(all, " ")
	}
	for word, want := range map[string]string{
		read(TokenFile): "readings boats", read(DoorFile): "boats doors", made: "readings", door.Word(): "", "": "", made + "A": "",
	} {
		if got := opens(word); got != want {
			t.Errorf("%.5s… opens %q, want %q", word, got, want)
		}
	}
	all, err := d.Tokens(t.Context(), "")
	if err != nil || len(all) != 1 || !all[0].Used.Equal(monday) {
		t.Fatalf("%+v, %v", all, err)
	}
	clock.Advance(11 * time.Minute)
	opens(made)
	if all, _ = d.Tokens(t.Context(), ""); !all[0].Used.Equal(clock.Now()) {
		t.Errorf("last used %s", all[0].Used)
	}
	for bad, m := range map[string]door.Machine{
		"no name": {Scopes: []door.Scope{door.Plan}}, "no scope": {Name: "x"}, "a scope that is none": {Name: "x", Scopes: []door.Scope{"all"}},
		"the doors": {Name: "x", Scopes: []door.Scope{door.Doors}}, "a name twice": {Name: " gateway", Scopes: []door.Scope{door.Plan}},
	} {
		if _, err := d.MakeToken(t.Context(), m); err == nil {
			t.Errorf("%s: made", bad)
		}
	}
	if err := d.RevokeToken(t.Context(), all[0].ID, "Ines"); err == nil {
		t.Error("revoked by somebody whose it is not")
	}
	if err := d.RevokeToken(t.Context(), all[0].ID, ""); err != nil || opens(made) != "" {
		t.Errorf("revoked, and opens %q, %v", opens(made), err)
	}
}

// Each change bears the hand of the context it came with, the program's own none; what is
// pressed or sent twice is signed once.
func TestChangesAreSigned(t *testing.T) {
	t.Parallel()
	r, d, _ := doorway(t)
	r.until(at(0, 7, 30))
	hand := signed.Hand{By: "Ines", Role: "painter", Address: "10.0.0.7", Device: "phone", Through: "/boat/Boat%20One/press"}
	ctx := signed.With(t.Context(), hand)
	press := planner.Press{Kind: planner.Started, Key: first, By: "Ines", Once: "a", Happened: at(0, 7, 15)}
	reading := sensors.Reading{Source: "Ines with probe 2", Place: "booth", At: at(0, 7, 20), Received: at(0, 7, 20), Key: "hand/b",
		Values: map[conditions.Variable]float64{conditions.AirTemperature: 18}}
	for range 2 {
		if err := errors.Join(r.svc.Press(ctx, press), r.svc.TakeReading(ctx, reading)); err != nil {
			t.Fatal(err)
		}
	}
	boats, err := r.svc.Boats(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	boats[0].Owner = "somebody"
	typed := signed.With(t.Context(), signed.Hand{Role: signed.Typed, Address: "127.0.0.1"})
	if err := r.svc.PutBoats(typed, boats, "Rui"); err != nil {
		t.Fatal(err)
	}
	versions, err := r.svc.BoatVersions(t.Context(), "Boat One")
	if err != nil {
		t.Fatal(err)
	}
	boats[0].Owner = "somebody else"
	for range 2 {
		edit := config.Edit[config.Boat]{To: boats[0], From: versions[0].Revision, By: "Ines", Once: "c"}
		if err := r.svc.EditBoats(ctx, []config.Edit[config.Boat]{edit}); err != nil {
			t.Fatal(err)
		}
	}
	if err := r.svc.Press(ctx, planner.Press{Kind: planner.PassDone, Key: first, Pass: 7, By: "Ines"}); err == nil {
		t.Fatal("a press that does not fit was taken")
	}
	r.measure(good)
	machine := signed.With(t.Context(), signed.Hand{By: "gateway", Role: signed.Machine})
	reading.Key, reading.Source = "m", "gateway"
	if err := r.svc.TakeReading(machine, reading); err != nil {
		t.Fatal(err)
	}
	lines, err := d.Signed(t.Context(), "", time.Time{}, time.Time{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, l := range lines {
		got = append(got, l.Kind+" | "+l.About+" | "+l.By+" | "+l.Role+" | "+l.Device+" at "+l.Address)
	}
	want := []string{
		"boat changed | Boat One | Ines | painter | phone at 10.0.0.7",
		"boat changed | Boat One | Rui | typed |  at 127.0.0.1",
		"reading | booth | Ines | painter | phone at 10.0.0.7",
		"started | " + first.String() + " | Ines | painter | phone at 10.0.0.7",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("signed:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if lines[3].Through != hand.Through || !lines[3].At.Equal(at(0, 7, 30)) {
		t.Errorf("%+v", lines[3])
	}
	if only, err := d.Signed(t.Context(), "Rui", time.Time{}, time.Time{}, 0); err != nil || len(only) != 1 {
		t.Errorf("of one person: %+v, %v", only, err)
	}
}

// What is entered, signed off, written of systems and logged bears its own kind, and what it
// is about.
func TestEachKindIsSignedByItsName(t *testing.T) {
	t.Parallel()
	r, d, _ := doorway(t)
	r.until(at(0, 8, 0))
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	ctx := signed.With(t.Context(), signed.Hand{By: "Marta", Role: "manager", Address: "10.0.0.7", Device: "computer", Through: "/x"})
	entry := record.Entry{Key: first, By: "Marta", Wet: []float64{110}, Instrument: "comb", Once: "e1"}
	r.keeps(r.svc.Enter(ctx, entry, false))
	r.keeps(r.svc.Enter(ctx, record.Entry{Key: first, By: "Marta", Strikes: 1, Note: "y"}, false))
	digest, err := r.recordNow().Of(first).Digest()
	r.keeps(err)
	whole, err := r.recordNow().Digest()
	r.keeps(err)
	for _, g := range []record.Signature{
		{Key: first, Act: record.Signed, Digest: digest}, {Key: first, Act: record.Reopened, Remark: "a run"},
		{Key: planner.Key{Boat: "Boat One"}, Act: record.Signed, Digest: whole},
	} {
		g.By, g.Role = "Marta", "manager"
		r.keeps(r.svc.Sign(ctx, g))
	}
	r.keeps(r.svc.EditSystem(ctx, config.Edit[config.System]{To: r.ours(), By: "Marta"}))
	r.keeps(r.svc.EditSystem(ctx, config.Edit[config.System]{To: r.ours(), From: 1, Removed: true, By: "Marta"}))
	line := waits.Logged{Crew: "hands", Day: "2026-05-04", Remark: "no other work", By: "Marta", Once: "l"}
	for range 2 {
		r.keeps(r.svc.LogDay(ctx, []waits.Logged{line}))
	}
	r.keeps(r.svc.StrikeLog(ctx, 1, "Marta", "the other crew"))
	lines, err := d.Signed(ctx, "Marta", time.Time{}, time.Time{}, 0)
	r.keeps(err)
	var got []string
	for _, l := range slices.Backward(lines) {
		got = append(got, l.Kind+" | "+l.About)
	}
	want := []string{
		"entered | " + first.String(), "entry struck | " + first.String(),
		"signed off | " + first.String(), "opened again | " + first.String(), "signed off | Boat One, the whole record",
		"system written | ours", "system taken out | ours",
		"day logged | crew hands, 2026-05-04", "log line struck | line 1: the other crew",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("signed:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// Who comes and goes signs it; wrong passwords are noted when they are many, with no name
// that a stranger chose.
func TestComingAndGoingIsSigned(t *testing.T) {
	t.Parallel()
	r, d, clock := doorway(t)
	r.settled(t, d, "Ines", "gull ladder seven")
	clock.Advance(time.Hour)
	ctx := signed.With(t.Context(), signed.Hand{Address: "10.0.0.7", Device: "phone", Through: "/signin"})
	for range 11 {
		if _, err := d.SignIn(ctx, "Ines", "wrong"); err == nil {
			t.Fatal("a wrong password opens")
		}
	}
	for range 5 {
		if _, err := d.SignIn(ctx, "<script>", "wrong"); err == nil {
			t.Fatal("nobody came in")
		}
	}
	one, err := d.SignIn(ctx, "ines", "gull ladder seven")
	r.keeps(err)
	for range 2 {
		r.keeps(d.SignOut(ctx, one, false))
	}
	two, err := d.SignIn(ctx, "Ines", "gull ladder seven")
	r.keeps(err)
	three, err := d.SignIn(ctx, "Ines", "gull ladder seven")
	r.keeps(err)
	r.keeps(d.SignOut(ctx, two, true))
	if d.in(t, three) != "" {
		t.Error("signed out everywhere, and still in")
	}
	lines, err := d.Signed(ctx, "", monday.Add(time.Minute), time.Time{}, 0)
	r.keeps(err)
	var got []string
	for _, l := range slices.Backward(lines) {
		got = append(got, l.Kind+" | "+l.About+" | "+l.By+" | "+l.Role+" | "+l.Device+" at "+l.Address)
	}
	want := []string{
		"sign-in failed 5 times | Ines |  | stranger | phone at 10.0.0.7",
		"sign-in failed 10 times | Ines |  | stranger | phone at 10.0.0.7",
		"sign-in failed 5 times | names that nobody here has |  | stranger | phone at 10.0.0.7",
		"signed in | Ines, after 11 wrong passwords | Ines | painter | phone at 10.0.0.7",
		"signed out | Ines | Ines | painter | phone at 10.0.0.7",
		"signed in | Ines | Ines | painter | phone at 10.0.0.7",
		"signed in | Ines | Ines | painter | phone at 10.0.0.7",
		"signed out everywhere | Ines | Ines | painter | phone at 10.0.0.7",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("signed:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A gateway's own token hands readings in, when the pages let it; the pages' word alone counts.
func TestReadingsByATokenOfTheirOwn(t *testing.T) {
	t.Parallel()
	r, _, _ := doorway(t)
	intake, err := r.svc.Intake()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		ctx  context.Context
		want int
	}{
		{t.Context(), 401},
		{signed.With(t.Context(), signed.Hand{By: "Ines", Role: "manager"}), 401},
		{signed.With(t.Context(), signed.Hand{By: "gateway", Role: signed.Machine}), 202},
	} {
		if status := posted(intake, tt.ctx); status != tt.want {
			t.Errorf("status %d, want %d", status, tt.want)
		}
	}
}

// posted is the answer to one reading with a token that only the pages know.
func posted(intake http.Handler, ctx context.Context) int {
	r := httptest.NewRequest(http.MethodPost, "/v1/readings", strings.NewReader(`{"source": "air", "values": {"air": 18, "humidity": 50}}`))
	r.Header.Set("Authorization", "Bearer "+door.Word())
	answer := httptest.NewRecorder()
	intake.ServeHTTP(answer, r.WithContext(ctx))
	return answer.Code
}
