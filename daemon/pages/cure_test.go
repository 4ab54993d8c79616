package pages

import (
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// hours is a milestone that takes so long at 10 °C, and half of it at 30 °C.
func hours(n int) conditions.Table {
	return conditions.Table{
		{At: must[unit.Temperature]("10 C"), Takes: unit.Duration(n) * h}, {At: must[unit.Temperature]("30 C"), Takes: unit.Duration(n) * h / 2},
	}
}

// evenly is a milestone that takes so long at every temperature of the card.
func evenly(n int) conditions.Table {
	t := hours(n)
	t[1].Takes = t[0].Takes
	return t
}

// coated is the fake with Kestrel's topsides coated on Monday 09:00 and cured since at
// a steady surface; it goes on at another.
func coated(cure conditions.Cure, was, is conditions.Exposure) *fake {
	f := newFake()
	f.yard.Cards[0].Cure = cure
	last := &f.yard.Systems[0].Stages
	*last = append(*last, config.Stage{Name: "second gloss", Kind: config.Coat, Skill: "paint", Card: "Gloss topcoat", Passes: 1, Rate: must[unit.WorkRate]("12 m2/h")})
	k := planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}
	for i, p := range f.presses {
		if p.Key == k {
			f.presses[i].Happened = p.Happened.Add(-24*time.Hour - 40*time.Minute)
		}
	}
	f.presses = append(f.presses, planner.Press{ID: 99, Kind: planner.Finished, Key: k, Happened: at(6, 9, 0), By: "Ines"})
	clock := cure.Run(cure.Start(at(6, 9, 0)), now.Add(-5*time.Minute), was)
	f.coats = map[string]curing{"topsides": {clock: clock, surface: is}}
	return f
}

func exposed(coldest, warmest unit.Temperature) conditions.Exposure {
	return conditions.Exposure{Coldest: coldest, Warmest: warmest, Humidity: 60}
}

// TestCure: since Monday 09:00 the coat has stood for 25 h 20 min. Where the card's
// times are the same at every temperature, each is read off the clock on the wall.
func TestCure(t *testing.T) {
	card := conditions.Cure{
		DustFree: evenly(1), Recoat: evenly(8), Sandable: evenly(16), Movable: evenly(12), LastRecoat: evenly(48), Reactivate: evenly(96), Launch: evenly(72),
	}
	slow, late := card, card
	slow.Recoat, late.LastRecoat, late.Reactivate = evenly(30), evenly(24), evenly(60)
	abrade := late
	abrade.Reactivate = evenly(25)
	none, endless, missed := card, card, slow
	none.Recoat, endless.LastRecoat = nil, nil
	missed.LastRecoat = evenly(28)
	nan := exposed(unit.NaN[unit.Temperature](), unit.NaN[unit.Temperature]())
	mild := exposed(18.4, 19.2)
	for _, c := range []struct {
		name    string
		cure    conditions.Cure
		was, is conditions.Exposure
		says    []string
	}{
		{"open", card, mild, mild, []string{
			"May be overcoated now, until Wed 8 Apr 09:00 (fastest side); then reactivate until Fri 10 Apr 09:00, then abrade.",
			"<li>reached: dust-free, sandable, movable</li><li>launch: Thu 9 Apr 09:00 (35\u00a0%)</li>", "If the hull stays at 18.4 to 19.2\u00a0°C. By the cure alone",
		}},
		{"to come", slow, mild, mild, []string{"May be overcoated from Tue 7 Apr 15:00 (slowest side), until Wed 8 Apr 09:00 (fastest side); then reactivate until"}},
		{"reactivate", late, mild, mild, []string{"May no longer be overcoated as it is: reactivate until Wed 8 Apr 21:00, then abrade."}},
		{"abrade", abrade, mild, mild, []string{"May no longer be overcoated as it is: abrade before the next coat."}},
		{"no window given", none, mild, mild, []string{"The card gives no recoat window."}},
		{"no end given", endless, mild, mild, []string{"May be overcoated now, the card gives no end."}},
		{"missed", missed, mild, mild, []string{"Has no recoat window if the hull stays as it is: it closes Tue 7 Apr 13:00 (fastest side) before the slowest side opens"}},
		{"too cold for the card", slow, mild, exposed(4, 19), []string{
			"May not be overcoated while the hull stays as it is: the card says nothing there. It closes Wed 8 Apr 09:00 (fastest side) all the same", "launch: stands still (35\u00a0%)",
		}},
		{"unknown", slow, mild, nan, []string{
			"May not be overcoated yet, and when is not known: the hull is neither measured nor worked out. It closes Wed 8 Apr 09:00 (fastest side) all the same",
			"what opens stands still, what closes goes on at the card&#39;s fastest", "launch: stands still",
		}},
		{"was not measured", card, nan, mild, []string{"1 d 1 h did not count towards what was still to come: not measured, or beyond the card&#39;s figures."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, body := get(t, coated(c.cure, c.was, c.is), "/boat/Kestrel")
			has(t, body, append(c.says, "Cure of the last coats", "Gloss topcoat, coated Mon 6 Apr 09:00")...)
			if !strings.Contains(c.name, "not measured") {
				hasNot(t, body, "did not count")
			}
		})
	}
}

// TestCureOfTwoSides: the slowest side opens and the fastest closes, and a warmer hull
// brings both nearer; people read it in their own degrees, with the outlook's own end.
func TestCureOfTwoSides(t *testing.T) {
	card := conditions.Cure{Recoat: hours(60), LastRecoat: hours(132)}
	f := coated(card, exposed(10, 30), exposed(10, 30))
	_, body := get(t, f, "/boat/Kestrel")
	has(t, body, "May be overcoated from Wed 8 Apr 21:00 (slowest side), until Thu 9 Apr 03:00 (fastest side); then abrade before the next coat.")
	f = coated(card, exposed(10, 30), exposed(30, 30))
	f.outlook = at(9, 7, 0)
	f.yard.Units = "US"
	_, body = get(t, f, "/boat/Kestrel")
	has(t, body, "May be overcoated from Wed 8 Apr 03:40 (slowest side), until Thu 9 Apr 03:00 (fastest side; by the outlook Thu 9 Apr 07:00); then abrade", "If the hull stays at 86.0\u00a0°F.")
}

// TestCureUnknown: a coat whose clock does not run says so, one without a coat says nothing.
func TestCureUnknown(t *testing.T) {
	card := conditions.Cure{Recoat: evenly(8), LastRecoat: evenly(48)}
	f := coated(card, exposed(20, 20), exposed(20, 20))
	f.coats = nil
	_, body := get(t, f, "/boat/Kestrel")
	has(t, body, "No clock runs for it yet: its cure is not known.")
	_, body = get(t, newFake(), "/boat/Plover")
	hasNot(t, body, "Cure of the last coats")
}

// TestCureBeforeSanding: what is sanded, or was, has no window to miss, and what is
// the last coat has none either.
func TestCureBeforeSanding(t *testing.T) {
	card := conditions.Cure{Recoat: evenly(8), LastRecoat: evenly(48)}
	mild := exposed(20, 20)
	f := coated(card, mild, mild)
	stages := &f.yard.Systems[0].Stages
	*stages = slices.Insert(*stages, len(*stages)-1, config.Stage{Name: "sand 600", Kind: config.Sand, Skill: "prep", Rate: must[unit.WorkRate]("6 m2/h")})
	_, body := get(t, f, "/boat/Kestrel")
	has(t, body, "then abrade before the next coat. First comes sand 600, which renews the surface: then no window is missed.")
	f.presses = append(f.presses, planner.Press{ID: 100, Kind: planner.Finished, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "sand 600"}, Happened: now})
	_, body = get(t, f, "/boat/Kestrel")
	has(t, body, "Sanded since: its recoat window counts no more.")
	hasNot(t, body, "be overcoated")
	f = coated(card, mild, mild)
	f.yard.Systems = testYard().Systems
	_, body = get(t, f, "/boat/Kestrel")
	has(t, body, "No coat is to follow it.")
	hasNot(t, body, "be overcoated")
}
