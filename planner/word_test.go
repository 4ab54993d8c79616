package planner

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/config"
)

func stageKey(boat, stage string) Key { return Key{boat, "topsides", stage} }

// TestPinnedToAPlace: a stage goes where somebody said, whatever the plan would choose
// and whatever people were told; a place that can't take it leaves it without a start.
func TestPinnedToAPlace(t *testing.T) {
	p := problem(fleet(2)...)
	draft := solved(t, p)
	was := stageOf(t, draft, "boat 01", "sand")
	other := map[string]string{"shed": "slip", "slip": "shed"}[was.Place]
	for _, given := range []bool{false, true} {
		t.Run(fmt.Sprintf("told %t", given), func(t *testing.T) {
			p := problem(fleet(2)...)
			if given {
				p.Told, p.Turns = told(draft), draft.Turns
			}
			p.Presses = []Press{{Kind: Pinned, Key: was.Key, Place: other, By: "foreman", Happened: p.At}}
			if s := stageOf(t, solved(t, p), "boat 01", "sand"); s.Place != other || s.Start.IsZero() {
				t.Errorf("pinned to %s, it is planned in %q at %v", other, s.Place, s.Start)
			}
		})
	}
	p.Presses = []Press{{Kind: Pinned, Key: was.Key, Place: "booth 1", By: "foreman", Happened: p.At}}
	if s := stageOf(t, solved(t, p), "boat 01", "sand"); s.State != Unplaced {
		t.Errorf("sanding pinned into a booth, where it may not be done, is planned at %v in %s", s.Start, s.Place)
	}
	p.Presses = append(p.Presses, Press{Kind: Unpinned, Key: was.Key, By: "foreman", Happened: p.At.Add(time.Second)})
	if s := stageOf(t, solved(t, p), "boat 01", "sand"); s.State == Unplaced {
		t.Error("unpinned, it is still without a start")
	}
}

// TestPinnedEarlierThanTold: what somebody pins goes before what people were told.
func TestPinnedEarlierThanTold(t *testing.T) {
	p := problem(fleet(1)...)
	draft := solved(t, p)
	p.Told, p.Turns = told(draft), draft.Turns
	for i := range p.Told {
		p.Told[i].Start = p.Told[i].Start.AddDate(0, 0, 1)
	}
	key := stageKey("boat 01", "sand")
	pin := stageOf(t, draft, "boat 01", "sand").Start
	if s := stageOf(t, solved(t, p), "boat 01", "sand"); s.Start.Equal(pin) {
		t.Fatalf("unpinned it begins at %v, a day before people were told", s.Start)
	}
	p.Presses = []Press{{Kind: Pinned, Key: key, Until: pin, By: "foreman", Happened: p.At}}
	if s := stageOf(t, solved(t, p), "boat 01", "sand"); !s.Start.Equal(pin) {
		t.Errorf("pinned to %v, it begins at %v", pin, s.Start)
	}
}

// TestAPinLeavesTheOthersAsTold: the plan that keeps to what people were told meets a pin
// that is earlier than that, with all that comes before it in its block.
func TestAPinLeavesTheOthersAsTold(t *testing.T) {
	p := problem(fleet(2)...)
	draft := solved(t, p)
	p.Told, p.Turns = told(draft), draft.Turns
	coat := stageOf(t, draft, "boat 01", "prime")
	for i := range p.Told {
		if p.Told[i].Key.Boat == "boat 01" {
			p.Told[i].Start = p.Told[i].Start.AddDate(0, 0, 4) // to working days
		}
	}
	p.Presses = []Press{{Kind: Pinned, Key: coat.Key, Until: coat.Start, By: "foreman", Happened: p.At}}
	d, err := Open(p)
	if err != nil {
		t.Fatal(err)
	}
	s, _ := d.m.asTold()
	if j := d.m.openJob(coat.Key); !s.startsBy(j, d.m.grid.Ceil(coat.Start)) {
		t.Errorf("kept to what was told, it does not begin at %v, as it is pinned to", coat.Start)
	}
}

// TestComesAfter: a boat's stage waits for another boat's, whichever was promised first,
// says so, and no longer once that is done or the order is taken back.
func TestComesAfter(t *testing.T) {
	boats := fleet(2)
	boats[1].Promised = "2026-05-15" // it would go first
	behind, first := stageKey("boat 02", "mask"), stageKey("boat 01", "unmask")
	p := problem(boats...)
	p.Rounds = 1 // no luck: the turns are by promise
	free := stageOf(t, solved(t, p), "boat 02", "mask")
	p.Presses = []Press{{Kind: ComesAfter, Key: behind, Other: first, By: "foreman", Happened: p.At}}
	plan := solved(t, p)
	s, goes := stageOf(t, plan, "boat 02", "mask"), stageOf(t, plan, "boat 01", "unmask")
	if s.Start.Before(goes.End) || goes.Start.IsZero() || !free.Start.Before(s.Start) {
		t.Errorf("it begins %v, what goes first ends %v, alone it would begin %v", s.Start, goes.End, free.Start)
	}
	last := s.Waits[len(s.Waits)-1]
	if n := waited(s, HeldBy); n == 0 && last.Cause == HeldBy {
		t.Errorf("it waits %+v", s.Waits)
	}
	p.Presses = append(p.Presses, Press{Kind: AnyOrder, Key: behind, By: "foreman", Happened: p.At.Add(time.Second)})
	if s := stageOf(t, solved(t, p), "boat 02", "mask"); !s.Start.Equal(free.Start) {
		t.Errorf("with the order taken back it begins %v, alone %v", s.Start, free.Start)
	}
}

// TestWordsRefused: what can't be meant is refused with what could.
func TestWordsRefused(t *testing.T) {
	p := problem(fleet(2)...)
	sand, mask, other := stageKey("boat 01", "sand"), stageKey("boat 01", "mask"), stageKey("boat 02", "sand")
	p.Yard.Systems[0].Stages = append(p.Yard.Systems[0].Stages, config.Stage{Name: "rest", Kind: config.Hold, Takes: hours(2)})
	said := []Press{{Kind: ComesAfter, Key: sand, Other: other, Happened: monday}}
	for name, c := range map[string]struct {
		press Press
		want  string
	}{
		"pinned to nothing":     {Press{Kind: Pinned, Key: sand}, "neither a time nor a place"},
		"a rest in a place":     {Press{Kind: Pinned, Key: stageKey("boat 01", "rest"), Place: "shed"}, "nobody works at"},
		"behind nothing":        {Press{Kind: ComesAfter, Key: sand}, "there is no stage"},
		"behind its own boat":   {Press{Kind: ComesAfter, Key: mask, Other: sand}, "of one boat"},
		"behind a rest":         {Press{Kind: ComesAfter, Key: sand, Other: stageKey("boat 02", "rest")}, "people work at one only"},
		"in a circle":           {Press{Kind: ComesAfter, Key: other, Other: sand}, "already"},
		"in a circle, by areas": {Press{Kind: ComesAfter, Key: other, Other: mask}, "already"},
	} {
		t.Run(name, func(t *testing.T) {
			err := Replay(p.Yard, p.Boats, said).Accepts(c.press)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("it says %v", err)
			}
		})
	}
}

// TestAnyWordIsKept: whatever is pinned or put in order, the plan keeps to it or has no
// start for it, by Check and by the rulebook.
func TestAnyWordIsKept(t *testing.T) {
	yard := problem(fleet(2)...)
	yard.Horizon = 14 * 24 * time.Hour
	rapid.Check(t, func(t *rapid.T) {
		p := yard
		p.Rounds = 2
		for range rapid.IntRange(1, 3).Draw(t, "words") {
			said(t, &p)
		}
		keepsWord(t, p)
	})
}

// TestAnyWordIsKeptInLargerYards is the same with areas, cures and what is underway.
func TestAnyWordIsKeptInLargerYards(t *testing.T) {
	yard := generated(t, 5, 11)
	yard.Rounds, yard.Horizon = 1, 21*24*time.Hour
	for seed := range 4 {
		p := yard
		draw := rapid.Custom(func(t *rapid.T) Problem { said(t, &p); said(t, &p); return p })
		keepsWord(t, draw.Example(seed))
	}
}

// TestAStrandedBoatCuresOn: an area that finds no start keeps none of the boat's others
// from ending its cure when that is over, where the boat really waits.
func TestAStrandedBoatCuresOn(t *testing.T) {
	p := generated(t, 5, 11)
	p.Rounds = 1
	p.Presses = append(p.Presses, Press{Kind: Pinned, Key: Key{"boat 005", "boot stripe", "unmask"}, Place: "shed 1", By: "foreman", Happened: p.At})
	keepsWord(t, p)
}

// TestBoatsThatWaitForEachOther: each has a stage after one of the other's; the block that is
// planned first is planned once, whoever waits for it in turn.
func TestBoatsThatWaitForEachOther(t *testing.T) {
	p := problem(fleet(2)...)
	p.Horizon, p.Rounds = 14*24*time.Hour, 2
	for _, press := range []Press{
		{Kind: Pinned, Key: stageKey("boat 01", "mask"), Place: "booth 1"},
		{Kind: ComesAfter, Key: stageKey("boat 02", "wipe"), Other: stageKey("boat 01", "inspect")},
		{Kind: ComesAfter, Key: stageKey("boat 01", "wipe again"), Other: stageKey("boat 02", "mask")},
	} {
		press.By, press.Happened = "foreman", p.At
		if err := Replay(p.Yard, p.Boats, p.Presses).Accepts(press); err != nil {
			t.Fatal(err)
		}
		p.Presses = append(p.Presses, press)
	}
	keepsWord(t, p)
}

// TestCheckHoldsPlansToWords: a plan made without a word breaks it, and Check says so.
func TestCheckHoldsPlansToWords(t *testing.T) {
	p := problem(fleet(2)...)
	plan := solved(t, p)
	sand, unmask := stageOf(t, plan, "boat 01", "sand"), stageOf(t, plan, "boat 02", "unmask")
	for name, press := range map[string]Press{
		"another place": {Kind: Pinned, Key: sand.Key, Place: map[string]string{"shed": "slip", "slip": "shed"}[sand.Place]},
		"out of turn":   {Kind: ComesAfter, Key: sand.Key, Other: unmask.Key},
	} {
		t.Run(name, func(t *testing.T) {
			p := p
			press.By, press.Happened = "foreman", p.At
			p.Presses = []Press{press}
			broken := Check(p, plan)
			if len(broken) == 0 || broken[0].Key != sand.Key || broken[0].Rule != "people's word" {
				t.Errorf("Check finds %v", broken)
			}
		})
	}
}

// said has the foreman say something that the work as it stands can take.
func said(t *rapid.T, p *Problem) {
	work := Replay(p.Yard, p.Boats, p.Presses)
	any := func(name string, n int) int { return rapid.IntRange(0, n-1).Draw(t, name) }
	one := func(name string) Key {
		b := p.Boats[any(name, len(p.Boats))]
		stages := work.Stages(b.Name, b.Areas[any(name+"'s area", len(b.Areas))].Name)
		return stages[any(name+"'s stage", len(stages))].Key
	}
	press := Press{Key: one("boat"), By: "foreman", Happened: p.At}
	switch any("kind", 3) {
	case 0:
		press.Kind, press.Place = Pinned, p.Yard.Places[any("place", len(p.Yard.Places))].Name
	case 1:
		press.Kind, press.Until = Pinned, p.At.Add(time.Duration(any("hours", 14*24))*time.Hour)
	default:
		press.Kind, press.Other = ComesAfter, one("other")
	}
	if work.Accepts(press) == nil {
		p.Presses = append(p.Presses[:len(p.Presses):len(p.Presses)], press)
	}
}

func keepsWord(t rapid.TB, p Problem) {
	t.Helper()
	plan, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, b := range Check(p, plan) {
		t.Errorf("Check: %v: %s: %s", b.Key, b.Rule, b.What)
	}
	for _, f := range faults(p, plan) {
		if f.rule == "said" {
			t.Errorf("%v", f)
		}
	}
}

// TestTryAPin: what a pin would do is told before it is pressed. One outside the hours or
// the limits is refused, with the nearest starts; each of these, pinned, is kept.
func TestTryAPin(t *testing.T) {
	p := problem(fleet(2)...)
	draft := solved(t, p)
	was := stageOf(t, draft, "boat 02", "sand")
	try := func(until time.Time) Tried {
		t.Helper()
		tried, err := Try(p, draft, Press{Kind: Pinned, Key: was.Key, Until: until, By: "foreman", Happened: p.At})
		if err != nil {
			t.Fatal(err)
		}
		return tried
	}
	good := try(was.Start.AddDate(0, 0, 3))
	if good.Refused || !good.Stage.Start.Equal(was.Start.AddDate(0, 0, 3)) || len(good.Difference.Moved) == 0 {
		t.Fatalf("refused %t, begins %v, %d moved", good.Refused, good.Stage.Start, len(good.Difference.Moved))
	}
	if !good.Difference.Launches[1].After.Likely.After(good.Difference.Launches[1].Before.Likely) {
		t.Errorf("a day later it is launched as before: %+v", good.Difference.Launches[1])
	}
	night := try(local(t, "2026-05-05 22:00"))
	if !night.Refused || night.Why.Cause != NoShift || !night.Later.Equal(local(t, "2026-05-06 07:00")) {
		t.Fatalf("at night: refused %t for %q, later %v", night.Refused, night.Why.Cause, night.Later)
	}
	if night.Earlier.Before(local(t, "2026-05-05 07:00")) || !night.Earlier.Before(local(t, "2026-05-05 15:30")) {
		t.Errorf("the start before is %v; people are there from 7:00 to 15:30", night.Earlier)
	}
	for _, near := range []time.Time{night.Earlier, night.Later} {
		if again := try(near); again.Refused {
			t.Errorf("%v was offered and is refused: %+v", near, again.Why)
		}
	}

	// A cold front: nothing may be sprayed on a slip; here the booth's heater is out of
	// service, so that its air is the forecast's.
	p.Yard.Places[0].Booth.Heater.SI = 0
	for i := range p.Outdoors {
		if at := p.Outdoors[i].At; !at.Before(local(t, "2026-05-12 00:00")) && at.Before(local(t, "2026-05-14 00:00")) {
			p.Outdoors[i].DewPoint = p.Outdoors[i].Air
		}
	}
	draft = solved(t, p)
	was = stageOf(t, draft, "boat 02", "prime")
	damp := try(local(t, "2026-05-12 10:00"))
	if !damp.Refused || damp.Why.Cause != OutOfLimits || damp.Why.Evidence.Bound.Of != conditions.OfMargin {
		t.Fatalf("in saturated air: refused %t for %q (%+v)", damp.Refused, damp.Why.Cause, damp.Why.Evidence)
	}
	if damp.Later.Before(local(t, "2026-05-14 00:00")) && !damp.Later.IsZero() {
		t.Errorf("a start is offered at %v, in saturated air", damp.Later)
	}
}
