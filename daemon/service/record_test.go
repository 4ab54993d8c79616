package service

import (
	"bytes"
	"context"
	"errors"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/pages"
	"fairwindow/daemon/record"
	"fairwindow/daemon/record/bundle"
	"fairwindow/daemon/record/paper"
	"fairwindow/planner"
)

func refusedWith(t *testing.T, err error, says string) {
	t.Helper()
	var public interface{ Public() string }
	if err == nil || !errors.As(err, &public) || !strings.Contains(public.Public(), says) {
		t.Errorf("%v; want a sentence with %q", err, says)
	}
}

// idOf is the number of what was reported of a stage.
func (r *rig) idOf(kind planner.PressKind, k planner.Key) int64 {
	r.t.Helper()
	presses, err := r.svc.Presses(r.t.Context(), k.Boat)
	if err != nil {
		r.t.Fatal(err)
	}
	for _, p := range planner.Standing(presses) {
		if p.Kind == kind && p.Key == k {
			return p.ID
		}
	}
	r.t.Fatalf("no %s of %s", kind, k)
	return 0
}

func (r *rig) recordNow() record.Record {
	r.t.Helper()
	is, err := r.svc.Record(r.t.Context(), "Boat One")
	if err != nil {
		r.t.Fatal(err)
	}
	return is
}

// A slip is the presser's own for ten minutes; after that, and for others, it takes a
// reason from whoever may. The cure clock follows, and so it is after a restart.
func TestCorrect(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 8, 0))
	r.press(planner.Press{Kind: planner.Started, Key: first, By: "Ines"})
	r.until(at(0, 9, 0))
	r.press(planner.Press{Kind: planner.PassDone, Key: first, Pass: 1, By: "Ines"})
	ctx, done := t.Context(), r.idOf(planner.PassDone, first)
	strike := func(ids []int64, instead []planner.Press, by, why, once string, slip bool) error {
		return r.svc.Correct(ctx, "Boat One", ids, instead, planner.Press{By: by, Note: why, Once: once}, slip)
	}
	refusedWith(t, strike([]int64{done}, nil, "Rui", "", "", true), "Ines reported that")
	refusedWith(t, strike([]int64{done}, nil, "Rui", "", "", false), "say why")
	refusedWith(t, strike([]int64{done}, nil, "", "x", "", false), "nobody's name")
	refusedWith(t, strike([]int64{999}, nil, "Rui", "x", "", false), "has the number 999")
	refusedWith(t, r.svc.Press(ctx, planner.Press{Kind: planner.Struck, Key: first, Strikes: done, By: "x", Note: "y"}), "on the boat's page")

	var along Contradiction
	err := strike([]int64{r.idOf(planner.Started, first)}, nil, "Rui", "x", "", false)
	if refusedWith(t, err, "pass_done of first at Mon 4 May 09:00. Strike those too"); !errors.As(err, &along) || !reflect.DeepEqual(along.WithIt(), []int64{done}) {
		t.Errorf("%v names %v, want %d", err, along.Also, done)
	}

	earlier := planner.Press{Kind: planner.PassDone, Key: first, Pass: 1, Happened: at(0, 8, 40)}
	for range 2 { // sent twice, it is one
		if err := strike([]int64{done}, []planner.Press{earlier}, "Ines", "", "tablet 1", true); err != nil {
			t.Fatal(err)
		}
	}
	if clock := r.clockOf(t, first); !clock.Coated.Equal(at(0, 8, 40)) {
		t.Errorf("the clock runs since %s", clock.Coated)
	}
	r.restart()
	presses, err := r.svc.Presses(ctx, "Boat One")
	if err != nil || len(presses) != 5 { // arrival, start, pass, strike, pass
		t.Fatalf("%d presses, %v", len(presses), err)
	}
	if s := r.recordNow().Coats[0]; !s.Ended.Equal(at(0, 8, 40)) || len(s.Events) != 3 || s.Later || s.Revision != 2 {
		t.Errorf("%+v", s)
	}
	r.until(at(0, 9, 15))
	refusedWith(t, strike([]int64{r.idOf(planner.PassDone, first)}, nil, "Ines", "", "", true), "more than 10 minutes ago")
	if err := strike([]int64{r.idOf(planner.PassDone, first), r.idOf(planner.Started, first)}, nil, "Rui", "another boat", "", false); err != nil {
		t.Fatal(err)
	}
	if coats := r.recordNow().Coats; len(coats) != 0 {
		t.Errorf("%+v", coats)
	}
}

// What somebody signed off takes no press, entry or strike of any kind, until it is
// opened again; the old signature stays.
func TestLockedMeansLocked(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 8, 0))
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	ctx := t.Context()
	entry := record.Entry{Key: first, By: "Ines", Wet: []float64{110}, Instrument: "comb", Once: "e1"}
	for range 2 {
		if err := r.svc.Enter(ctx, entry, false); err != nil {
			t.Fatal(err)
		}
	}
	for says, e := range map[string]record.Entry{
		"say who":                {Key: first, Gun: "x"},
		"no coat of a boat here": {Key: planner.Key{Boat: "Boat One", Area: "topsides", Stage: "cure"}, By: "x", Gun: "x"},
		"has no pass 4":          {Key: first, By: "x", Gun: "x", Pass: 4},
		"still to come":          {Key: first, By: "x", Gun: "x", At: at(1, 0, 0)},
		"number 77":              {Key: first, By: "x", Strikes: 77},
		"Ines entered that":      {Key: first, By: "x", Strikes: 1},
	} {
		refusedWith(t, r.svc.Enter(ctx, e, e.Strikes == 1), says)
	}
	sign := func(k planner.Key, act record.Act, remark, digest string) error {
		return r.svc.Sign(ctx, record.Signature{Key: k, Act: act, By: "Rui", Role: "manager", Remark: remark, Digest: digest})
	}
	digest := func(k planner.Key) string {
		d, err := r.recordNow().Of(k).Digest()
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	refusedWith(t, sign(first, record.Signed, "", "00"), "has changed since it was shown")
	refusedWith(t, sign(second, record.Signed, "", digest(second)), "nothing to sign")
	refusedWith(t, sign(first, record.Reopened, "x", ""), "not signed off")
	was := digest(first)
	if err := sign(first, record.Signed, "fine", was); err != nil {
		t.Fatal(err)
	}
	r.restart()
	if digest(first) != was {
		t.Error("what was signed is another a restart later")
	}
	shut := "Rui signed off first on topsides of Boat One on Mon 4 May 2026"
	everyKind := []planner.PressKind{planner.Started, planner.PassDone, planner.Paused, planner.Resumed, planner.StoppedAt, planner.Finished, planner.Cant,
		planner.Rejected, planner.Held, planner.Freed, planner.Pinned, planner.Unpinned, planner.Override, planner.Struck}
	for _, kind := range everyKind {
		if err := r.svc.Press(ctx, planner.Press{Kind: kind, Key: first, By: "x", Note: "y"}); err == nil {
			t.Errorf("%s was taken into a coat that is signed off", kind)
		}
	}
	refusedWith(t, r.svc.Press(ctx, planner.Press{Kind: planner.Rejected, Key: first, By: "x", Note: "y"}), shut)
	refusedWith(t, r.svc.Correct(ctx, "Boat One", []int64{r.idOf(planner.Started, first), r.idOf(planner.PassDone, first)}, nil, planner.Press{By: "x", Note: "y"}, false), shut)
	refusedWith(t, r.svc.Enter(ctx, record.Entry{Key: first, By: "x", Gun: "y"}, false), shut)
	refusedWith(t, r.svc.Enter(ctx, record.Entry{Key: first, By: "x", Strikes: 1, Note: "y"}, false), shut)
	refusedWith(t, sign(first, record.Signed, "", was), shut)
	r.press(planner.Press{Kind: planner.Held, Key: second, Note: "the other coat is open"})
	r.press(planner.Press{Kind: planner.Freed, Key: second})

	whole := planner.Key{Boat: "Boat One"}
	if err := sign(whole, record.Signed, "", digest(whole)); err != nil {
		t.Fatal(err)
	}
	for _, kind := range append(everyKind, planner.Arrived, planner.Moved, planner.Launched) {
		key := second
		if kind == planner.Arrived || kind == planner.Moved || kind == planner.Launched {
			key = whole
		}
		if err := r.svc.Press(ctx, planner.Press{Kind: kind, Key: key, Place: "row", By: "x", Note: "y"}); err == nil {
			t.Errorf("%s was taken into a record that is signed off", kind)
		}
	}
	refusedWith(t, r.svc.Press(ctx, planner.Press{Kind: planner.Moved, Key: whole, Place: "row", By: "x"}), "signed off the record of Boat One")
	refusedWith(t, sign(whole, record.Reopened, "", ""), "say why")
	if err := sign(whole, record.Reopened, "the owner found a run", ""); err != nil {
		t.Fatal(err)
	}
	r.press(planner.Press{Kind: planner.Moved, Key: whole, Place: "row"})
	if signed := r.recordNow().Signatures; len(signed) != 3 || signed[0].Digest != was || signed[1].Digest == "" || signed[2].Act != record.Reopened {
		t.Errorf("%+v", signed)
	}
	if digest(first) != was {
		t.Error("a move afterwards changed the coat that was signed")
	}
}

// Neither a boat's form nor a system's may change what was signed off; what no record tells
// may, and opened again all may.
func TestBookKeepsWhatIsSigned(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.keeps(r.svc.EditSystem(t.Context(), config.Edit[config.System]{To: r.ours("third"), By: "Rui"}))
	v := r.boat()
	v.Of.Areas[0].System = "ours"
	r.keeps(r.svc.EditBoats(t.Context(), edits(v.Of, v.Revision)))
	r.until(at(0, 8, 0))
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	sign := func(k planner.Key, act record.Act) {
		t.Helper()
		digest, err := r.recordNow().Of(k).Digest()
		r.keeps(err)
		r.keeps(r.svc.Sign(t.Context(), record.Signature{Key: k, Act: act, By: "Marta", Role: "manager", Remark: "x", Digest: digest}))
	}
	change := func(how func(*config.Boat)) func() error {
		return func() error {
			b := r.boat().Of
			b.Areas = slices.Clone(b.Areas)
			how(&b)
			return r.svc.PutBoats(t.Context(), []config.Boat{b}, "Rui")
		}
	}
	size := change(func(b *config.Boat) { b.Areas[0].Size.SI++ })
	form := func() error {
		v := r.boat()
		v.Of.Areas = slices.Clone(v.Of.Areas)
		v.Of.Areas[0].Size.SI++
		return r.svc.EditBoats(t.Context(), edits(v.Of, v.Revision))
	}
	system := func() error {
		s := r.ours("third")
		i := slices.IndexFunc(s.Stages, func(st config.Stage) bool { return st.Name == first.Stage })
		s.Stages[i].Passes++
		return r.svc.EditSystem(t.Context(), config.Edit[config.System]{To: s, From: 1, By: "Rui"})
	}
	whole := planner.Key{Boat: "Boat One"}
	for _, k := range []planner.Key{first, whole} {
		sign(k, record.Signed)
		shut := "Marta signed off " + signedWhat(k)
		refusedWith(t, size(), shut)
		refusedWith(t, form(), shut)
		refusedWith(t, system(), shut)
		r.keeps(change(func(b *config.Boat) { b.Owner += " and another" })())
		length := change(func(b *config.Boat) { b.Length.SI++ })
		if k == whole {
			refusedWith(t, length(), shut)
		}
		sign(k, record.Reopened)
		r.keeps(length())
	}
	r.keeps(size())
}

// A rejection at the inspection would take back a coat that was signed off: it is refused.
func TestNothingReachesALockedCoat(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(1, 8, 0))
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	digest, err := r.recordNow().Of(first).Digest()
	if err != nil {
		t.Fatal(err)
	}
	if err := r.svc.Sign(t.Context(), record.Signature{Key: first, Act: record.Signed, By: "Rui", Role: "manager", Digest: digest}); err != nil {
		t.Fatal(err)
	}
	r.coat(second, at(1, 7, 0), at(1, 8, 0))
	// The second coat may be rejected; rejecting the place it stands on may not.
	r.press(planner.Press{Kind: planner.Rejected, Key: second, Note: "dust"})
	arrived := r.idOf(planner.Arrived, planner.Key{Boat: "Boat One"})
	refusedWith(t, r.svc.Correct(t.Context(), "Boat One", []int64{arrived}, nil, planner.Press{By: "x", Note: "it came later"}, false), "signed off first")
}

// The bundle holds what the record rests on, the same bytes each time, from a running
// daemon as from its store; and it verifies.
func TestEvidence(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 10, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	if err := r.svc.Enter(t.Context(), record.Entry{Key: first, By: "Ines", Gun: "=cmd"}, false); err != nil {
		t.Fatal(err)
	}
	is := r.recordNow()
	digest, err := is.Digest()
	if err != nil {
		t.Fatal(err)
	}
	if c := is.Coats[0]; len(c.Air) != 3 || c.Air[0].Margin == nil || len(c.Gaps) != 0 || !reflect.DeepEqual(c.Air[2].By, []string{"air"}) || c.Limits[0].Kept() != conditions.Yes {
		t.Errorf("%+v", c)
	}
	if err := r.svc.Sign(t.Context(), record.Signature{Key: planner.Key{Boat: "Boat One"}, Act: record.Signed, By: "Rui", Role: "manager", Digest: digest}); err != nil {
		t.Fatal(err)
	}
	style := paper.Style{Zone: time.UTC, Against: pages.Against}
	var a, b, c bytes.Buffer
	for _, out := range []*bytes.Buffer{&a, &b} {
		if err := r.svc.Evidence(t.Context(), "Boat One", out, style); err != nil {
			t.Fatal(err)
		}
	}
	if err := EvidenceOf(context.Background(), r.svc.store, r.svc.Yard(), "Boat One", &c, style); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(a.Bytes(), b.Bytes()) || !bytes.Equal(a.Bytes(), c.Bytes()) {
		t.Error("the same record gives bundles of other bytes")
	}
	v, err := bundle.Verify(bytes.NewReader(a.Bytes()), int64(a.Len()))
	if err != nil || len(v.Faults) > 0 || v.Digest != digest || !v.Matches[1] || v.Files < 13 {
		t.Errorf("%+v, %v", v, err)
	}
	if err := r.svc.Evidence(t.Context(), "Nobody", &a, style); err == nil {
		t.Error("a bundle of no boat")
	}
}
