package pages

import (
	"errors"
	"net/http"
	"net/url"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

func TestBoat(t *testing.T) {
	_, body := get(t, newFake(), "/boat/Kestrel")
	has(t, body,
		"here since Wed 1 Apr 09:00", "Tue 14 Apr", "Sat 11 Apr 16:00 (2 d 8 h to spare)",
		"started Tue 7 Apr 08:30 by Ines", "1 of 3 passes done", "Pass 2 of 3 done", "Stopped here…", "Rejected…",
		"Within the limits of card Gloss topcoat rev 3: surface over dew point 4.5 K, at least 3 K wanted",
		"isocyanates can sensitise", "Nobody in the booth unmasked before the clearance time is over: 30 min in Booth 1", "No heaters, grinders", "confined-space rules", "Read the data sheet before mixing.",
		"Follow the maker&#39;s instructions and the site&#39;s rules",
		"Mix for gloss coat on topsides", "illustrative card", "H-slow", "for a hull of 16.2 °C as measured in Booth 1",
		"gloss coat: pass 1", "entered Tue 7 Apr 10:05", "margin 3.7 to 4.3 K",
	)
	hasNot(t, body, "Started outside limits")
}

func TestBoatSaysWhyNotEarlier(t *testing.T) {
	_, body := get(t, newFake(), "/boat/Plover?area=house&stage=gloss+coat")
	has(t, body, "the place is taken by Kestrel",
		"outside the limits of card Gloss topcoat rev 3: surface over dew point 1.2 °F, at least 5 °F wanted, at Fri 10 Apr 05:00, forecast issued Tue 7 Apr 06:00",
		"chance that its limits hold 61\u00a0%", "The window's last start is Fri 10 Apr 15:00", "reactivate for gloss coat", "repair",
		"Unknown: not measured, so not within the limits", "Started outside limits…", "The hull has not been measured")
}

func TestBoatShowsWhatWasTold(t *testing.T) {
	_, body := get(t, newFake(), "/boat/"+url.PathEscape("Ada & Sons"))
	has(t, body, "told: Tue 7 Apr 13:00, North shed", "the crew is busy with gloss coat on Kestrel topsides")
}

func TestRecordSaysNotMeasured(t *testing.T) {
	f := newFake()
	f.moments = nil
	_, body := get(t, f, "/boat/Kestrel")
	has(t, body, "<td>not measured</td>", "Unknown: not measured, so not within the limits of card Gloss topcoat rev 3")
}

// pressOf reads the form of a page's first pressing, as a browser would send it.
func pressOf(t *testing.T, body string, kind planner.PressKind) url.Values {
	t.Helper()
	form := url.Values{"kind": {string(kind)}}
	for _, name := range []string{"once", "area", "stage", "pass", "happened"} {
		m := regexp.MustCompile(`name="` + name + `" value="([^"]*)"`).FindStringSubmatch(body)
		if m == nil {
			t.Fatalf("the form has no %s", name)
		}
		form.Set(name, m[1])
	}
	form.Set("by", "Ines")
	return form
}

func TestPress(t *testing.T) {
	f := newFake()
	_, page := get(t, f, "/boat/Kestrel")
	form := pressOf(t, page, planner.PassDone)
	before := len(f.presses)
	answer, _ := post(t, f, "/boat/Kestrel/press", form)
	if answer.StatusCode != http.StatusSeeOther || answer.Header.Get("Location") != "/boat/Kestrel?said=pass_done" {
		t.Fatalf("%d to %q", answer.StatusCode, answer.Header.Get("Location"))
	}
	if len(f.presses) != before+1 {
		t.Fatalf("%d presses kept, want 1", len(f.presses)-before)
	}
	got := f.presses[before]
	want := planner.Press{
		Kind: planner.PassDone, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}, Pass: 2,
		Happened: at(7, 10, 20), Entered: now.UTC(), By: "Ines", Once: form.Get("once") + "/pass_done/2",
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	_, after := get(t, f, "/boat/Kestrel?said=pass_done")
	has(t, after, "Pass done: noted.", "2 of 3 passes done", "Pass 3 of 3 done")

	t.Run("pressed twice counts once", func(t *testing.T) {
		answer, _ := post(t, f, "/boat/Kestrel/press", form)
		if answer.StatusCode != http.StatusSeeOther || len(f.presses) != before+1 {
			t.Errorf("status %d, %d presses kept", answer.StatusCode, len(f.presses)-before)
		}
	})
	t.Run("another button of the same form is another act", func(t *testing.T) {
		other := url.Values{}
		for k, v := range form {
			other[k] = v
		}
		other.Set("kind", string(planner.Finished))
		post(t, f, "/boat/Kestrel/press", other)
		if len(f.presses) != before+2 {
			t.Errorf("%d presses kept, want 2", len(f.presses)-before)
		}
	})
	t.Run("the next form has another id", func(t *testing.T) {
		if again := pressOf(t, after, planner.PassDone).Get("once"); again == form.Get("once") || len(again) < 20 {
			t.Errorf("once is %q again", again)
		}
	})
}

func TestEveryKindOfPress(t *testing.T) {
	stage := func(kind planner.PressKind, more url.Values) url.Values {
		form := url.Values{"kind": {string(kind)}, "once": {"o" + string(kind)}, "area": {"topsides"}, "stage": {"gloss coat"}, "pass": {"2"}, "happened": {"2026-04-07T09:15"}, "by": {"Ines"}}
		for k, v := range more {
			form[k] = v
		}
		return form
	}
	boat := func(kind planner.PressKind, more url.Values) url.Values {
		form := stage(kind, more)
		form.Set("area", "")
		form.Set("stage", "")
		return form
	}
	for _, form := range []url.Values{
		stage(planner.Started, nil), stage(planner.PassDone, nil), stage(planner.Paused, nil), stage(planner.Resumed, nil), stage(planner.Finished, nil), stage(planner.Freed, nil), stage(planner.Unpinned, nil),
		stage(planner.StoppedAt, url.Values{"more_stopped_here": {"1"}}),
		stage(planner.Cant, url.Values{"note_cant": {"compressor broken"}}),
		stage(planner.Rejected, url.Values{"note_rejected": {"runs at the bow"}}),
		stage(planner.Held, url.Values{"note_held": {"owner picks the colour"}}),
		stage(planner.Override, url.Values{"note_override": {"test panel stayed clear"}}),
		stage(planner.Pinned, url.Values{"more_pinned": {"2026-04-09T08:00"}}),
		boat(planner.Arrived, url.Values{"more_arrived": {"Slip 2"}}), boat(planner.Moved, url.Values{"more_moved": {"Slip 2"}}), boat(planner.Launched, nil),
	} {
		f := newFake()
		before := len(f.presses)
		answer, body := post(t, f, "/boat/Kestrel/press", form)
		if answer.StatusCode != http.StatusSeeOther || len(f.presses) != before+1 {
			t.Errorf("%s: status %d: %s", form.Get("kind"), answer.StatusCode, regexp.MustCompile(`(?s)class="fault"[^<]*`).FindString(body))
			continue
		}
		got := f.presses[before]
		if got.Happened != at(7, 9, 15) || got.By != "Ines" || string(got.Kind) != form.Get("kind") {
			t.Errorf("%s: kept %+v", form.Get("kind"), got)
		}
		if got.Kind == planner.Pinned && got.Until != at(9, 8, 0) {
			t.Errorf("pinned to %s", got.Until)
		}
		if (got.Kind == planner.Arrived || got.Kind == planner.Moved) && got.Place != "Slip 2" {
			t.Errorf("%s to %q", got.Kind, got.Place)
		}
		if said(string(got.Kind)) == "" {
			t.Errorf("no word for %s", got.Kind)
		}
	}
}

func TestPressForms(t *testing.T) {
	good := func() url.Values {
		return url.Values{"kind": {"rejected"}, "once": {"o1"}, "area": {"topsides"}, "stage": {"gloss coat"}, "pass": {"2"}, "happened": {"2026-04-07T09:15"}, "by": {"Ines"}, "note_rejected": {"runs at the bow"}}
	}
	for _, c := range []struct {
		name   string
		change url.Values
		err    error
		status int
		says   []string
	}{
		{"no reason", url.Values{"note_rejected": {" "}}, nil, 422, []string{"What is wrong with it: write it in a few words", `value="Ines"`, `value="2026-04-07T09:15"`, `value="o1"`}},
		{"no name", url.Values{"by": {""}}, nil, 422, []string{"Write who presses", "runs at the bow"}},
		{"still to come", url.Values{"happened": {"2026-04-07T12:00"}}, nil, 422, []string{"That is still to come: it is now Tue 7 Apr 10:20", "runs at the bow", `value="2026-04-07T12:00"`}},
		{"no time", url.Values{"happened": {"yesterday"}}, nil, 422, []string{"Write the day and the time, such as 2026-04-07T10:20"}},
		{"no such kind", url.Values{"kind": {"sunk"}}, nil, 422, []string{"nothing was kept"}},
		{"no id", url.Values{"once": {""}}, nil, 422, []string{"nothing was kept"}},
		{"about nothing", url.Values{"stage": {""}}, nil, 422, []string{"did not say what this is about"}},
		{"pinned to the past", url.Values{"kind": {"pinned"}, "more_pinned": {"2026-04-06T08:00"}}, nil, 422, []string{"That is past", `value="2026-04-06T08:00"`}},
		{"stopped nowhere", url.Values{"kind": {"stopped_here"}, "more_stopped_here": {"half"}}, nil, 422, []string{"after how many whole passes"}},
		{"moved nowhere", url.Values{"kind": {"moved"}, "area": {""}, "stage": {""}, "more_moved": {"the moon"}}, nil, 422, []string{"Choose where the boat stands now"}},
		{"refused", nil, publicError{"That stage was rejected a minute ago."}, 409, []string{"That stage was rejected a minute ago.", "runs at the bow"}},
		{"failed", nil, errors.New("disk full at /var"), 500, []string{"is in the log"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFake()
			f.err = c.err
			form := good()
			for k, v := range c.change {
				form[k] = v
			}
			before := len(f.presses)
			answer, body := post(t, f, "/boat/Kestrel/press", form)
			if answer.StatusCode != c.status || len(f.presses) != before {
				t.Fatalf("status %d, want %d; %d kept", answer.StatusCode, c.status, len(f.presses)-before)
			}
			has(t, body, c.says...)
			hasNot(t, body, "disk full")
		})
	}
}

func TestAFormTooLongIsRefused(t *testing.T) {
	form := url.Values{"kind": {"cant"}, "note_cant": {strings.Repeat("x", formLimit+1)}}
	answer, body := post(t, newFake(), "/boat/Kestrel/press", form)
	if answer.StatusCode != http.StatusRequestEntityTooLarge {
		t.Fatalf("status %d", answer.StatusCode)
	}
	has(t, body, "too long to keep")
}

func TestTheNameIsRemembered(t *testing.T) {
	f := newFake()
	_, page := get(t, f, "/boat/Kestrel")
	form := pressOf(t, page, planner.PassDone)
	form.Set("by", "Inês; x=1")
	answer, _ := post(t, f, "/boat/Kestrel/press", form)
	cookies := answer.Cookies()
	if len(cookies) != 1 || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteStrictMode {
		t.Fatalf("cookies %v", cookies)
	}
	r, _ := http.NewRequest("GET", "/boat/Kestrel", nil)
	r.AddCookie(cookies[0])
	_, body := do(t, handlerOf(t, f), r)
	has(t, body, `name="by" value="Inês; x=1"`)
}

func TestSensiblePresses(t *testing.T) {
	coat := config.Stage{Kind: config.Coat, Passes: 3}
	for _, c := range []struct {
		name   string
		stage  planner.Progress
		within bool
		want   string
	}{
		{"a coat within its limits", planner.Progress{Stage: coat}, true, "started cant held pinned"},
		{"a coat outside them", planner.Progress{Stage: coat}, false, "started override cant held pinned"},
		{"a running coat", planner.Progress{Stage: coat, Running: true}, true, "pass_done finished stopped_here rejected"},
		{"a coat that is done", planner.Progress{Stage: coat, Done: true}, true, "rejected"},
		{"a sanding", planner.Progress{Stage: config.Stage{Kind: config.Sand}}, false, "started cant held pinned"},
		{"a running sanding", planner.Progress{Stage: config.Stage{Kind: config.Sand}, Running: true}, false, "finished paused"},
		{"a paused sanding", planner.Progress{Stage: config.Stage{Kind: config.Sand}, Running: true, Paused: true}, false, "resumed finished cant"},
		{"a sanding that is done", planner.Progress{Stage: config.Stage{Kind: config.Sand}, Done: true}, false, ""},
		{"held", planner.Progress{Stage: coat, Held: "the owner"}, true, "freed"},
		{"pinned", planner.Progress{Stage: coat, Pinned: now}, true, "started cant held unpinned"},
		{"an inspection", planner.Progress{Stage: config.Stage{Kind: config.Inspect}}, false, "finished cant rejected held pinned"},
		{"a hold", planner.Progress{Stage: config.Stage{Kind: config.Hold}}, false, "finished cant held pinned"},
	} {
		var got []string
		for _, k := range sensible(c.stage, c.within) {
			got = append(got, string(k))
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: %s, want %s", c.name, strings.Join(got, " "), c.want)
		}
	}
}

// In Lisbon 01:30 comes twice on 25 October 2026: at 00:30 and at 01:30 UTC.
func TestATimeThatComesTwice(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	first, second := time.Date(2026, 10, 25, 0, 30, 0, 0, time.UTC), time.Date(2026, 10, 25, 1, 30, 0, 0, time.UTC)
	for _, c := range []struct{ now, want time.Time }{
		{first.Add(10 * time.Minute), first},
		{second.Add(10 * time.Minute), second},
		{second.Add(48 * time.Hour), second},
	} {
		got, ok := clock{now: c.now.In(zone), zone: zone}.read("2026-10-25T01:30")
		if !ok || !got.Equal(c.want) {
			t.Errorf("typed at %s: %s, want %s", c.now, got.UTC(), c.want)
		}
	}
}
