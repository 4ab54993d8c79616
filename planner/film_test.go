package planner

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// A coat's clock is read at the plan's time, or hours before it, or hours after it where
// the machine's clock was set back: the plan goes on from there and its check agrees. Here
// the booth was let down and warms, so that each hour counts for more than the one before.
func TestClockReadAtAnotherTime(t *testing.T) {
	cure := func(read time.Duration) time.Time {
		p := problem(fleet(1)...)
		only(&p, coatIn(config.Booth, "coat", "topcoat"),
			config.Stage{Name: "cure", Kind: config.Hold, Until: conditions.Launch, Block: "paint", Places: []config.PlaceKind{config.Booth}})
		for i := range p.Yard.Cards {
			p.Yard.Cards[i].Cure.Launch = conditions.Table{{At: celsius(5), Takes: hours(14 * 24)}, {At: celsius(30), Takes: hours(3.5 * 24)}}
		}
		p.Presses = doneUpTo(p, "boat 01", 1, p.At.Add(-10*time.Hour))
		m := conditions.Moment{At: p.At, Air: 6, DewPoint: 2, Coldest: 6, Warmest: 6, Sure: conditions.Measured}
		p.Measured, p.Hulls = []PlaceNow{{Place: "booth 1", Moment: m}}, []HullNow{{Boat: "boat 01", Moment: m}}
		card, _ := p.Yard.Card("topcoat")
		stood := conditions.Exposure{Coldest: unit.Temperature(6), Warmest: 6, Humidity: 50}
		p.Coats = []CoatNow{{Key: Key{"boat 01", "topsides", "coat"}, Clock: card.Cure.Run(card.Cure.Start(p.At.Add(-10*time.Hour)), p.At.Add(read), stood)}}
		return stageOf(t, solved(t, p), "boat 01", "cure").End
	}
	now := cure(0)
	for _, read := range []time.Duration{-9 * time.Hour, -time.Minute, 3 * time.Minute, 5 * time.Minute, 26 * time.Hour} {
		if end := cure(read); end.Before(now) {
			t.Errorf("read %v from now the cure ends %v, before %v", read, end, now)
		}
	}
}

// A coat at a steady 20 °C takes the next for the 48 h of its card, whenever its clock was
// read: hours to come that were counted already are counted once.
func TestRecoatWindowWheneverTheClockWasRead(t *testing.T) {
	for _, read := range []time.Duration{0, 20 * time.Hour} {
		p := problem(fleet(1)...)
		coated, primer := p.At.Add(-10*time.Hour), p.Yard.Cards[0].Cure
		p.Presses = doneUpTo(p, "boat 01", 4, coated)
		p.Coats = []CoatNow{{Key: Key{"boat 01", "topsides", "prime"}, Clock: primer.Run(primer.Start(coated), p.At.Add(read), conditions.Exposure{Coldest: 20, Warmest: 20})}}
		if open := stageOf(t, solved(t, p), "boat 01", "finish").Until.Sub(coated); open > 48*time.Hour || open < 48*time.Hour-2*step {
			t.Errorf("read %v from now it is open for %v, want 48 h", read, open)
		}
	}
}
