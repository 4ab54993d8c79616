package main

import (
	"encoding/csv"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fairwindow/conditions"
	"fairwindow/daemon/pages"
	"fairwindow/planner"
)

// TestTheManagerAsksWhatWasPutOff lives through a call from an owner: a boat slips, its
// coats are put off; the manager finds why, takes the list along, has the plan made
// again, writes what a crew did instead, and asks what a change would do.
func TestTheManagerAsksWhatWasPutOff(t *testing.T) {
	browser := openBrowser(t)
	for _, screen := range screens {
		t.Run(screen.name, func(t *testing.T) {
			y := openPlayedYard(t)
			managerOnTheTelephone(t, y, openTab(t, browser, y.web.url, screen))
		})
	}
}

func managerOnTheTelephone(t *testing.T, y *playedYard, b *tab) {
	b.open("/waits")
	b.sees("main", "Nothing has been put off.")
	y.slip(t, "Boat Plover", "2026-04-14 08:00")
	_, draft, err := y.service.Draft(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if err := y.service.Release(t.Context(), draft, "Ines"); err != nil {
		t.Fatal(err)
	}

	b.open("/waits")
	b.set(".narrow select[name=boat]", "Boat Plover")
	b.press(".narrow button.main")
	b.sees(".deferral summary", "Boat Plover topsides", "put off", "Boat Plover was late")
	b.press(".deferral summary")
	b.sees(".deferral[open]", "First told for", "Told by Ines")
	b.hears()
	y.slip(t, "Boat Plover", "2026-04-14 08:15")
	b.sees("#newer", "There is something newer.")
	b.deaf()
	b.sees(".deferral[open]", "First told for")
	b.sees(".sums", "the boat came late")
	b.fits()

	// The list goes along as the page has it.
	for _, link := range get(b, chromedp.Evaluate[[]string](`[...document.querySelectorAll("a[href*='deferrals.csv']")].map(a => a.href)`)) {
		answer, err := http.Get(link)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
		if err != nil || len(rows) < 2 || rows[1][3] != "Boat Plover" {
			t.Errorf("the list taken along: %v, %v", rows, err)
		}
	}

	b.press(".deferral[open] a[href^='/plan/']")
	b.sees("h1", "Plan ")
	b.sees(".sheetlike", "let out by Ines")
	b.press("#again button")
	b.sees("#again .verdict.yes", "Same. Made again")
	b.fits()

	b.open("/log")
	b.press(".logsheet button.main")
	b.sees(".logsheet [role=alert]", "Write who writes this down")
	b.press(".logsheet input[name=none]")
	b.fill(".logsheet input[name=by]", "Ines")
	b.press(".logsheet button.main")
	b.sees(".said", "Kept in the daily log.")
	b.sees(".log", "no other work", "Ines")
	b.fits()

	b.open("/waits/lost")
	b.sees(".rule", "took at least 50")
	b.fits()

	// Who is on his way to another page is not called back by what is new.
	b.hears()
	b.waits(`(window.stays = dispatchEvent(new Event("beforeunload")))`)
	y.slip(t, "Boat Plover", "2026-04-14 08:30")
	b.sees("#newer", "There is something newer.")
	b.waits(`window.stays`)
	b.deaf()

	b.open("/whatif")
	b.fill(".try input[name=text]", "take out Boat Plover")
	b.press(".try button")
	b.sees(".sentence", "With Boat Plover taken out")
	b.sees(".pairs", "not in it")
	b.fits()
}

// The manager asks why a stage waits and reads the cause with its evidence.
func managerAsksWhy(t *testing.T, y *playedYard, b *tab) {
	plan, _, err := y.service.Draft(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	key, wait, ok := weatherWait(plan)
	if !ok {
		t.Fatal("nothing waits for the weather in the plan, so the story has no subject")
	}
	zone, err := y.service.Yard().Location()
	if err != nil {
		t.Fatal(err)
	}
	b.open("/boat/" + key.Boat)
	b.press(fmt.Sprintf(`section[aria-labelledby=stages] a[href*=%q]`, strings.ReplaceAll("stage="+key.Stage, " ", "+")))
	b.sees(".hand.chosen h3", key.Stage, key.Area)
	b.press(".hand.chosen .why summary")
	b.sees(".hand.chosen .why li", pages.Why(wait, zone))
	b.sees(".hand.chosen .why", "outside the limits of", "wanted", "forecast")
	b.fits()
}

// weatherWait is the first wait for the weather that the forecast explains.
func weatherWait(plan planner.Plan) (planner.Key, planner.Wait, bool) {
	for _, s := range plan.Stages {
		for _, w := range s.Waits {
			if w.Cause == planner.OutOfLimits && w.Evidence.Sure == conditions.Foretold {
				return s.Key, w, true
			}
		}
	}
	return planner.Key{}, planner.Wait{}, false
}
