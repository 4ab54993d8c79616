package pages

import (
	"cmp"
	"context"
	"io"
	"net/http"
	"net/url"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/daemon/record/paper"
	"fairwindow/planner"
)

// books is what the fake keeps of records.
type books struct {
	entries []record.Entry
	signed  []record.Signature
	struck  []int64
	instead []planner.Press
	by      planner.Press
	slips   []bool
	also    []int64 // what must go along
	shut    error   // why nothing is entered
}

// needsMore is a refusal that names what must be struck along.
type needsMore struct {
	publicError
	also []int64
}

func (n needsMore) WithIt() []int64 { return n.also }

func (f *fake) Record(ctx context.Context, boat string) (record.Record, error) {
	facts := record.Facts{Yard: f.yard, Entries: f.books.entries, Signatures: f.books.signed}
	facts.Presses, _ = f.Presses(ctx, boat)
	facts.Boat = f.ever(boat)
	for _, w := range record.Wants(facts) {
		for _, t := range w.At {
			if len(f.moments) > 0 && !t.Before(f.moments[0].At) {
				m := momentAt(t, "measured")
				facts.Air = append(facts.Air, record.Air{Place: w.Place, Moment: m, By: []string{"booth probe"}})
			}
		}
	}
	return record.Of(facts), f.broken
}

func (f *fake) Kept(_ context.Context, boat string) (config.Kept, error) {
	return f.yard.Keeps(f.ever(boat), time.Time{}), f.err
}

// ever is a boat of the yard, or one that was taken out of the book.
func (f *fake) ever(boat string) config.Boat {
	if at := slices.IndexFunc(f.boats, func(b config.Boat) bool { return b.Name == boat }); at >= 0 {
		return f.boats[at]
	}
	return f.book.(*shelf).boats[boat][0].Of
}

func (f *fake) Evidence(_ context.Context, boat string, w io.Writer, _ paper.Style) error {
	if f.err != nil {
		return f.err
	}
	_, err := io.WriteString(w, "bundle of "+boat)
	return err
}

func (f *fake) Enter(_ context.Context, e record.Entry, slip bool) error {
	if err := cmp.Or(f.err, f.books.shut); err != nil {
		return err
	}
	e.ID, e.Entered = int64(len(f.books.entries)+1), now
	f.books.entries, f.books.slips = append(f.books.entries, e), append(f.books.slips, slip)
	return nil
}

func (f *fake) Correct(_ context.Context, _ string, ids []int64, instead []planner.Press, by planner.Press, slip bool) error {
	if f.err != nil {
		return f.err
	}
	if len(f.books.also) > 0 && len(ids) == 1 {
		return needsMore{publicError{"Without that there could not be what was reported after it."}, f.books.also}
	}
	f.books.struck, f.books.instead, f.books.by, f.books.slips = ids, instead, by, append(f.books.slips, slip)
	return nil
}

func (f *fake) Sign(_ context.Context, g record.Signature) error {
	if f.err != nil {
		return f.err
	}
	g.ID, g.At = int64(len(f.books.signed)+1), now
	f.books.signed = append(f.books.signed, g)
	return nil
}

func TestRecordOfCoats(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/boat/Kestrel/record")
	has(t, body, "gloss coat <small>topsides</small>", "illustrative card: not a maker's figures", "Gloss topcoat rev 3", "Tue 7 Apr 08:30–09:40",
		"entered Tue 7 Apr 10:05", "✓ within", "surface over dew point", "booth probe", "Nobody has signed", "as it was read, for good: so the yard does", "batch")
	hasNot(t, body, "<s>", "Not measured:")
	f.moments = nil
	_, body = get(t, f, "/boat/Kestrel/record")
	has(t, body, "Not measured: air and hull, Tue 7 Apr 08:30–09:40.", "? not known throughout")
}

func entryOf(t *testing.T, body string) url.Values {
	t.Helper()
	form := url.Values{"by": {"Ines"}}
	for _, name := range []string{"once", "area", "stage", "at"} {
		m := regexp.MustCompile(`name="` + name + `" value="([^"]*)"`).FindStringSubmatch(body)
		if m == nil {
			t.Fatalf("the form has no %s", name)
		}
		form.Set(name, m[1])
	}
	return form
}

func TestEntry(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/boat/Kestrel/record?area=topsides&stage=gloss+coat")
	has(t, body, `id="add"`)
	form := entryOf(t, body)
	for k, v := range map[string]string{
		"wet": "110 120 4.7 mil", "dry": "48 50 52; 52 um", "with": "comb 2", "due": "2027-01-31", "base_batch": "B-17", "base_amount": "2,4",
		"hardener_amount": "1.2 L", "gun": "1.3 tip, 2 bar", "variant": "slow", "pass": "1",
	} {
		form.Set(k, v)
	}
	answer, failed := post(t, f, "/boat/Kestrel/entry", form)
	if answer.StatusCode != http.StatusSeeOther || len(f.books.entries) != 1 {
		t.Fatalf("%d: %s", answer.StatusCode, regexp.MustCompile(`(?s)class="fault"[^<]*`).FindString(failed))
	}
	got := f.books.entries[0]
	want := record.Entry{
		ID: 1, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}, Pass: 1, At: at(7, 10, 20), Entered: now, By: "Ines", Once: form.Get("once"), Variant: "slow",
		Base: record.Pot{Batch: "B-17", Litres: 2.4}, Hardener: record.Pot{Litres: 1.2}, Gun: "1.3 tip, 2 bar",
		Wet: []float64{110, 120, 119.38}, Dry: [][]float64{{48, 50, 52}, {52}}, Instrument: "comb 2", Due: "2027-01-31",
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	_, after := get(t, f, "/boat/Kestrel/record")
	has(t, after, "base batch B-17, 2.40 L", "wet film 110, 120, 119 µm", "dry film, spot 1: 48, 50, 52 µm", "with comb 2, calibration due 2027-01-31",
		"Wet film: least 110 µm, mean 116 µm, greatest 120 µm of 3 readings.", "Dry film: least 50 µm, mean 51 µm, greatest 52 µm of 2 spots, 4 readings; the card&#39;s dry film is 40 µm.")

	t.Run("paint alone names no gauge of the time before", func(t *testing.T) {
		post(t, f, "/boat/Kestrel/entry", url.Values{"once": {"e2"}, "area": {"topsides"}, "stage": {"gloss coat"}, "at": {"2026-04-07T10:00"}, "by": {"Ines"}, "with": {"comb 2"}, "due": {"2027-01-31"}, "base_batch": {"B-18"}})
		if len(f.books.entries) != 2 || f.books.entries[1].Instrument != "" || f.books.entries[1].Due != "" {
			t.Fatalf("%+v", f.books.entries)
		}
		f.books.entries = f.books.entries[:1]
	})
	for name, c := range map[string]struct {
		field, typed, says string
	}{
		"a slip of the unit": {"wet", "1200 mm", "was it 1200 um?"},
		"no number":          {"wet", "thick", "is not a film thickness"},
		"no instrument":      {"with", "", "with which instrument"},
		"no name":            {"by", "", "the record names a person"},
		"a tanker":           {"base_amount", "9000", "no amount of one coat"},
		"no day":             {"due", "soon", "Write the day as"},
		"still to come":      {"at", "2026-04-09T10:00", "still to come"},
	} {
		t.Run(name, func(t *testing.T) {
			bad := url.Values{}
			for k, v := range form {
				bad[k] = v
			}
			bad.Set(c.field, c.typed)
			answer, body := post(t, f, "/boat/Kestrel/entry", bad)
			if answer.StatusCode != http.StatusUnprocessableEntity || len(f.books.entries) != 1 {
				t.Fatalf("%d, %d kept", answer.StatusCode, len(f.books.entries))
			}
			has(t, body, c.says, `value="B-17"`, `value="48 50 52; 52 um"`)
		})
	}
}

func TestAStruckPressStaysToBeRead(t *testing.T) {
	f := newFake()
	last := f.presses[11]
	if last.Kind != planner.Started || last.Key.Stage != "gloss coat" {
		t.Fatalf("%+v is not the start of the coat", last)
	}
	f.presses = append(f.presses, planner.Press{ID: 99, Kind: planner.Struck, Strikes: 13, Key: last.Key, By: "Ines", Happened: now, Entered: now, Note: "wrong <boat>"})
	_, body := get(t, f, "/boat/Kestrel")
	has(t, body, "<s>gloss coat: pass 1", "Struck through by Ines Tue 7 Apr 10:20: wrong &lt;boat&gt;", "0 of 3 passes done")
	hasNot(t, body, `href="/boat/Kestrel/correct?press=13"`)
	has(t, body, `href="/boat/Kestrel/correct?press=12"`)
	_, body = get(t, f, "/boat/Kestrel/correct?press=13")
	has(t, body, "wrong &lt;boat&gt;")
	hasNot(t, body, "<form class=\"press\"")
}

func TestCorrect(t *testing.T) {
	f := newFake()
	f.presses[12].Entered = now.Add(-5 * time.Minute)
	_, body := get(t, f, "/boat/Kestrel/correct?press=13")
	has(t, body, "gloss coat on topsides: Pass 1 done", "That was a slip of mine", "Strike it, by scheduler or manager")
	_, old := get(t, f, "/boat/Kestrel/correct?press=12")
	hasNot(t, old, "That was a slip of mine")

	form := url.Values{"once": {"o1"}, "press": {"13"}, "by": {"Ines"}, "instead": {"2026-04-07T09:35"}}
	answer, _ := post(t, f, "/boat/Kestrel/slip", form)
	if answer.StatusCode != http.StatusSeeOther || !reflect.DeepEqual(f.books.struck, []int64{13}) || !f.books.slips[0] {
		t.Fatalf("%d, struck %v", answer.StatusCode, f.books.struck)
	}
	if len(f.books.instead) != 1 || !f.books.instead[0].Happened.Equal(at(7, 9, 35)) || f.books.instead[0].Kind != planner.PassDone || f.books.instead[0].Pass != 1 || f.books.instead[0].ID != 0 {
		t.Errorf("instead %+v", f.books.instead)
	}

	t.Run("a strike wants a reason", func(t *testing.T) {
		answer, body := post(t, f, "/boat/Kestrel/strike", url.Values{"once": {"o2"}, "press": {"13"}, "by": {"Rui"}})
		if answer.StatusCode != http.StatusUnprocessableEntity {
			t.Fatal(answer.StatusCode)
		}
		has(t, body, "Write why, in a few words", `value="Rui"`)
	})
	t.Run("what must go along is offered", func(t *testing.T) {
		f.books.also = []int64{13}
		form := url.Values{"once": {"o3"}, "press": {"12"}, "by": {"Rui"}, "why": {"another boat"}}
		answer, body := post(t, f, "/boat/Kestrel/strike", form)
		if answer.StatusCode != http.StatusConflict {
			t.Fatal(answer.StatusCode)
		}
		has(t, body, "could not be what was reported after it", `name="also" value="13" checked`, "gloss coat on topsides: Pass 1 done, Tue 7 Apr 09:40", "Strike all of these through", "another boat")
		form.Set("also", "13")
		answer, _ = post(t, f, "/boat/Kestrel/strike", form)
		if answer.StatusCode != http.StatusSeeOther || !reflect.DeepEqual(f.books.struck, []int64{12, 13}) || f.books.by.Note != "another boat" {
			t.Errorf("%d, struck %v for %q", answer.StatusCode, f.books.struck, f.books.by.Note)
		}
	})
	t.Run("of nothing", func(t *testing.T) {
		if answer, _ := get(t, f, "/boat/Kestrel/correct?press=777"); answer.StatusCode != http.StatusNotFound {
			t.Error(answer.StatusCode)
		}
	})
}

func TestStrikeAnEntry(t *testing.T) {
	f := newFake()
	f.books.entries = []record.Entry{{ID: 1, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}, At: now, Entered: now.Add(-time.Minute), By: "Ines", Gun: "the wrong gun"}}
	_, body := get(t, f, "/boat/Kestrel/record?entry=1")
	has(t, body, "Strike an entry through", "gun: the wrong gun", "That was a slip of mine")
	answer, _ := post(t, f, "/boat/Kestrel/slip", url.Values{"once": {"o1"}, "entry": {"1"}, "by": {"Ines"}})
	if answer.StatusCode != http.StatusSeeOther || f.books.entries[1].Strikes != 1 || !f.books.slips[0] {
		t.Fatalf("%d, %+v", answer.StatusCode, f.books.entries)
	}
	_, body = get(t, f, "/boat/Kestrel/record")
	has(t, body, "<s>gun: the wrong gun</s>", "Struck through by Ines")
}

func TestSign(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/boat/Kestrel/record")
	form := url.Values{"by": {"Rui"}, "role": {"manager"}, "act": {"signed"}, "once": {"s1"}, "area": {""}, "stage": {""}}
	digests := regexp.MustCompile(`name="digest" value="([0-9a-f]{64})"`).FindAllStringSubmatch(body, -1)
	if len(digests) != 2 || digests[0][1] == digests[1][1] {
		t.Fatalf("%d digests to sign: one for the coat, one for the whole", len(digests))
	}
	form.Set("digest", digests[1][1])
	nameless := url.Values{"act": {"signed"}, "once": {"s0"}, "role": {"manager"}, "digest": {digests[1][1]}}
	if answer, body := post(t, f, "/boat/Kestrel/sign", nameless); answer.StatusCode != http.StatusUnprocessableEntity || !strings.Contains(body, "a signature is a name") {
		t.Errorf("without a name: %d", answer.StatusCode)
	}
	answer, _ := post(t, f, "/boat/Kestrel/sign", form)
	if answer.StatusCode != http.StatusSeeOther || len(f.books.signed) != 1 {
		t.Fatal(answer.StatusCode)
	}
	_, body = get(t, f, "/boat/Kestrel/record")
	has(t, body, "Rui, manager, signed off the whole record", digests[1][1], "Open the whole record again")
	hasNot(t, body, "Add batches", "no longer what was signed", "Sign off gloss coat")
	f.presses = append(f.presses, planner.Press{ID: 200, Kind: planner.Held, Key: planner.Key{Boat: "Kestrel", Area: "house", Stage: "wash"}, By: "x", Note: "y", Happened: now, Entered: now})
	_, body = get(t, f, "/boat/Kestrel/record")
	has(t, body, "no longer what was signed")
	if answer, body := post(t, f, "/boat/Kestrel/sign", url.Values{"by": {"Rui"}, "role": {"manager"}, "act": {"reopened"}, "once": {"s2"}}); answer.StatusCode != 422 || !strings.Contains(body, "Write why it is opened again") {
		t.Errorf("opened again without a reason: %d", answer.StatusCode)
	}
}

// What was typed while the manager signed comes back with why it was not kept.
func TestSignedMeanwhile(t *testing.T) {
	f := newFake()
	key := planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}
	f.books.entries = []record.Entry{{ID: 1, Key: key, At: now, Entered: now, By: "Ines", Gun: "the wrong gun", Instrument: "comb 2", Due: "2026-04-06", Wet: []float64{110}}}
	f.books.signed = []record.Signature{{ID: 1, Key: key, Act: record.Signed, By: "Rui", Role: "manager", At: now}}
	f.books.shut = publicError{"it was signed off by Rui"}
	answer, body := post(t, f, "/boat/Kestrel/entry", url.Values{"once": {"e1"}, "area": {"topsides"}, "stage": {"gloss coat"}, "at": {"2026-04-07T10:00"}, "by": {"Ines"}, "note": {"a run at frame 7"}})
	if answer.StatusCode != http.StatusConflict {
		t.Error(answer.StatusCode)
	}
	has(t, body, "It was signed off by Rui.", "a run at frame 7", "calibration ran out 2026-04-06, before this was measured")
	_, body = get(t, f, "/boat/Kestrel/correct?press=13")
	has(t, body, "Signed off by Rui, manager", "until a manager opens")
	hasNot(t, body, "Strike it through")
}

func TestRecordFiles(t *testing.T) {
	f := newFake()
	for suffix, c := range map[string]struct{ kind, begins string }{
		"record.pdf":  {"application/pdf", "%PDF-"},
		"record.csv":  {"text/csv; charset=utf-8; header=present", "row,area,stage"},
		"record.json": {"application/json", "{\n  \"form\": 1"}, "evidence.zip": {"application/zip", "bundle of Ada & Sons"},
	} {
		answer, body := get(t, f, "/boat/"+url.PathEscape("Ada & Sons")+"/"+suffix)
		if answer.StatusCode != 200 || answer.Header.Get("Content-Type") != c.kind || !strings.HasPrefix(body, c.begins) {
			t.Errorf("%s: %d %s %.40q", suffix, answer.StatusCode, answer.Header.Get("Content-Type"), body)
		}
		if name := answer.Header.Get("Content-Disposition"); !strings.Contains(name, "Ada & Sons") {
			t.Errorf("%s is named %s", suffix, name)
		}
	}
	f.err = publicError{"no"}
	if answer, _ := get(t, f, "/boat/Kestrel/evidence.zip"); answer.StatusCode != 500 {
		t.Errorf("a bundle that fails before its first byte: %d", answer.StatusCode)
	}
}

// A go / no-go list stands once with who answered and for whom, and what was struck by itself.
func TestAnswersOfARecord(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	one := record.Check{At: now, By: "Ana", For: "Rui", Ask: "tack done", Answer: "go"}
	two := one
	two.Ask, two.Answer, two.Note = "fan on", "no-go", "it stands"
	struck := one
	struck.Struck = &record.Strike{By: "Ines", At: now, Why: "the wrong boat"}
	got := c.checked([]record.Check{one, two, struck})
	if len(got) != 2 || got[0].By != "Ana for Rui" || len(got[0].Said) != 2 || got[0].Said[1] != [2]string{"fan on", "no-go: it stands"} || got[0].Struck != "" ||
		!strings.Contains(got[1].Struck, "the wrong boat") {
		t.Errorf("%+v", got)
	}
}
