package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// TestPaintingInABrowser lives through a reading taken by hand and a coat that is put on, in
// a real browser, before the real daemon on a played clock.
func TestPaintingInABrowser(t *testing.T) {
	playStories(t, story{"place", somebodyMeasures}, story{"painter", painterPaints})
}

// Somebody reads a place's margin and types in what his own probe says.
func somebodyMeasures(t *testing.T, y *playedYard, b *tab) {
	b.open("/place/booth 1")
	if figure := b.text(".gauge .figure"); !strings.HasSuffix(figure, "K") || strings.Contains(figure, "–") {
		t.Errorf("the margin reads %q", figure)
	}
	b.sees(".verdict", "limits of")
	b.sees(".head", "Boat Dunlin")
	b.fits()

	b.fill(".reading input[name=surface]", "18.5")
	b.fill(".reading input[name=instrument]", "probe 2")
	b.set(".reading input[name=valid]", "2027-01-31")
	b.fill(".reading input[name=by]", "Ines")
	b.press(".reading button.main")
	b.sees(".reading [role=alert]", "no unit")
	if kept := b.value(".reading input[name=instrument]"); kept != "probe 2" {
		t.Errorf("after a mistake the instrument reads %q", kept)
	}
	b.set(".reading input[name=surface]", "18.5 C")
	b.press(".reading button.main")
	b.sees(".said", "Reading kept.")
	b.sees("section[aria-labelledby=sensors]", "Ines with probe 2", "hull surface 18.5 °C")

	readings, err := y.service.Readings(t.Context(), "booth 1", y.clock.Now().Add(-time.Hour), y.clock.Now().Add(time.Minute))
	if err != nil || !slices.ContainsFunc(readings, func(r sensors.Reading) bool {
		return r.Source == "Ines with probe 2" && r.Values[conditions.Surface] == 18.5 && r.Boat == "Boat Dunlin" && len(r.Flags) == 0
	}) {
		t.Errorf("the reading is not in the store: %v", err)
	}

	seen := "form[action$='/signals'] "
	b.press(seen + "button.main")
	b.sees(seen+"[role=alert]", "Choose at least one thing that you saw.")
	b.set(seen+"select[name=fan]", "runs")
	b.press(seen + "button.main")
	b.sees("section[aria-labelledby=sensors]", "Ines by eye", "fan runs")
}

// The painter reports a coat on the boat's page: first a form that lacks a word
// comes back as it was filled in; then he starts, with the time it was; then a
// pass, pressed twice in a hurry.
func painterPaints(t *testing.T, y *playedYard, b *tab) {
	coat := planner.Key{Boat: "Boat Dunlin", Area: "topsides", Stage: "high-build primer"}
	y.damp = false
	y.steps(t, time.Hour)
	b.open("/boat/Boat Dunlin")
	b.sees(".hand h3", coat.Stage)
	b.sees(".hand .verdict.yes", "Within the limits of card High-build primer rev 1")
	b.sees(".decides", "they decide, this page advises")
	b.fits()

	can := ".hand details:has(button[value=cant])"
	form := ".hand form:has(input[value='high-build primer'])"
	b.fill(form+" input[name=by]", "Ana")
	b.press(can + " summary")
	b.press(can + " button")
	b.sees(can+" [role=alert]", "The record needs it")
	if who := b.value(form + " input[name=by]"); who != "Ana" {
		t.Errorf("after a mistake the name reads %q", who)
	}

	// It is started on the shift page, once the yard's list is answered.
	b.press(".hand .press a[href*='high-build']")
	form = ".act form.press.shift"
	b.sees("#at", coat.Stage)
	for i := range b.count(form + " .check") {
		b.press(fmt.Sprintf("%s .check:nth-of-type(%d) input[value=go]", form, i+1))
	}
	b.fill(form+" input[name=by]", "Ana")
	began := y.clock.Now().Add(-20 * time.Minute)
	zone, err := y.service.Yard().Location()
	if err != nil {
		t.Fatal(err)
	}
	b.press(form + " input[name=ago][value=at]")
	b.set(form+" input[name=at]", began.In(zone).Format("2006-01-02T15:04"))
	b.press(form + " button[value=started]")
	b.sees(".said", "Started: noted.")
	b.open("/boat/Boat Dunlin")
	form = ".hand form:has(input[value='high-build primer'])"
	b.sees(".hand h3", "running")
	if s := y.reported(t, coat); !s.Running || !s.Started.Equal(began) || s.By != "Ana" {
		t.Errorf("the daemon has it started %s by %q, running %t", s.Started, s.By, s.Running)
	}

	done := form + " button[value=pass_done]"
	b.sees(done, "Pass 1 of 2 done")
	b.twice(done)
	b.sees(".said", "Pass done: noted.")
	b.sees(done, "Pass 2 of 2 done")
	if n := len(y.reported(t, coat).Passes); n != 1 {
		t.Errorf("a pass pressed twice on one page counts %d times", n)
	}
	// The same form sent twice past the script, as a browser on a bad line may.
	b.sends(form, "pass_done", 2)
	b.open("/boat/Boat Dunlin")
	b.sees("section[aria-labelledby=record]", "high-build primer: pass 2", "Ana")
	presses, err := y.service.Presses(t.Context(), coat.Boat)
	if err != nil {
		t.Fatal(err)
	}
	passes := 0
	for _, p := range presses {
		if p.Kind == planner.PassDone {
			passes++
		}
	}
	if passes != 2 {
		t.Errorf("two passes, each sent twice, are kept as %d", passes)
	}
}
