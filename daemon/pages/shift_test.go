package pages

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// onShiftYard is the small yard with crews, a list before each coat, kits and weights.
func onShiftYard() *fake {
	f := newFake()
	f.yard.Crews = []config.Crew{{Name: "paint", Skills: []string{"paint"}, People: 2}, {Name: "prep", Skills: []string{"prep"}, People: 3}}
	f.yard.People = []config.Person{{Name: "Ines", Crews: []string{"paint"}}, {Name: "Rui", Crews: []string{"prep"}}}
	f.yard.Checklist = config.Checklist{config.Coat: {
		{Words: "air line drained"}, {Words: "extraction on", Beside: config.BesideFan}, {Words: "hull over the dew point", Beside: config.BesideMargin},
	}}
	f.told.Stages = append(f.told.Stages, planner.Planned{
		Key: planner.Key{Boat: "Plover", Area: "topsides", Stage: "wipe"}, Kind: config.Wipe, Place: "Slip 2", Crew: "paint", Start: at(7, 15, 0), End: at(7, 16, 0), State: planner.Firm,
	})
	return f
}

var gloss = planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}

// beforeIt is the yard before the gloss coat was begun.
func beforeIt() *fake {
	f := onShiftYard()
	for i, p := range f.presses {
		if p.Key == gloss {
			f.presses = f.presses[:i]
			break
		}
	}
	for i := range f.told.Stages {
		if f.told.Stages[i].Key == gloss {
			f.told.Stages[i].State, f.told.Stages[i].Until = planner.OpenNow, at(7, 13, 0)
			f.told.Stages[i].Start, f.told.Stages[i].End = at(7, 10, 0), at(7, 15, 0)
		}
	}
	return f
}

func TestShiftOfACrew(t *testing.T) {
	f := onShiftYard()
	_, body := get(t, f, "/shift?crew=paint")
	has(t, body, "gloss coat", "<b>Kestrel</b> topsides", "in Booth 1", "Put on pass 2 of 3, then press done.", "Planned until <b>14:00</b>",
		"3 h 40 min left", "Pass 2 of 3 done", "Pot mixed", "Within the limits of card Gloss topcoat rev 3", "steady", "A phone may not be permitted", "isocyanates can sensitise")
	if !strings.Contains(body, `data-made="`+strconv.FormatInt(now.UnixMilli(), 10)+`"`) {
		t.Error("a phone cannot tell how far off its clock is")
	}
	// The wipe is told for today, the house of Plover for the tenth.
	if a, b := strings.Index(body, "<b>wipe</b>"), strings.Index(body, "<b>reactivate for gloss coat</b>"); a < 0 || b < a {
		t.Errorf("what comes next is out of order: %d, %d", a, b)
	}
	_, prep := get(t, f, "/shift?crew=prep")
	has(t, prep, "sand 320", "Ada &amp; Sons")
	hasNot(t, prep, "Go / no-go, before")
	if len(body) > 150_000 {
		t.Errorf("%d bytes", len(body))
	}
}

// The crew is the browser's, else the person's own; nobody's is asked for.
func TestShiftRemembersTheCrew(t *testing.T) {
	f := onShiftYard()
	answer, _ := get(t, f, "/shift?crew=prep")
	ask := func(cookies ...*http.Cookie) string {
		r := httptest.NewRequest("GET", "/shift", nil)
		for _, c := range cookies {
			r.AddCookie(c)
		}
		_, body := do(t, handlerOf(t, f), r)
		return body
	}
	has(t, ask(answer.Cookies()...), "Shift: prep")
	w := httptest.NewRecorder()
	rememberName(w, "Ines")
	has(t, ask(w.Result().Cookies()...), "Shift: paint")
	has(t, ask(), "Which crew are you with?")
	if answer, _ := get(t, f, "/shift?crew=nobody"); answer.StatusCode != http.StatusNotFound {
		t.Errorf("a crew that is none: %d", answer.StatusCode)
	}
}

// pressed is a form of the shift page as a browser sends it.
func pressed(k planner.Key, kind planner.PressKind, more ...string) url.Values {
	form := url.Values{
		"once": {"o1"}, "crew": {"paint"}, "boat": {k.Boat}, "area": {k.Area}, "stage": {k.Stage}, "pass": {"1"}, "by": {"Ines"}, "ago": {"0"}, "kind": {string(kind)},
	}
	for i := 0; i+1 < len(more); i += 2 {
		form.Set(more[i], more[i+1])
	}
	return form
}

func TestShiftPresses(t *testing.T) {
	for _, c := range []struct {
		name  string
		form  url.Values
		check func(*testing.T, planner.Press)
	}{
		{"now", pressed(gloss, planner.Mixed), func(t *testing.T, p planner.Press) {
			if !p.Happened.Equal(now) || p.By != "Ines" || p.Pass != 1 || p.Once != "o1/mixed/1" {
				t.Errorf("kept %+v", p)
			}
		}},
		{"15 minutes ago, for the painter", pressed(gloss, planner.Mixed, "ago", "15", "for", "Rui"), func(t *testing.T, p planner.Press) {
			if !p.Happened.Equal(now.Add(-15*time.Minute)) || p.For != "Rui" {
				t.Errorf("kept %+v", p)
			}
		}},
		{"at a time", pressed(gloss, planner.Mixed, "ago", "at", "at", "2026-04-07T09:05"), func(t *testing.T, p planner.Press) {
			if !p.Happened.Equal(at(7, 9, 5)) {
				t.Errorf("happened %v", p.Happened)
			}
		}},
		{"by a phone that had no line", pressed(gloss, planner.Mixed, "ago", "5", "happened_ms", strconv.FormatInt(at(7, 8, 0).Add(12*time.Second).UnixMilli(), 10)), func(t *testing.T, p planner.Press) {
			if !p.Happened.Equal(at(7, 8, 0).Add(12 * time.Second)) {
				t.Errorf("happened %v", p.Happened)
			}
		}},
		{"can't, by a chip and a word", pressed(gloss, planner.Cant, "reason_cant", "too windy", "note_cant", "gusts"), func(t *testing.T, p planner.Press) {
			if p.Note != "too windy: gusts" || len(p.Checks) != 0 {
				t.Errorf("kept %+v", p)
			}
		}},
		{"can't, by a chip alone", pressed(gloss, planner.Cant, "reason_cant", "too damp"), func(t *testing.T, p planner.Press) {
			if p.Note != "too damp" {
				t.Errorf("kept %+v", p)
			}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := beforeIt()
			before := len(f.presses)
			answer, body := post(t, f, "/shift/press", c.form)
			if answer.StatusCode != http.StatusSeeOther || len(f.presses) != before+1 {
				t.Fatalf("%d, %d presses: %s", answer.StatusCode, len(f.presses)-before, body)
			}
			c.check(t, f.presses[before])
			if again, _ := post(t, f, "/shift/press", c.form); again.StatusCode != http.StatusSeeOther || len(f.presses) != before+1 {
				t.Errorf("pressed twice it is kept %d times", len(f.presses)-before)
			}
		})
	}
}

func TestShiftFaultsStandBesideTheirFields(t *testing.T) {
	for _, c := range []struct {
		name, path string
		form       url.Values
		says       string
	}{
		{"nobody", "/shift/press", pressed(gloss, planner.Mixed, "by", ""), "Write who presses"},
		{"no reason", "/shift/press", pressed(gloss, planner.Cant, "note_cant", ""), "choose a reason"},
		{"a time to come", "/shift/press", pressed(gloss, planner.Mixed, "ago", "at", "at", "2026-04-07T12:00"), "still to come"},
		{"a phone ahead", "/shift/press", pressed(gloss, planner.Mixed, "happened_ms", strconv.FormatInt(at(7, 11, 0).UnixMilli(), 10)), "clock may be wrong"},
		{"a point open", "/shift/press", pressed(gloss, planner.Started, "point_0", "air line drained"), "Go or no-go?"},
		{"a no-go without a word", "/shift/press", pressed(gloss, planner.Started, "point_0", "air line drained", "check_0", "no"), "Write what is not"},
		{"a decision where none is taken", "/shift/press", pressed(gloss, planner.Override, "note_override", "the owner wants it"), "not decided here"},
		{"a start where only decisions are", "/shift/decide", pressed(gloss, planner.Started), "not decided here"},
		{"nothing", "/shift/press", url.Values{"kind": {"started"}}, "Which crew are you with?"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := beforeIt()
			before := len(f.presses)
			answer, body := post(t, f, c.path, c.form)
			if answer.StatusCode != http.StatusUnprocessableEntity || len(f.presses) != before {
				t.Errorf("%d, %d presses", answer.StatusCode, len(f.presses)-before)
			}
			has(t, body, c.says)
		})
	}
}

// The answers come with the press, in the words that were shown; what is measured stands
// beside a point and answers nothing.
func TestShiftGoNoGo(t *testing.T) {
	f := beforeIt()
	f.readings = append(f.readings, sensors.Reading{Source: "booth fan", Place: "Booth 1", At: now.Add(-5 * time.Minute), Values: map[conditions.Variable]float64{conditions.Fan: 1}})
	_, body := get(t, f, "/shift?crew=paint")
	has(t, body, "Go / no-go, before it is started", "air line drained", "fan runs, read 10:15", "hull over the dew point <small>margin 4.5 K, measured 10:20", "Go through the list, then press started.", "Last start <b>13:00</b>")
	if strings.Contains(body, `value="go" checked`) || strings.Contains(body, `value="no" checked`) {
		t.Error("a point is answered before anybody did")
	}
	list := []string{"point_0", "air line drained", "check_0", "go", "point_1", "extraction on", "check_1", "no", "why_1", "belt slips"}
	before := len(f.presses)
	if answer, _ := post(t, f, "/shift/decide", pressed(gloss, planner.Override, append(list, "note_override", "belt is seen to, it draws")...)); answer.StatusCode != http.StatusSeeOther {
		t.Fatalf("%d", answer.StatusCode)
	}
	got := f.presses[before]
	want := []planner.Point{{Words: "air line drained", Go: true}, {Words: "extraction on", Why: "belt slips"}}
	if len(got.Checks) != 2 || got.Checks[0] != want[0] || got.Checks[1] != want[1] || got.Note != "belt is seen to, it draws" {
		t.Errorf("kept %+v", got)
	}
	// On the boat's page it is not started past the list.
	_, boat := get(t, beforeIt(), "/boat/Kestrel")
	has(t, boat, `href="/shift?area=topsides&amp;boat=Kestrel&amp;stage=gloss&#43;coat"`, "Go / no-go list, and start")
	if n := strings.Count(boat, `value="started"`); n != 1 {
		t.Errorf("%d stages can be started there; the house's washing is the one without a list", n)
	}
}

// A script is answered in what it can read, with the sentence that a person would get.
func TestShiftAnswersAScript(t *testing.T) {
	f := beforeIt()
	send := func(form url.Values) (int, scriptAnswer) {
		r := httptest.NewRequest("POST", "/shift/press", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Accept", "application/json")
		answer, body := do(t, handlerOf(t, f), r)
		var a scriptAnswer
		if err := json.Unmarshal([]byte(body), &a); err != nil {
			t.Errorf("%v: %s", err, body)
		}
		return answer.StatusCode, a
	}
	if status, a := send(pressed(gloss, planner.Mixed)); status != http.StatusOK || a.Said != "mixed" {
		t.Errorf("%d %+v", status, a)
	}
	if status, a := send(pressed(gloss, planner.Mixed, "by", "")); status != http.StatusUnprocessableEntity || !strings.Contains(a.Fault, "Write who") {
		t.Errorf("%d %+v", status, a)
	}
	f.err = refusing("it runs already: press finished")
	if status, a := send(pressed(gloss, planner.Started)); status != http.StatusConflict || a.Fault != "It runs already: press finished." {
		t.Errorf("%d %+v", status, a)
	}
}

type refusing string

func (r refusing) Error() string  { return string(r) }
func (r refusing) Public() string { return string(r) }

// Pots that stand are counted down: 3 h at 20 °C by the card, and 17.2 °C around it at the
// warmest; doubled for each 10 °C less (UFGS 09971, 3.7.1.3), so 2^0.28 of three hours, 3 h 38 min.
func TestShiftPots(t *testing.T) {
	f := onShiftYard()
	f.yard.Cards[0].Induct = []config.Induction{{From: must[unit.Temperature]("10 C"), To: must[unit.Temperature]("30 C"), Stands: unit.Duration(20 * time.Minute)}}
	f.presses = append(f.presses, planner.Press{ID: 90, Kind: planner.Mixed, Key: gloss, Pass: 2, Happened: at(7, 10, 10)})
	_, body := get(t, f, "/shift?crew=paint")
	has(t, body, "Pot 1 for pass 2", "mixed 10:10", "Not before <b>10:30</b>", "in 10 min", "Let the pot stand until 10:30, then put on pass 2.", "Use by <b>13:4", "by the warmest it stood in")
	f.moments = nil
	_, body = get(t, f, "/shift?crew=paint")
	has(t, body, "Use by <b>13:10</b>", "not measured: as the card has it", "Unknown: not measured")
}

// Whole kits, weights, the reading that the mix rests on, and a hull that warms up.
func TestShiftMix(t *testing.T) {
	f := onShiftYard()
	card := &f.yard.Cards[0]
	card.Mix.Kit = config.Kit{Base: must[unit.Volume]("4 L"), Hardener: must[unit.Volume]("2 L")}
	card.Mix.Density = config.Density{Base: must[unit.Density]("1.25 kg/L")}
	card.Variants = []config.Variant{
		{Name: "cool hull", Reducer: "R-fast", From: must[unit.Temperature]("10 C"), To: must[unit.Temperature]("17 C")},
		{Name: "warm hull", Reducer: "R-slow", From: must[unit.Temperature]("17 C"), To: must[unit.Temperature]("30 C")},
	}
	f.readings[1].Flags = nil
	_, body := get(t, f, "/shift?crew=paint")
	// 64 m² at 50 % and 40 µm: 12.5 m²/L, less 30 %: 7.31 L of mix, so two kits of 6 L;
	// 4.69 L over and 15 % of reducer for it. Into the two kits, 8 L and 4 L, go 15 % of 12 L;
	// 8 L of base weigh 10 kg. Worked by hand.
	has(t, body, "Mix for gloss coat on topsides", "2 whole kits of 4 L &#43; 2 L", "The pass takes 8.41 L, so 5.39 L of the mix will be left over", ">8.00 L<", ">4.00 L<", ">1.80 L<", ">13.80 L<", ">10.00 kg<", "by hull puck at 10:11", "variant cool hull", "the outlook has the hull at", "reducer R-slow")

	// A pot that dies sooner than the pass is laid: each of them weighs 1.25, 1 and 0.9 kg/L.
	card.Mix.Kit, card.PotLife.Lasts = config.Kit{}, unit.Duration(40*time.Minute)
	card.Mix.Density = config.Density{Base: must[unit.Density]("1.25 kg/L"), Hardener: must[unit.Density]("1 kg/L"), Reducer: must[unit.Density]("0.9 kg/L")}
	_, body = get(t, f, "/shift?crew=paint")
	// The pass takes 2 h 40 min, so four pots of a quarter each: 1.22 L of base weigh 1.52 kg.
	has(t, body, "In 4 pots", "1.22 L &#43; 0.61 L &#43; 0.27 L<br>1.52 kg &#43; 0.61 kg &#43; 0.25 kg")
}

func TestShiftReading(t *testing.T) {
	f := onShiftYard()
	form := url.Values{"once": {"r1"}, "crew": {"paint"}, "place": {"Booth 1"}, "boat": {"Kestrel"}, "surface": {"17,2 C"}, "instrument": {"probe 2"}, "valid": {"2027-01-31"}, "by": {"Ines"}}
	answer, _ := post(t, f, "/shift/reading", form)
	if answer.StatusCode != http.StatusSeeOther || len(f.taken) != 1 || f.taken[0].Values[conditions.Surface] != 17.2 || f.taken[0].Boat != "Kestrel" || !f.taken[0].At.Equal(now.Truncate(time.Minute)) {
		t.Fatalf("%d %+v", answer.StatusCode, f.taken)
	}
	r := httptest.NewRequest("GET", "/shift?crew=paint", nil)
	for _, c := range answer.Cookies() {
		r.AddCookie(c)
	}
	_, body := do(t, handlerOf(t, f), r)
	has(t, body, `name="instrument" value="probe 2"`, `name="valid" value="2027-01-31"`)

	form.Set("surface", "17")
	answer, body = post(t, f, "/shift/reading", form)
	if answer.StatusCode != http.StatusUnprocessableEntity || len(f.taken) != 1 {
		t.Errorf("%d", answer.StatusCode)
	}
	has(t, body, "no unit", `value="probe 2"`)
}

// TestTrend: by the change of the margin in the last hour.
func TestTrend(t *testing.T) {
	var past []conditions.Moment
	add := func(minutes int, hull, dew float64) {
		past = append(past, conditions.Moment{At: now.Add(time.Duration(minutes) * time.Minute), Coldest: unit.Temperature(hull), DewPoint: unit.Temperature(dew), Sure: conditions.Measured})
	}
	for _, c := range []struct {
		hull float64
		want string
	}{{15.6, "rising"}, {14.4, "falling"}, {15.2, "steady"}} {
		past = nil
		add(-180, 25, 10) // too long ago to count
		add(-60, 15, 10)
		add(0, c.hull, 10)
		if got := trend(past); got != c.want {
			t.Errorf("%g: %q, want %q", c.hull, got, c.want)
		}
	}
	past = nil
	add(-5, 15, 10)
	add(0, 19, 10)
	if got := trend(past); got != "" {
		t.Errorf("of five minutes: %q", got)
	}
}

func TestWorkerRulesTheSite(t *testing.T) {
	answer, body := get(t, onShiftYard(), "/worker.js")
	if answer.StatusCode != http.StatusOK || !strings.HasPrefix(answer.Header.Get("Content-Type"), "text/javascript") || answer.Header.Get("Cache-Control") != "no-cache" {
		t.Errorf("%d %v", answer.StatusCode, answer.Header)
	}
	has(t, body, `addEventListener("fetch"`)
}

// What begins is in so long, what ends has so long left, and hours ahead nobody is hurried.
func TestShiftCountsToAStart(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	for ahead, want := range map[time.Duration]string{
		16 * time.Hour: "Not yet: it starts ", time.Hour: "Get ready: it starts at ", 20 * time.Minute: "Begin, and press started.",
	} {
		s := crewStage{}
		s.plan.Start, s.plan.Until = now.Add(ahead), now.Add(ahead+time.Hour)
		if got := doNow(s, "", false, c); !strings.HasPrefix(got, want) {
			t.Errorf("%s ahead: %q, want %q", ahead, got, want)
		}
		all := stageCounts(s, config.Card{}, c)
		if len(all) != 2 || !all[0].Opens || all[0].Left != "in "+length(ahead) || all[1].Opens || all[1].Left != length(ahead+time.Hour)+" left" {
			t.Errorf("%s ahead: %+v", ahead, all)
		}
	}
}

// Between two passes nobody is sent on before the flash-off is over, nor after it was to end.
func TestShiftWaitsForTheFlashOff(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	card := config.Card{FlashOff: config.Interval{Least: h / 2, Greatest: 4 * h}}
	for since, want := range map[time.Duration]string{
		29 * time.Minute: "Let it flash off until 09:21, then put on pass 2.", 30 * time.Minute: "", 4 * time.Hour: "",
		241 * time.Minute: "Pass 2 was to go on by 09:19: ask the foreman before you go on.",
	} {
		s := crewStage{}
		s.Running, s.Stage = true, config.Stage{Kind: config.Coat, Passes: 2}
		s.Passes = []planner.Span{{From: now.Add(-since - time.Hour), To: now.Add(-since)}}
		if got := flashing(s, card, c); got != want {
			t.Errorf("%s after the pass: %q, want %q", since, got, want)
		}
		s.Paused = true
		if got := flashing(s, card, c); got != "" {
			t.Errorf("paused: %q", got)
		}
	}
}
