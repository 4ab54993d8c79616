package main

import (
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
)

// Every fact that leaves a stage without a start reads as one sentence of its
// own, with what it lacks.
func TestFactsAreSentences(t *testing.T) {
	surface := conditions.Bound{Of: conditions.OfSurface, Least: true, At: 10, Written: "10 C", Owner: "card Primer rev 1"}
	for _, c := range []struct {
		f    planner.Fact
		want string
	}{
		{planner.Fact{Of: planner.TooSmall, Name: "booth 1", Note: "short and too low", Lacks: 1.2, Unit: "m"}, "booth 1 is too short and too low for the boat: it lacks 1.2 m."},
		{planner.Fact{Of: planner.NoSuchPlace, Name: "booth"}, "The yard has no booth, and it may be done nowhere else."},
		{planner.Fact{Of: planner.NoSkill, Name: "paint", Lacks: 2, Unit: "people"}, `No crew has the skill "paint": 2 people with it are wanted.`},
		{planner.Fact{Of: planner.TooFew, Name: "night", Wants: 2, Lacks: 3, Unit: "people"}, "Crew night has 2 people: it lacks 3 people."},
		{planner.Fact{Of: planner.ShortShift, Name: "night", Wants: 8.5, Lacks: 1.0 / 3, Unit: "h"}, "Crew night works 8.5 h at a time: it would have to go on for 0.34 h more."},
		{planner.Fact{Of: planner.Closed, Name: "booth 1"}, "booth 1 is closed when it could be done."},
		{planner.Fact{Of: planner.OfLimit, Name: "card Primer rev 1", Bound: surface, Lacks: 2.5, Unit: "K"}, "Card Primer rev 1 wants a surface temperature of at least 10 C: the nearest that any place comes to it, for long enough, is 2.5 K short of that."},
		{planner.Fact{Of: planner.WetHull}, "The hull does not dry: rain or dew is on it whenever it could be done."},
		{planner.Fact{Of: planner.CuresLate, Name: "card Primer rev 1", Note: "last_recoat", Lacks: 96, Unit: "h"}, "Card Primer rev 1 reaches last recoat too late: by 4 days."},
		{planner.Fact{Of: planner.CardSilent, Name: "card Primer rev 1", Note: "recoat", Lacks: 18, Unit: "K"}, "Card Primer rev 1 gives no time to recoat at the temperature the hull has: its table ends 18 K too soon."},
		{planner.Fact{Of: planner.ClosesEarly, Name: "card Primer rev 1", Lacks: 3, Unit: "h"}, "Card Primer rev 1 may be overcoated for too short a time: it lacks 3 h."},
		{planner.Fact{Of: planner.ShortLife, Name: "wipe", Wants: .5, Lacks: 1, Unit: "h"}, "What wipe does lasts 0.5 h, and the coat can't follow so soon: it lacks 1 h."},
		{planner.Fact{Of: planner.ArrivesLate, Name: "Heron", Lacks: 48, Unit: "h", When: time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC)}, "Heron arrives Tue 1 Sep 2026: that is 48 h too late for this plan."},
		{planner.Fact{Of: planner.PersonsWord, Name: "Ines", Note: "the owner chooses"}, "Ines holds it: the owner chooses."},
		{planner.Fact{Of: planner.PersonsWord, Name: "Ines", When: time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC)}, "Ines pinned it to Tue 1 Sep 08:00."},
		{planner.Fact{Of: planner.PlanEnds, Wants: 21, Lacks: 3, Unit: "days"}, "The plan looks 21 days ahead: it would have to look 3 days further."},
		{planner.Fact{Of: planner.OtherBoats, When: time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC)}, "The other boats leave it no room: alone in the yard it would start Tue 1 Sep 08:00."},
	} {
		if got := factSentence(c.f, time.UTC); got != c.want || strings.Contains(got, "safe") {
			t.Errorf("%s: %q, want %q", c.f.Of, got, c.want)
		}
	}
}

func TestNextBestIsASentence(t *testing.T) {
	at := time.Date(2026, 4, 7, 8, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		o    planner.Other
		want string
	}{
		{planner.Other{Start: at, Place: "booth 1", Crew: "paint", Extra: 90, Estimate: true}, "next best: Tue 7 Apr 08:00 in booth 1 by paint, which would cost at least 90 cost-minutes more"},
		{planner.Other{Start: at, Extra: 7}, "next best: Tue 7 Apr 08:00, which would cost 7 cost-minutes more"},
		{planner.Other{Start: at, Extra: -7, Estimate: true}, "next best: Tue 7 Apr 08:00, which by itself would cost 7 cost-minutes less"},
		{planner.Other{Start: at}, "next best: Tue 7 Apr 08:00, at no cost that can be told without planning anew"},
	} {
		if got := nextSentence(c.o, time.UTC); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
}
