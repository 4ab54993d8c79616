package main

import (
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fairwindow/config"
	"fairwindow/planner"
)

// TestSessionEndsWithoutALine: a painter's session ends while her phone has no line and
// presses wait in it. They are kept, she is asked to sign in, and then each is sent once.
func TestSessionEndsWithoutALine(t *testing.T) {
	chromium(t) // else there is nothing to try
	y := openPlayedYard(t, config.Person{Name: "Marta", Role: config.Manager}, config.Person{Name: "Ines", Role: config.Painter, Crews: []string{"paint"}})
	y.damp = false
	for _, stage := range []string{"wipe", "tack", "topcoat"} {
		held := planner.Press{Kind: planner.Held, Key: planner.Key{Boat: "Boat Tern", Area: "topsides", Stage: stage}, By: "Marta", Note: "the owner is asked"}
		if err := y.service.Press(t.Context(), held); err != nil {
			t.Fatal(err)
		}
	}
	y.steps(t, time.Hour)
	word, _, err := y.web.doors.Invite(t.Context(), "Ines")
	if err != nil {
		t.Fatal(err)
	}
	w := runWire(t, strings.TrimSuffix(strings.TrimPrefix(y.web.url, "http://"), "/"))
	b, quit := ownBrowser(t, t.TempDir(), w.url(), screens[1])
	defer quit()
	const password = "gull ladder seven blue"
	b.do(chromedp.Navigate(b.base + "/welcome?word=" + url.QueryEscape(word)))
	b.fill("input[name='password']", password)
	b.press("button.main")
	b.sees(".whois", "Ines, painter")

	b.open("/shift") // her crew is known from the yard file
	b.sees("#at", dunlin.Stage)
	b.waits(`(async () => navigator.serviceWorker.controller !== null && (await (await caches.open("fairwindow-shift")).keys()).length >= 6)()`)
	for i := range b.count(formAtHand + " .check") {
		b.press(formAtHand + " .check:nth-of-type(" + strconv.Itoa(i+1) + ") input[value=go]")
	}
	b.fill("form.measure input[name=surface]", "18.2")
	b.press("form.measure button")
	b.sees("form.measure .own", "Write the unit too, such as 18.5 C.")
	w.cut()
	b.press(formAtHand + " button[value=started]")
	b.press(formAtHand + " button[value=mixed]")
	b.sees("#waiting", "Waits to be sent (2)")
	// It writes the yard's hours, in whatever zone the phone is.
	b.waits(`document.querySelector("#queue li p").textContent.endsWith(", " + document.querySelector(".now").textContent.trim().slice(-5))`)
	if err := endSessions(t, y); err != nil {
		t.Fatal(err)
	}
	// Loaded anew nobody has touched the page: it is not taken away for a door without her presses.
	b.do(chromedp.Reload())
	b.sees("#notlive", "not live: there is no line")
	w.mend(false)
	b.waits(`(dispatchEvent(new Event("online")), !document.getElementById("signin").hidden)`)
	b.sees("#signin", "You are no longer signed in. What waits is kept.")
	b.sees("#waiting", "Waits to be sent (2)")
	b.fits()
	if got := y.pressesOf(t); len(got) > 0 {
		t.Fatalf("nobody is signed in and the yard has %v", got)
	}
	b.press("#signin a")
	b.fill("input[name='password']", password)
	b.press("button.main")
	b.sees(".said", "noted.")
	b.waits(`document.getElementById("queue").hidden`)
	if got, want := y.pressesOf(t), []planner.PressKind{planner.Started, planner.Mixed}; !slices.Equal(got, want) {
		t.Errorf("the yard has %v, want %v", got, want)
	}
	if s := y.reported(t, dunlin); !s.Running || s.By != "Ines" {
		t.Errorf("the yard has %+v", s)
	}
}
