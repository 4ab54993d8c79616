package pages

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

func TestWeek(t *testing.T) {
	_, body := get(t, newFake(), "/")
	has(t, body,
		"Booth 1", "North shed", "Slip 2", "Hardstand",
		"Tue 7 Apr", "Mon 13 Apr",
		"Kestrel holds Booth 1, Wed 1 Apr 09:00 – Thu 9 Apr 12:00",
		"gloss coat on Kestrel topsides, Tue 7 Apr 08:30–14:00, running",
		"gloss coat · topsides",
		"to be kept within its limits until Wed 8 Apr 02:00",
		`class="nowline"`,
		`<use href="#s-ghost"`, "told: sand 320 on Ada &amp; Sons topsides",
		"2 d 8 h to spare", "2 d 12 h late", "after Tue 19 May",
		"Without a start up to Tue 19 May",
		"lateness of launches", "3420",
	)
	for _, p := range patterns {
		has(t, body, `fill="url(#p-`+p.ID+`)"`, p.Words)
	}
	for _, s := range states {
		has(t, body, `<use href="#b-`+stateClass(s)+`"/>`)
	}
}

func TestWeekShowsTheDifference(t *testing.T) {
	f := newFake()
	_, body := get(t, f, "/")
	has(t, body, "differs from what people were told in 1 stage", "Tue 7 Apr 13:00, North shed", "Tue 7 Apr 16:00, North shed", "3 h later",
		"the crew is busy with gloss coat on Kestrel topsides", "Release to the crews", `name="plan" value="12"`)
	_, told := get(t, f, "/?plan=told")
	has(t, told, "What people were <b>told</b>", "Both, one above the other")
	hasNot(t, told, `<use href="#s-ghost"`)

	f.toldID = f.draftID
	_, same := get(t, f, "/")
	hasNot(t, same, "Release to the crews", "Both, one above the other", "The <b>draft</b>")
	has(t, same, "as people were <b>told</b>")
}

func TestDaysAsked(t *testing.T) {
	for text, want := range map[string]int{"": 7, "2": 2, "1": 2, "0": 2, "-4": 2, "42": 42, "43": 42, "9999999999999999999": 7, "x": 7} {
		if got := daysAsked(text); got != want {
			t.Errorf("days=%q shows %d, want %d", text, got, want)
		}
	}
}

// On 29 March 2026 Lisbon's day has 23 hours, on 25 October 25: midnights stay midnights.
func TestDaysOnWhichTheClocksChange(t *testing.T) {
	_, spring := get(t, newFake(), "/?from=2026-03-28&days=3")
	has(t, spring, `class="day h23 weekend"`, "Sun 29 Mar", "Mon 30 Mar", `x1="33.80%"`, `x1="66.20%"`)
	_, autumn := get(t, newFake(), "/?from=2026-10-24&days=3")
	has(t, autumn, `class="day h25 weekend"`, "Sun 25 Oct")
}

func TestChanges(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	stage := func(name, place string, start time.Time) planner.Planned {
		return planner.Planned{Key: planner.Key{Boat: "B", Area: "house", Stage: name}, Place: place, Start: start}
	}
	told := planner.Plan{Stages: []planner.Planned{stage("same", "P", now), stage("moved", "P", now), stage("elsewhere", "P", now), stage("lost", "P", now), stage("gone", "P", now)}}
	draft := planner.Plan{Stages: []planner.Planned{
		stage("same", "P", now), stage("moved", "P", now.Add(-90*time.Minute)), stage("elsewhere", "Q", now.Add(24*time.Hour)), stage("lost", "", time.Time{}), stage("new", "P", now),
	}}
	want := []string{"moved on B house: 1 h 30 min earlier", "elsewhere on B house: 1 d later, other place", "lost on B house: no longer placed", "new on B house: new", "gone on B house: gone"}
	var got []string
	for _, ch := range changes(told, draft, c) {
		got = append(got, ch.What+": "+ch.Moved)
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// Two boats in one place at one time stand one beneath the other, and two
// stages of one boat do too.
func TestLaneLaysOverlapsApart(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	stage := func(boat, area string, from, hours int) planner.Planned {
		return planner.Planned{Key: planner.Key{Boat: boat, Area: area, Stage: "sand"}, Place: "Shed", Start: now.Add(time.Duration(from) * time.Hour), End: now.Add(time.Duration(from+hours) * time.Hour)}
	}
	plan := planner.Plan{
		Blocks: []planner.Block{{Boat: "A", Place: "Shed", From: now, To: now.Add(20 * time.Hour)}, {Boat: "B", Place: "Shed", From: now.Add(5 * time.Hour), To: now.Add(30 * time.Hour)}},
		Stages: []planner.Planned{stage("A", "house", 1, 3), stage("A", "deck", 2, 3), stage("A", "hull", 6, 3), stage("B", "house", 6, 3)},
	}
	l := newLane(config.Place{Name: "Shed"}, axis{now, now.Add(48 * time.Hour)}, plan, planner.Plan{}, c)
	if len(l.Stays) != 2 || l.Stays[0].Y+l.Stays[0].H > l.Stays[1].Y {
		t.Fatalf("stays overlap: %+v", l.Stays)
	}
	for i, a := range l.Bars {
		if a.Y+barHeight > l.Height {
			t.Errorf("bar %d lies below its lane", i)
		}
		for _, b := range l.Bars[i+1:] {
			if a.Y == b.Y && a.X < b.X+b.W && b.X < a.X+a.W {
				t.Errorf("bars %q and %q overlap", a.Title, b.Title)
			}
		}
	}
	if len(l.Bars) != 4 {
		t.Errorf("%d bars, want 4", len(l.Bars))
	}
}

// A stage of an hour has its label beside it, and the next stage stands a row
// lower so that both can be read; beyond a week labels stand in bars or nowhere.
func TestLabelsFindRoom(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	stage := func(name string, from, hours int) planner.Planned {
		return planner.Planned{Key: planner.Key{Boat: "A", Area: "hull", Stage: name}, Place: "Shed", Start: now.Add(time.Duration(from) * time.Hour), End: now.Add(time.Duration(from+hours) * time.Hour)}
	}
	plan := planner.Plan{Blocks: []planner.Block{{Boat: "A", Place: "Shed", From: now, To: now.AddDate(0, 0, 28)}}, Stages: []planner.Planned{stage("wipe", 0, 1), stage("finish primer", 1, 3), stage("primer cure", 4, 60), stage("sand 320", 400, 6)}}
	week := newLane(config.Place{Name: "Shed"}, axis{now, now.AddDate(0, 0, 7)}, plan, planner.Plan{}, c)
	if len(week.Bars) != 3 || week.Bars[0].Beside != "wipe" || week.Bars[1].Beside != "finish primer" || week.Bars[2].Label != "primer cure" {
		t.Fatalf("bars %+v", week.Bars)
	}
	if week.Bars[0].Y >= week.Bars[1].Y || week.Bars[1].Y >= week.Bars[2].Y {
		t.Errorf("labels share a row: %+v", week.Bars)
	}
	if most := lanePad*2 + nameHeight + 3*barPitch; week.Height > most {
		t.Errorf("the lane is %d high, what is off the board takes room; at most %d", week.Height, most)
	}
	month := newLane(config.Place{Name: "Shed"}, axis{now, now.AddDate(0, 0, 28)}, plan, planner.Plan{}, c)
	for _, b := range month.Bars {
		if b.Beside != "" || b.Y != month.Bars[0].Y {
			t.Errorf("a month has a label beside a bar: %+v", b)
		}
	}
	plan.Stages = append(plan.Stages, planner.Planned{Key: planner.Key{Boat: "A", Area: "deck", Stage: "sand"}, Place: "Shed", Start: now, End: now.Add(time.Hour)})
	if both := newLane(config.Place{Name: "Shed"}, axis{now, now.AddDate(0, 0, 7)}, plan, planner.Plan{}, c); both.Bars[0].Beside != "wipe · hull" {
		t.Errorf("of two areas a label says %q", both.Bars[0].Beside)
	}
}

// Who presses on a week to come is led back to it, and nobody is led anywhere else.
func TestBackToTheWeek(t *testing.T) {
	for referer, want := range map[string]string{
		"": "/?said=pinned",
		"http://yard.example/?from=2026-04-20&days=14": "/?from=2026-04-20&said=pinned",
		"http://yard.example/week/try?from=x":          "/?said=pinned",
		"%":                                            "/?said=pinned",
	} {
		r := httptest.NewRequest("POST", "/week/keep", nil)
		r.Header.Set("Referer", referer)
		if to := backToWeek(r, "pinned"); to != want {
			t.Errorf("from %q back to %q, want %q", referer, to, want)
		}
	}
}

func TestRelease(t *testing.T) {
	good := url.Values{"plan": {"12"}, "by": {"Ines"}}
	t.Run("good", func(t *testing.T) {
		f := newFake()
		answer, _ := post(t, f, "/release", good)
		if answer.StatusCode != http.StatusSeeOther || answer.Header.Get("Location") != "/?said=released" || len(f.released) != 1 || f.released[0] != "Ines" {
			t.Fatalf("%d to %q, released %v", answer.StatusCode, answer.Header.Get("Location"), f.released)
		}
		_, body := get(t, f, "/?said=released")
		has(t, body, "Released. The crews are being told.")
	})
	for _, bad := range []struct {
		name   string
		form   url.Values
		err    error
		status int
		say    string
	}{
		{"no name", url.Values{"plan": {"12"}}, nil, 422, "Write who releases it"},
		{"no draft named", url.Values{"by": {"Ines"}}, nil, 422, "did not say which draft"},
		{"an older draft", url.Values{"plan": {"10"}, "by": {"Ines"}}, nil, 409, "The draft has changed since you read it"},
		{"refused", good, publicError{"another draft was told a moment ago"}, 409, "Another draft was told a moment ago."},
	} {
		t.Run(bad.name, func(t *testing.T) {
			f := newFake()
			f.err = bad.err
			answer, body := post(t, f, "/release", bad.form)
			if answer.StatusCode != bad.status || len(f.released) != 0 {
				t.Fatalf("status %d, released %v", answer.StatusCode, f.released)
			}
			has(t, body, bad.say, `value="`+bad.form.Get("by")+`"`)
		})
	}
}
