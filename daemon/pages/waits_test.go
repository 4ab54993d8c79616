package pages

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/planner/waits"
	"fairwindow/planner/whatif"
)

// waiting is the yard behind the manager's pages.
type waiting struct {
	*fake
	all     []waits.Entry
	days    []waits.LostDay
	logged  []waits.Logged
	struck  map[int64]string
	plans   map[int64]waits.Kept
	studies map[string]whatif.Study
	remade  *whatif.Study
	asked   []string
	refuses error
}

func newWaiting() *waiting {
	f := newFake()
	f.yard.Crews = []config.Crew{{Name: "paint", People: 2}, {Name: "prep", People: 3}}
	f.yard.LostDay = &config.LostDay{}
	w := &waiting{fake: f, struck: map[int64]string{}, studies: map[string]whatif.Study{}, plans: map[int64]waits.Kept{}}
	w.plans[11] = waits.Kept{ID: 11, Plan: f.told, Problem: "4f1d", Made: at(6, 17, 0), Told: at(6, 17, 5), By: "Ines"}
	coat, mask := planner.Key{Boat: "Plover", Area: "house", Stage: "gloss coat"}, planner.Key{Boat: "Plover", Area: "house", Stage: "unmask"}
	bound := conditions.Bound{Of: conditions.OfMargin, Least: true, At: 3, Written: "3 K", Owner: "card Gloss topcoat rev 3"}
	damp := planner.Wait{From: at(7, 9, 0), To: at(8, 9, 0), Cause: planner.OutOfLimits, Evidence: planner.Evidence{Bound: bound, Value: .7, When: at(7, 11, 0), Sure: conditions.Foretold, Issued: at(6, 6, 0)}}
	kept := planner.Wait{From: at(8, 9, 0), To: at(8, 12, 0), Cause: planner.AsTold, Evidence: planner.Evidence{Amount: 55}}
	moved := planner.Wait{From: at(8, 9, 0), To: at(9, 12, 0), Cause: planner.EarlierMoved, Evidence: planner.Evidence{Other: coat}}
	w.all = []waits.Entry{
		{Move: waits.Move{ID: 1, Plan: 11, At: at(6, 17, 5), By: "Ines", Key: coat, Kind: config.Coat, Place: "Booth 1", Crew: "paint", From: at(7, 9, 0), To: at(8, 12, 0), Fixes: true,
			Waits: []planner.Wait{damp, kept}, Stood: []planner.Span{{From: at(7, 9, 0), To: at(8, 12, 0)}}},
			First: at(7, 9, 0), Cause: damp.Cause, Wait: damp, Spans: []planner.Wait{damp, kept}, Rides: []planner.Key{mask}},
		{Move: waits.Move{ID: 2, Plan: 11, At: at(6, 17, 5), By: "Ines", Key: mask, Kind: config.Unmask, Place: "Booth 1", Crew: "prep", From: at(8, 9, 0), To: at(9, 12, 0), Waits: []planner.Wait{moved}},
			First: at(8, 9, 0), Cause: moved.Cause, Wait: moved, Spans: []planner.Wait{moved}, Again: true},
		{Move: waits.Move{At: at(7, 10, 0), By: "Ana", Key: planner.Key{Boat: "Ada & Sons", Area: "house", Stage: "wash"}, Kind: config.Wash, Place: "North shed", From: at(7, 8, 0), To: at(7, 10, 0)},
			First: at(7, 8, 0), Cause: waits.Unreported, Wait: planner.Wait{Cause: waits.Unreported}, Spans: []planner.Wait{{From: at(7, 8, 0), To: at(7, 10, 0), Cause: waits.Unreported}}},
		{Move: waits.Move{ID: 3, Plan: 12, At: at(7, 10, 0), By: "rule", Key: planner.Key{Boat: "Kestrel", Area: "house", Stage: "wash"}, Kind: config.Wash, Place: "Booth 1", From: at(8, 8, 0)},
			First: at(8, 8, 0), Cause: planner.CrewBusy, Wait: planner.Wait{Cause: planner.CrewBusy}},
	}
	w.days = []waits.LostDay{
		{Boat: "Plover", Day: "2026-04-03", Key: coat, Place: "Booth 1", Crew: "paint", Plan: 11, Told: at(2, 17, 5), Then: damp.Evidence, Shift: 8.5, PutOff: 8.5, Lost: 4.5, Least: .6, Greatest: 4.1, Measured: 8.5, Fixes: true, Logged: true},
		{Boat: "Kestrel", Day: "2026-04-03", Key: planner.Key{Boat: "Kestrel", Area: "house", Stage: "gloss coat"}, Place: "Slip 2", Crew: "prep", Plan: 11, Then: damp.Evidence, Shift: 8, PutOff: 8,
			Not: []waits.Not{waits.Unmeasured, waits.NotFixing, waits.NotLogged}},
		{Boat: "Ada & Sons", Day: "2026-04-03", Key: planner.Key{Boat: "Ada & Sons", Area: "house", Stage: "gloss coat"}, Place: "Slip 2", Crew: "prep", Plan: 11, Then: damp.Evidence, Shift: 8, PutOff: 8, Lost: 3, Measured: 8, Least: 1, Greatest: 5, Logged: true, Worked: 7,
			Not: []waits.Not{waits.TooShort, waits.HadWork}},
	}
	return w
}

func (w *waiting) PutOff(context.Context) ([]waits.Entry, error) { return w.all, w.broken }
func (w *waiting) LostDays(_ context.Context, from, to time.Time) ([]waits.LostDay, error) {
	var some []waits.LostDay
	for _, d := range w.days {
		if d.Day >= from.Format(time.DateOnly) && d.Day < to.Format(time.DateOnly) {
			some = append(some, d)
		}
	}
	return some, w.broken
}
func (w *waiting) CrewLog(_ context.Context, first, last time.Time) ([]waits.Logged, error) {
	var some []waits.Logged
	for _, l := range w.logged {
		if l.Day >= first.Format(time.DateOnly) && l.Day <= last.Format(time.DateOnly) {
			some = append(some, l)
		}
	}
	return some, w.broken
}
func (w *waiting) Reported(_ context.Context, crew string, day time.Time) ([]waits.Logged, error) {
	if crew != "paint" {
		return nil, nil
	}
	return []waits.Logged{{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat", Hours: 2.5}}, nil
}
func (w *waiting) LogDay(_ context.Context, lines []waits.Logged) error {
	if w.refuses != nil {
		return w.refuses
	}
	w.logged = append(w.logged, lines...)
	return nil
}
func (w *waiting) StrikeLog(_ context.Context, id int64, by, why string) error {
	if w.refuses != nil {
		return w.refuses
	}
	w.struck[id] = by + ": " + why
	return nil
}
func (w *waiting) KeptPlan(_ context.Context, id int64) (waits.Kept, bool, error) {
	k, ok := w.plans[id]
	return k, ok, w.broken
}
func (w *waiting) TryChange(_ context.Context, text, _ string) (string, error) {
	w.asked = append(w.asked, text)
	return "a1", w.refuses
}
func (w *waiting) MakeAgain(_ context.Context, plan int64) (string, error) {
	w.asked = append(w.asked, fmt.Sprint(plan))
	return "b1", w.refuses
}
func (w *waiting) Study(id string) (whatif.Study, bool) { s, ok := w.studies[id]; return s, ok }
func (w *waiting) Remade(int64) (whatif.Study, bool) {
	if w.remade == nil {
		return whatif.Study{}, false
	}
	return *w.remade, true
}

func (w *waiting) handler(t testing.TB) http.Handler {
	t.Helper()
	o, _ := w.options()
	o.Waits, o.Studies = w, w
	handler, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return handler
}

func (w *waiting) get(t *testing.T, path string) (*http.Response, string) {
	t.Helper()
	return do(t, w.handler(t), httptest.NewRequest("GET", path, nil))
}

func (w *waiting) post(t *testing.T, path string, form url.Values) (*http.Response, string) {
	t.Helper()
	r := httptest.NewRequest("POST", path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return do(t, w.handler(t), r)
}

func TestTheManagersPages(t *testing.T) {
	inline := regexp.MustCompile(`(?i)<[a-z][^>]*\s(on[a-z]+|style)\s*=|<style|<script>|javascript:`)
	unsaid := regexp.MustCompile(`(?i)\bsafe(ly|ty)?\b|cost-minute`)
	field := regexp.MustCompile(`<(input|select|textarea)\b[^>]*>`)
	for _, page := range []string{"/waits", "/waits?all=1&sort=longest", "/waits?boat=nobody", "/waits/lost", "/waits/lost?month=2026-01", "/log", "/log?crew=prep&day=2026-04-03", "/plan/11", "/whatif", "/whatif?text=take+out+Kestrel"} {
		answer, body := newWaiting().get(t, page)
		if answer.StatusCode != http.StatusOK || len(body) > 150_000 {
			t.Errorf("%s: status %d, %d bytes", page, answer.StatusCode, len(body))
		}
		for _, bad := range []string{inline.FindString(body), unsaid.FindString(body)} {
			if bad != "" {
				t.Errorf("%s says %q", page, bad)
			}
		}
		hasNot(t, body, "ZgotmplZ", "<no value>", "NaN", "Inf")
		has(t, body, `<main id="main">`, `>Waits</a>`)
		for _, at := range field.FindAllStringIndex(body, -1) {
			if tag := body[at[0]:at[1]]; !strings.Contains(tag, `type="hidden"`) && strings.LastIndex(body[:at[0]], "<label") <= strings.LastIndex(body[:at[0]], "</label") {
				t.Errorf("%s: no label about %s", page, tag)
			}
		}
	}
	for _, page := range []string{"/plan/99", "/plan/x", "/whatif/none", "/waits/other.csv"} {
		if answer, _ := newWaiting().get(t, page); answer.StatusCode != http.StatusNotFound {
			t.Errorf("%s: status %d", page, answer.StatusCode)
		}
	}
}

// One line can be read to an owner on the telephone: what, from when to when, why, by which
// forecast, and where it stands written.
func TestADeferralIsReadAloud(t *testing.T) {
	_, body := newWaiting().get(t, "/waits")
	has(t, body, "Plover house, gloss coat: put off 1 d 3 h, from Tue 7 Apr 09:00 to Wed 8 Apr 12:00. Outside the limits of card Gloss topcoat rev 3: surface over dew point 0.7 K, at least 3 K wanted, at Tue 7 Apr 11:00, forecast issued Mon 6 Apr 06:00.",
		"Told by Ines, Mon 6 Apr 17:05.", "by the yard&#39;s rule that people are given each new plan at once.", "The boat&#39;s launch hung on it then.", "With it moved: house, unmask.", `href="/plan/11"`, `href="/place/Booth%201?first=2026-04-07&amp;last=2026-04-07#chart"`,
		"begun 2 h later than told", "told for Wed 8 Apr 08:00, then without a start", "weather or air outside the limits")
	if n := strings.Count(body, `class="deferral"`); n != 3 {
		t.Errorf("%d lines, want 3: what moved only with another is told with it", n)
	}
	_, body = newWaiting().get(t, "/waits?all=1")
	if n := strings.Count(body, `class="deferral"`); n != 4 {
		t.Errorf("%d lines of all, want 4", n)
	}
	w := newWaiting()
	w.all = nil
	_, body = w.get(t, "/waits")
	has(t, body, "Nothing has been put off.")
	hasNot(t, body, "What it came to")
}

// What differs only in how far one figure was from one limit is one span, with the worst of it.
func TestAlikeWaitsAreOne(t *testing.T) {
	bound := conditions.Bound{Of: conditions.OfSurface, Least: true, At: 16, Written: "16 C", Owner: "card Topcoat rev 1"}
	w := func(from, to int, cause planner.Cause, value float64, issued time.Time) planner.Wait {
		return planner.Wait{From: at(7, 9, from), To: at(7, 9, to), Cause: cause, Evidence: planner.Evidence{Bound: bound, Value: value, Note: fmt.Sprint(value), When: at(7, 9, from), Sure: conditions.Foretold, Issued: issued}}
	}
	old, fresh := at(6, 6, 0), at(6, 12, 0)
	other := w(25, 30, planner.OutOfLimits, 14, fresh)
	other.Evidence.Bound.Owner = "profile default"
	all := []planner.Wait{w(0, 5, planner.OutOfLimits, 15, old), w(5, 10, planner.OutOfLimits, 13, old), w(10, 15, planner.OutOfLimits, 14, old.UTC()),
		w(15, 20, planner.OutOfLimits, 12, fresh), w(20, 25, planner.AsTold, 12, fresh), other, w(35, 40, planner.OutOfLimits, 11, fresh)}
	got := alike(all)
	if len(got) != 5 || !got[0].From.Equal(at(7, 9, 0)) || !got[0].To.Equal(at(7, 9, 15)) || got[0].Evidence.Value != 13 || got[0].Evidence.Note != "13" {
		t.Errorf("%d spans, the first %+v", len(got), got[0])
	}
	if all[0].Evidence.Value != 15 {
		t.Error("what was known then was changed")
	}
	bound.Least, bound.Of = false, conditions.OfHumidity
	if got := alike([]planner.Wait{w(0, 5, planner.OutOfLimits, 80, old), w(5, 10, planner.OutOfLimits, 91, old)}); len(got) != 1 || got[0].Evidence.Value != 91 {
		t.Errorf("of a greatest: %+v", got)
	}
	if got := alike([]planner.Wait{{To: at(7, 9, 0), Cause: planner.KeptClose}, {From: at(7, 9, 0), Cause: planner.KeptClose}}); len(got) != 2 {
		t.Error("two causes without a limit are one")
	}
}

func TestNarrowedDown(t *testing.T) {
	for path, want := range map[string]struct{ has, not string }{
		"/waits?boat=Plover":      {"Plover house, gloss coat:", "Ada &amp; Sons house, wash"},
		"/waits?kind=wash":        {"Ada &amp; Sons house, wash", "Plover house, gloss coat:"},
		"/waits?cause=crew+busy":  {"Kestrel house, wash", "Ada &amp; Sons house, wash"},
		"/waits?place=North+shed": {"Ada &amp; Sons house, wash", "Kestrel house, wash"},
		"/waits?week=2026-W20":    {"Nothing like that has been put off.", "Ada &amp; Sons house, wash"},
	} {
		_, body := newWaiting().get(t, path)
		has(t, body, want.has)
		hasNot(t, body, want.not)
	}
	_, body := newWaiting().get(t, "/waits?boat=Plover&week=2026-W15")
	has(t, body, "Of: <b>Plover; week 2026-W15</b>", "27 h put off, of 29 h in all.")
	_, body = newWaiting().get(t, "/waits?least=4h")
	has(t, body, "29 h put off in all.", "1 shorter one is not listed; the sums have them.", "Plover house, gloss coat:", "Kestrel house, wash", "Most of it: 24 h weather or air outside the limits, 3.0 h kept as people had been told")
	hasNot(t, body, "Ada &amp; Sons house, wash:")
	_, body = newWaiting().get(t, "/waits?sort=longest")
	if strings.Index(body, "Plover house, gloss coat:") > strings.Index(body, "Ada &amp; Sons house, wash") {
		t.Error("the longest is not first")
	}
}

// Without rates in the yard file there is no money on any page, nor in any file.
func TestMoneyOnlyWithRates(t *testing.T) {
	for _, rated := range []bool{false, true} {
		w := newWaiting()
		if rated {
			w.yard.Rates = &config.Rates{Currency: "EUR", Painter: 48, Booth: 30, BoatDay: 600}
		}
		w.studies["a1"] = tried(w.fake)
		var all strings.Builder
		for _, page := range []string{"/waits", "/waits/totals.csv", "/waits/waits.json", "/waits/lost", "/whatif/a1"} {
			_, body := w.get(t, page)
			if strings.Contains(body, "EUR") != rated {
				t.Errorf("rates %t: %s says money %t", rated, page, !rated)
			}
			all.WriteString(body)
		}
		if money := regexp.MustCompile(`(?i)currency|<th[^>]*>Cost<`).FindString(all.String()); (money != "") != rated {
			t.Errorf("rates %t: the word %q", rated, money)
		}
		if got := moneyMore(-1144.4, "EUR") + moneyMore(1144, "EUR") + moneyMore(0.4, "EUR"); got != "−1\u202f144 EUR+1\u202f144 EUR" {
			t.Errorf("more and less: %q", got)
		}
		if rated { // 27 h in the booth at 30 and as long a delay at 600 a day; 8.5 h of two people at 48
			has(t, all.String(), "1\u202f485 EUR", "816 EUR")
		}
	}
}

func TestExports(t *testing.T) {
	w := newWaiting()
	w.all[2].Key.Stage = `=HYPERLINK("x"), wash`
	answer, body := w.get(t, "/waits/deferrals.csv?boat=")
	if kind := answer.Header.Get("Content-Type"); !strings.HasPrefix(kind, "text/csv") {
		t.Errorf("it is %s", kind)
	}
	rows, err := csv.NewReader(strings.NewReader(body)).ReadAll() // every row has the fields of the first
	if err != nil || len(rows) != 5 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	if strings.Count(body, "\r\n") != 5 || strings.Count(body, "\n") != 5 { // RFC 4180, 2.1
		t.Error("lines do not end in CRLF")
	}
	cells := strings.Join(rows[1], "|") + strings.Join(rows[3], "|")
	has(t, cells+strings.Join(rows[2], "|")+strings.Join(rows[4], "|"), `'=HYPERLINK("x"), wash`, "2026-04-07T09:00:00+01:00|2026-04-08T12:00:00+01:00|27|27", "3 K|card Gloss topcoat rev 3|0.7 K")
	for i, row := range rows {
		for _, c := range row {
			if c != "" && strings.ContainsAny(c[:1], "=+-@\t\r") {
				t.Errorf("row %d has %q, which a spreadsheet would run", i, c)
			}
		}
	}
	_, body = w.get(t, "/waits/totals.csv")
	has(t, body, "by,name,hours\r\n", "cause,weather or air outside the limits,24\r\n", "all,,29\r\n")
	wash := &w.all[2]
	wash.To, wash.Spans = wash.From.Add(5*time.Minute), []planner.Wait{{From: wash.From, To: wash.From.Add(5 * time.Minute)}}
	_, body = w.get(t, "/waits/deferrals.csv?boat=Ada+%26+Sons")
	has(t, body, "+01:00,0.083,0.083,") // a twelfth of an hour
	_, body = w.get(t, "/boat/Plover")
	has(t, body, `href="/waits?boat=Plover"`)
	_, body = w.get(t, "/waits/waits.json?boat=Plover")
	var read struct {
		Deferrals []waits.Entry `json:"deferrals"`
		Totals    waits.Totals  `json:"totals"`
	}
	if err := json.Unmarshal([]byte(body), &read); err != nil || len(read.Deferrals) != 2 || read.Totals.Hours != 27 || read.Totals.Again != 27 {
		t.Errorf("as JSON: %+v, %v", read.Totals, err)
	}
	_, body = w.get(t, "/waits/lost.csv?month=2026-04")
	rows, err = csv.NewReader(strings.NewReader(body)).ReadAll()
	if err != nil || len(rows) != 5 || rows[0][0] != "rule" || !strings.Contains(rows[0][1], "at least 50") || rows[2][13] != "true" || rows[3][13] != "false" {
		t.Errorf("lost days: %v, %v", rows, err)
	}
}

// The statement has the rule at its top, and each day says why it counts or does not.
func TestTheStatement(t *testing.T) {
	w := newWaiting()
	w.days[1].Not = append(w.days[1].Not, waits.TooShort)
	_, body := w.get(t, "/waits/lost")
	has(t, body, "took at least 50\u00a0% of the crew&#39;s shift", "launch hung on that stage", "by the daily log", "Plover: 1 day counts.", "✓ Counts.</b> 4.5 h of 8.5 h lost",
		"nothing was measured that day, and a forecast alone is no evidence; the boat&#39;s launch did not hang on the stage; nobody wrote down what crew prep did instead",
		"by what was measured none of the 8.0 h shift was lost, and the rule asks for 4.0 h",
		"3.0 h of the 8.0 h shift was lost, and the rule asks for 4.0 h; crew prep had other work for 7.0 h",
		"surface over dew point 0.6 to 4.1 K in 8.5 h of the shift", "crew paint had no other work", "forecast issued Mon 6 Apr 06:00")
	if strings.Index(body, "The rule.") > strings.Index(body, "Counts.") {
		t.Error("the rule does not stand at the top")
	}
	w.days[2].Shift = 8.5
	_, body = w.get(t, "/waits/lost")
	has(t, body, "3.0 h of the 8.5 h shift was lost, and the rule asks for 4.25 h")
	w.yard.LostDay = &config.LostDay{Part: must[unit.Share]("25 %"), AnyStage: true, OtherWork: true}
	_, body = w.get(t, "/waits/lost")
	has(t, body, "at least 25\u00a0%")
	hasNot(t, body, "launch hung on that stage", "by the daily log the crew")
	w.yard.LostDay = nil
	_, body = w.get(t, "/waits/lost")
	has(t, body, "has no rule for lost days", "lost_day:")
	_, body = newWaiting().get(t, "/waits/lost?month=2026-03")
	has(t, body, "No stage was put off for the weather within a shift this month.")
}

func TestTheLogForm(t *testing.T) {
	w := newWaiting()
	_, body := w.get(t, "/log?crew=paint&day=2026-04-06")
	has(t, body, `value="2.5"`, `value="topsides, gloss coat"`, "<option selected>Kestrel</option>")
	sheet := func(more url.Values) url.Values {
		form := url.Values{"once": {"x"}, "crew": {"paint"}, "day": {"2026-04-06"}, "by": {"Ines"}, "boat_0": {"Kestrel"}, "what_0": {"mask"}, "hours_0": {"3,5 h"}, "remark_0": {"by hand"},
			"boat_1": {""}, "what_1": {""}, "hours_1": {""}, "remark_1": {""}}
		for k, v := range more {
			form[k] = v
		}
		return form
	}
	for _, c := range []struct {
		more url.Values
		says string
	}{
		{url.Values{"by": {" "}}, "Write who writes this down"},
		{url.Values{"hours_0": {"much"}}, "Write the hours, like 2.5."},
		{url.Values{"hours_0": {"NaN"}}, "Write the hours, like 2.5."},
		{url.Values{"hours_0": {"25"}}, "Write the hours, like 2.5."},
		{url.Values{"boat_0": {""}, "what_0": {""}}, "Say what it was"},
		{url.Values{"none": {"1"}}, "take one out"},
		{url.Values{"boat_0": {""}, "what_0": {""}, "hours_0": {""}, "remark_0": {""}}, "Nothing is filled in."},
	} {
		answer, body := w.post(t, "/log", sheet(c.more))
		if answer.StatusCode != http.StatusUnprocessableEntity || len(w.logged) != 0 {
			t.Errorf("%v: status %d, %d kept", c.more, answer.StatusCode, len(w.logged))
		}
		has(t, body, c.says)
		if c.more["remark_0"] == nil {
			has(t, body, `value="by hand"`) // it comes back filled in
		}
	}
	answer, _ := w.post(t, "/log", sheet(nil))
	if to := answer.Header.Get("Location"); answer.StatusCode != http.StatusSeeOther || !strings.Contains(to, "said=logged") {
		t.Errorf("kept: status %d, to %s", answer.StatusCode, to)
	}
	if len(w.logged) != 1 || w.logged[0].Hours != 3.5 || w.logged[0].Once != "x/0" || w.logged[0].By != "Ines" {
		t.Fatalf("kept are %+v", w.logged)
	}
	if answer, _ := w.post(t, "/log", sheet(url.Values{"boat_0": {""}, "what_0": {""}, "hours_0": {""}, "remark_0": {""}, "none": {"1"}})); answer.StatusCode != http.StatusSeeOther || w.logged[1].Hours != 0 {
		t.Errorf("no other work: status %d, %+v", answer.StatusCode, w.logged)
	}
	w.logged[0].Struck, w.logged[0].StruckBy, w.logged[0].StruckWhy = now, "Rui", "wrong boat"
	_, body = w.get(t, "/log?crew=paint&day=2026-04-06")
	has(t, body, "<s>Kestrel, mask: 3.5 h", "struck through by Rui", "wrong boat", "<span>no other work</span>")
	if answer, _ := w.post(t, "/log/7/strike", url.Values{"by": {"Rui"}, "why": {"wrong boat"}, "crew": {"paint"}, "day": {"2026-04-06"}}); answer.StatusCode != http.StatusSeeOther || w.struck[7] != "Rui: wrong boat" {
		t.Errorf("struck: status %d, %v", answer.StatusCode, w.struck)
	}
	w.refuses = sorry("no crew of this yard")
	answer, body = w.post(t, "/log", sheet(nil))
	if answer.StatusCode != http.StatusConflict {
		t.Errorf("refused: status %d", answer.StatusCode)
	}
	has(t, body, "No crew of this yard.", `value="by hand"`)
}

type sorry string

func (s sorry) Error() string  { return string(s) }
func (s sorry) Public() string { return string(s) }

func TestAKeptPlan(t *testing.T) {
	w := newWaiting()
	_, body := w.get(t, "/plan/11")
	kept := w.plans[11]
	kept.By = "rule"
	w.plans[12] = kept
	_, ruled := w.get(t, "/plan/12")
	has(t, ruled, "Mon 6 Apr 17:05, at once: so the yard&#39;s rule is")
	has(t, body, "Mon 6 Apr 17:05, let out by Ines", "4f1d", "Run it again", "lateness of launches", "no plan can cost less than")
	answer, _ := w.post(t, "/plan/11/again", nil)
	if answer.StatusCode != http.StatusSeeOther || len(w.asked) != 1 || w.asked[0] != "11" {
		t.Errorf("status %d, asked %v", answer.StatusCode, w.asked)
	}
	w.remade = &whatif.Study{Plan: 11, Asked: now}
	answer, body = w.get(t, "/plan/11")
	if answer.Header.Get("Refresh") == "" {
		t.Error("the page does not look again by itself")
	}
	has(t, body, "being made again")
	hasNot(t, body, "Run it again")
	w.remade.Done = now
	differs := planner.Differ{Of: "stage", Key: planner.Key{Boat: "Plover", Area: "house", Stage: "mask"}, Was: planner.Told{Start: at(8, 9, 0), Place: "Booth 1"}, Is: planner.Told{Start: at(8, 10, 0), Place: "Booth 1"}}
	for _, c := range []struct {
		is   planner.Remade
		says string
	}{
		{planner.Remade{Is: planner.Same, Stages: 8}, "✓ </b>Same. Made again Tue 7 Apr 10:20 from what was known then, it is what was kept, to the last of its 8 stages."},
		{planner.Remade{Is: planner.Different, Differs: []planner.Differ{differs}}, "mask on Plover house: kept with the start Wed 8 Apr 09:00 in Booth 1, now Wed 8 Apr 10:00 in Booth 1"},
		{planner.Remade{Is: planner.OtherVersion, Was: 1, Version: 2}, "Made by another version: planner 1 made it, this is planner 2."},
	} {
		w.remade.Remade = &c.is
		_, body := w.get(t, "/plan/11")
		has(t, body, c.says)
	}
	w.refuses = sorry("4 others wait already")
	answer, body = w.post(t, "/plan/11/again", nil)
	if answer.StatusCode != http.StatusConflict {
		t.Errorf("refused: status %d", answer.StatusCode)
	}
	has(t, body, "4 others wait already.")
}

// tried is a study with its answer: the draft against what was told.
func tried(f *fake) whatif.Study {
	d := planner.Compare(f.told, f.draft)
	return whatif.Study{ID: "a1", Text: "take out Kestrel", Asked: now, Done: now, Answer: &whatif.Answer{Sentence: "with Kestrel taken out no launch moves.", Assumed: []string{"the doors stay shut"}, Difference: d, Before: f.told, After: f.draft}}
}

func TestWhatIf(t *testing.T) {
	w := newWaiting()
	_, body := w.get(t, "/whatif")
	has(t, body, "heater Booth 1 to 24 C", "two fewer in crew prep", "promise Kestrel 2026-04-21", "swap turns of Kestrel and Ada &amp; Sons")
	answer, _ := w.post(t, "/whatif", url.Values{"text": {" take out Kestrel "}})
	if to := answer.Header.Get("Location"); answer.StatusCode != http.StatusSeeOther || to != "/whatif/a1" || w.asked[0] != "take out Kestrel" {
		t.Errorf("status %d to %s, asked %q", answer.StatusCode, to, w.asked)
	}
	w.studies["a1"] = whatif.Study{Text: "take out Kestrel", Asked: now, Ahead: 2}
	answer, body = w.get(t, "/whatif/a1")
	if answer.Header.Get("Refresh") == "" {
		t.Error("the page does not look again by itself")
	}
	has(t, body, "2 before it.")
	w.studies["a1"] = tried(w.fake)
	answer, body = w.get(t, "/whatif/a1")
	if answer.Header.Get("Refresh") != "" {
		t.Error("a page with its answer looks again")
	}
	has(t, body, "With Kestrel taken out no launch moves.", "Assumed: the doors stay shut.", "Tue 14 Apr 12:00, late", "3 h later", "the crew was busy", "Hours waited")
	has(t, body, `data-h="as it is"`, "where they differ", "some of the difference may be its own")
	w.studies["a1"] = whatif.Study{Text: "take out Kestrel", Asked: now, Done: now, Answer: &whatif.Answer{Sentence: "nothing changes.", Difference: planner.Compare(w.told, w.told), Before: w.told, After: w.told}}
	_, body = w.get(t, "/whatif/a1")
	has(t, body, "Sat 11 Apr 16:00")
	hasNot(t, body, "Hours waited", "yard&#39;s weights, minutes")
	w.studies["a1"] = whatif.Study{Text: "take out Titanic", Asked: now, Done: now, Fault: `there is no boat "Titanic"`}
	_, body = w.get(t, "/whatif/a1")
	has(t, body, "There is no boat &#34;Titanic&#34;.")
	w.refuses = sorry(`"paint it black", character 1: this begins no change`)
	answer, body = w.post(t, "/whatif", url.Values{"text": {"paint it black"}})
	if answer.StatusCode != http.StatusUnprocessableEntity {
		t.Errorf("refused: status %d", answer.StatusCode)
	}
	has(t, body, `value="paint it black"`, "this begins no change")
}

// season is two hundred deferrals and what rode with them.
func season() []waits.Entry {
	base := newWaiting().all
	var all []waits.Entry
	for i := range 200 {
		e := base[0]
		e.ID, e.Plan = int64(5*i), int64(5*i+1)
		e.At = at(1, 8, 0).Add(-time.Duration(i) * 20 * time.Hour)
		e.Key.Boat = fmt.Sprintf("Boat %d", i%40)
		all = append(all, e)
		for n := range 4 {
			r := base[1]
			r.ID, r.Plan, r.At, r.Key.Boat, r.Key.Stage = e.ID+int64(n)+1, e.Plan, e.At, e.Key.Boat, fmt.Sprintf("stage %d", n)
			all = append(all, r)
		}
	}
	return all
}

func TestASeasonStaysSmall(t *testing.T) {
	w := newWaiting()
	w.all = season()
	_, body := w.get(t, "/waits")
	if len(body) > 150_000 {
		t.Errorf("%d bytes, at most 150 kB", len(body))
	}
	has(t, body, "1 to 60 of 200", "page=2")
	_, body = w.get(t, "/waits?page=4")
	has(t, body, "181 to 200 of 200")
	hasNot(t, body, "page=5")
}

// BenchmarkWaits makes the page of a season: 200 deferrals, and 800 stages that moved with them.
func BenchmarkWaits(b *testing.B) {
	w := newWaiting()
	w.all = season()
	handler := w.handler(b)
	for b.Loop() {
		handler.ServeHTTP(httptest.NewRecorder(), httptest.NewRequest("GET", "/waits", nil))
	}
}
