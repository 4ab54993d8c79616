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

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
)

type refusedPress string

func (r refusedPress) Error() string  { return string(r) }
func (r refusedPress) Public() string { return string(r) }

// Try is what the fake yard's planner would say: a pin at night is refused, and one that
// is later moves Kestrel's launch.
func (f *fake) Try(_ context.Context, p planner.Press) (planner.Tried, int64, error) {
	if f.err != nil {
		return planner.Tried{}, 0, f.err
	}
	work := planner.Replay(f.yard, f.boats, f.presses)
	if err := work.Accepts(p); err != nil {
		return planner.Tried{}, 0, refusedPress(err.Error())
	}
	after := f.draft
	after.Launches, after.Stages = slices.Clone(f.draft.Launches), slices.Clone(f.draft.Stages)
	after.Cost = []planner.Term{{Name: "lateness of launches", Amount: 3420 + int64(f.draftID)*10}}
	after.Launches[0].Likely = after.Launches[0].Likely.Add(26 * time.Hour)
	for i := range after.Stages {
		if after.Stages[i].Key == p.Key {
			after.Stages[i].Start = p.Until
		}
	}
	t := planner.Tried{Press: p, Difference: planner.Compare(f.draft, after), AtRisk: planner.KeyPair{After: []planner.Key{p.Key}}}
	t.Stage = planner.Planned{Key: p.Key, Start: p.Until, Place: p.Place}
	if hour := p.Until.UTC().Hour(); p.Kind == planner.Pinned && (hour > 18 || hour < 5) {
		t.Refused, t.Earlier, t.Later = true, at(8, 15, 0), at(9, 7, 0)
		t.Why = planner.Wait{Cause: planner.OutOfLimits, Evidence: planner.Evidence{
			Bound: conditions.Bound{Of: conditions.OfMargin, Least: true, At: 3, Written: "3 K", Owner: "card Gloss topcoat rev 3"}, Value: 1.2, When: p.Until, Sure: conditions.Foretold,
		}}
	}
	return t, f.draftID, nil
}

func (f *fake) PlanAsOf(_ context.Context, when time.Time, _ bool) (planner.Plan, int64, error) {
	if when.Before(at(5, 0, 0)) {
		return planner.Plan{}, 0, f.broken
	}
	return f.told, f.toldID, f.broken
}

func (f *fake) ReleasedSince(context.Context, time.Time) (all, byRule int, err error) {
	return 3, 2, f.broken
}

const adasMask = "boat=Ada+%26+Sons&area=topsides&stage=mask"

func TestTryIsShownBeforeItIsKept(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/week/try?"+adasMask)
	has(t, body, "mask on Ada &amp; Sons topsides", "Planned Sun 12 Apr 08:00–15:00 in North shed", "Pin it to a time, a place, or both", "Hold it back", "See what it does", "Nothing is kept before")
	_, body = get(t, f, "/week/try?"+adasMask+"&kind=pinned&until=2026-04-13T08:00&place=Slip+2")
	has(t, body,
		"Pin mask on Ada &amp; Sons topsides to Mon 13 Apr 08:00 in Slip 2", "Kestrel", "Tue 14 Apr", "Sat 11 Apr 16:00", "Sun 12 Apr 18:00", "1 d 2 h later",
		"cost-minutes more", "&#43;120", "Coats newly at risk", "1 stage would move", "it goes against the plan", "Keep it", "Drop it")
	if len(f.presses) != len(testPresses()) {
		t.Error("a trial was kept")
	}
	h := handlerOf(t, f) // one for both: a part that was shown leaves the whole page as it is
	for range 2 {
		_, part := do(t, h, httptest.NewRequest("GET", "/week/try?"+adasMask+"&kind=pinned&until=2026-04-13T08:00&part=1", nil))
		has(t, part, "Keep it")
		hasNot(t, part, "<html", "Hold it back")
		_, whole := do(t, h, httptest.NewRequest("GET", "/week/try?"+adasMask, nil))
		has(t, whole, "<html", "Hold it back")
	}
	_, part := get(t, f, "/week/try?"+adasMask+"&kind=pinned&until=2026-04-01T08:00&part=1")
	has(t, part, "That is past. Pin it to a time still to come.")
	_, body = get(t, f, "/week/try?"+adasMask+"&kind=held&note=waits+for+its+owner")
	has(t, body, "It would <b>not be placed</b>")
	_, body = get(t, f, "/week/try?"+adasMask+"&kind=pinned&until=2099-04-01T08:00")
	has(t, body, "The plan looks 42 days ahead. Pin it to a time before Tue 19 May.")
}

func TestTryRefusesWhatIsOutsideTheLimits(t *testing.T) {
	_, body := get(t, newFake(), "/week/try?"+adasMask+"&kind=pinned&until=2026-04-08T23:00")
	has(t, body, "It can&#39;t start Wed 8 Apr 23:00: outside the limits of card Gloss topcoat rev 3", "A pin is no leave to go outside a limit",
		"Nearest allowed start before: Wed 8 Apr 15:00", "Nearest allowed start after: Thu 9 Apr 07:00", "until=2026-04-09T07%3A00")
	hasNot(t, body, "Keep it")
}

func TestTryFaults(t *testing.T) {
	for query, want := range map[string]string{
		"&kind=pinned":                        "Write the day and the time to pin it to",
		"&kind=pinned&until=2026-04-01T08:00": "That is past",
		"&kind=held":                          "Why it is held back",
		"&kind=comes_after":                   "Choose the other boat&#39;s stage",
		"&kind=danced":                        "did not say what to try",
		"&kind=comes_after&other=" + url.QueryEscape("boat=Ada+%26+Sons&area=house&stage=wash"): "of one boat",
	} {
		t.Run(query, func(t *testing.T) {
			r, body := get(t, newFake(), "/week/try?"+adasMask+query)
			if r.StatusCode != http.StatusUnprocessableEntity {
				t.Errorf("answered %d", r.StatusCode)
			}
			has(t, body, want)
			hasNot(t, body, "Keep it")
		})
	}
	if r, _ := get(t, newFake(), "/week/try?boat=Nobody&area=x&stage=y"); r.StatusCode != http.StatusNotFound {
		t.Errorf("a stage that is not there: %d", r.StatusCode)
	}
}

// keepForm is what the page of a trial hands out to keep it by.
func keepForm(t *testing.T, f *fake, query string) url.Values {
	t.Helper()
	_, body := get(t, f, "/week/try?"+query)
	at := strings.Index(body, `action="/week/keep"`)
	if at < 0 {
		t.Fatal("nothing to keep")
	}
	form := url.Values{}
	text, _, _ := strings.Cut(body[at:], "</form>")
	for _, field := range strings.Split(text, `<input type="hidden" name="`)[1:] {
		name, rest, _ := strings.Cut(field, `" value="`)
		value, _, _ := strings.Cut(rest, `"`)
		form.Set(name, strings.NewReplacer("&amp;", "&", "&#43;", "+", "&#39;", "'").Replace(value))
	}
	return form
}

func TestKeep(t *testing.T) {
	f := newFake()
	form := keepForm(t, f, adasMask+"&kind=pinned&until=2026-04-13T08:00&place=Slip+2")
	r, body := post(t, f, "/week/keep", form)
	if has(t, body, "Write who keeps it"); r.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("without a name: %d", r.StatusCode)
	}
	form.Set("by", "Ines")
	r, body = post(t, f, "/week/keep", form)
	if has(t, body, "It goes against the plan: write why"); r.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("without a reason: %d", r.StatusCode)
	}
	form.Set("note", "the owner comes on Tuesday")
	for range 2 { // a bad line sends twice
		if r, _ := post(t, f, "/week/keep", form); r.StatusCode != http.StatusSeeOther || r.Header.Get("Location") != "/?said=pinned" {
			t.Fatalf("kept: %d to %q", r.StatusCode, r.Header.Get("Location"))
		}
	}
	if n := len(f.presses) - len(testPresses()); n != 1 {
		t.Fatalf("%d presses", n)
	}
	got := f.presses[len(f.presses)-1]
	if got.Kind != planner.Pinned || got.Place != "Slip 2" || !got.Until.Equal(at(13, 8, 0)) || got.By != "Ines" || got.Note != "the owner comes on Tuesday" {
		t.Errorf("kept %+v", got)
	}
}

// TestKeepOnAnotherDraft: what the person saw is not what it would do now: nothing is kept,
// and what it does now is shown, with what he typed.
func TestKeepOnAnotherDraft(t *testing.T) {
	f := newFake()
	form := keepForm(t, f, adasMask+"&kind=pinned&until=2026-04-13T08:00")
	form.Set("by", "Ines")
	form.Set("note", "the owner comes")
	f.draft.Launches[0].Likely = at(12, 16, 0)
	f.draftID++
	r, body := post(t, f, "/week/keep", form)
	if r.StatusCode != http.StatusConflict || len(f.presses) != len(testPresses()) {
		t.Errorf("answered %d, %d presses", r.StatusCode, len(f.presses))
	}
	has(t, body, "The draft was made anew meanwhile", `value="the owner comes"`, "Mon 13 Apr 18:00")
}

// TestKeepNoRefusedPin: nobody gets outside a limit by sending the form himself.
func TestKeepNoRefusedPin(t *testing.T) {
	f := newFake()
	form := keepForm(t, f, adasMask+"&kind=pinned&until=2026-04-13T08:00")
	form.Set("by", "Ines")
	form.Set("note", "now")
	form.Set("until", "2026-04-08T23:00")
	r, body := post(t, f, "/week/keep", form)
	if has(t, body, "outside the limits of"); r.StatusCode != http.StatusConflict || len(f.presses) != len(testPresses()) {
		t.Errorf("answered %d, %d presses", r.StatusCode, len(f.presses))
	}
}

func TestBeforeIsAfterFromTheOtherSide(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	mine, other := planner.Key{Boat: "A", Area: "house", Stage: "sand"}, planner.Key{Boat: "B", Area: "deck", Stage: "wash"}
	for kind, want := range map[string][2]planner.Key{string(planner.ComesAfter): {mine, other}, before: {other, mine}} {
		f := tryForm{Key: mine, Kind: kind, Other: keyText(other)}
		if p, ok := f.press(c, "Ines"); !ok || p.Kind != planner.ComesAfter || p.Key != want[0] || p.Other != want[1] {
			t.Errorf("%s: %+v, %t", kind, p, ok)
		}
	}
}

func TestWhatChanged(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/week/changes")
	has(t, body, "Since yesterday at this time", "sand 320 on Ada &amp; Sons topsides", "Tue 7 Apr 13:00, North shed", "Tue 7 Apr 16:00, North shed", "3 h later",
		"the crew is busy with gloss coat on Kestrel topsides", "release: by hand", "1 time")
	hasNot(t, body, "Since you last looked")
	_, body = get(t, f, "/week/changes?since=week")
	has(t, body, "There was no plan yet at Tue 31 Mar 10:20")
	f.yard.Release = config.Auto
	f.told = f.draft
	_, body = get(t, f, "/week/changes")
	has(t, body, "release: auto", "let 2 plans through", "No stage that is still to do", "Each boat is likely launched when it was")
}

func TestSinceTheLastLook(t *testing.T) {
	f := newFake()
	r, _ := get(t, f, "/week/changes")
	if len(r.Cookies()) != 1 || r.Cookies()[0].Name != lookedCookie {
		t.Fatalf("cookies %v", r.Cookies())
	}
	for value, want := range map[string]bool{"1775548800": true, "": false, "x": false, "-1": false, "99999999999999": false} {
		r := httptest.NewRequest("GET", "/week/changes?since=look", nil)
		r.AddCookie(&http.Cookie{Name: lookedCookie, Value: value})
		_, body := do(t, handlerOf(t, f), r)
		if strings.Contains(body, "Since you last looked") != want {
			t.Errorf("looked %q", value)
		}
	}
}
