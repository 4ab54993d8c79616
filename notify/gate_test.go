package notify

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestGate(t *testing.T) {
	start := time.Date(2026, 5, 12, 8, 0, 0, 0, time.UTC)
	type step struct {
		minute      int
		open, spare bool
		want        Change
	}
	const back Change = "taken back" // not a step
	for _, tt := range []struct {
		name  string
		steps []step
	}{
		{"the first opening needs no hold", []step{{0, false, false, Same}, {1, true, false, Opened}}},
		{"closes at once, reopens after 15 min with spare", []step{
			{0, true, true, Opened}, {1, false, false, Closed}, {2, true, true, Same}, {16, true, true, Same}, {17, true, true, Opened}}},
		{"kept without spare does not reopen", []step{
			{0, true, true, Opened}, {1, false, false, Closed}, {2, true, false, Same}, {60, true, false, Same}}},
		{"losing the spare starts the hold anew", []step{
			{0, true, true, Opened}, {1, false, false, Closed}, {2, true, true, Same}, {10, true, false, Same},
			{11, true, true, Same}, {25, true, true, Same}, {26, true, true, Opened}}},
		{"the third reopening within 2 h waits 15 min longer", []step{
			{0, true, true, Opened}, {1, false, false, Closed}, {2, true, true, Same}, {17, true, true, Opened},
			{20, false, false, Closed}, {21, true, true, Same}, {36, true, true, Opened},
			{40, false, false, Closed}, {41, true, true, Same}, {56, true, true, Same}, {70, true, true, Same}, {71, true, true, Opened},
			{72, false, false, Closed}}},
		{"two reopenings long ago are forgotten", []step{
			{0, true, true, Opened}, {1, false, false, Closed}, {2, true, true, Same}, {17, true, true, Opened},
			{20, false, false, Closed}, {21, true, true, Same}, {36, true, true, Opened},
			{121, false, false, Closed}, {123, true, true, Same}, {138, true, true, Opened}}},
		{"taken back with nothing bad it asks for time, not for spare", []step{
			{0, true, true, Opened}, {5, true, true, back}, {6, true, false, Same}, {10, false, false, Same}, {19, true, false, Same},
			{20, true, false, Opened}, {21, false, false, Closed}, {22, true, false, Same}, {90, true, false, Same}}},
		{"taken back time and again it waits 15 min longer", []step{
			{0, true, true, Opened}, {1, true, true, back}, {16, true, true, Opened}, {17, true, true, back}, {32, true, true, Opened},
			{33, true, true, back}, {48, true, true, Same}, {62, true, true, Same}, {63, true, true, Opened}}},
		{"taken back yesterday it opens at the first yes", []step{
			{0, true, true, Opened}, {1, true, true, back}, {1440, true, false, Opened}}},
		{"taken back by a clock that was set back since", []step{
			{0, true, true, Opened}, {10, true, true, back}, {5, true, true, Opened}}},
		{"open needs no spare to stay open", []step{{0, true, true, Opened}, {30, true, false, Same}}},
		{"a clock set back starts the hold anew", []step{
			{0, true, true, Opened}, {10, false, false, Closed}, {20, true, true, Same}, {5, true, true, Same}, {19, true, true, Same}, {20, true, true, Opened}}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var g Gate
			for i, s := range tt.steps {
				if s.want == back {
					g = g.TakeBack(start.Add(time.Duration(s.minute) * time.Minute))
					continue
				}
				var got Change
				g, got = g.Step(start.Add(time.Duration(s.minute)*time.Minute), s.open, s.spare)
				if got != s.want {
					t.Fatalf("step %d at minute %d: %s, want %s", i, s.minute, got, s.want)
				}
			}
		})
	}
}

// A gate closes in the very step that says no, and never reopens within 15 min of closing or of
// being taken back; of closing not without the spare held throughout.
func TestGateNeverFlaps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var g Gate
		now := time.Date(2026, 5, 12, 8, 0, 0, 0, time.UTC)
		var closed, spoiled time.Time // last closing, last step without open and spare
		var left time.Time            // when it was taken back, if it was not opened since
		var reopened []time.Time
		for range rapid.IntRange(1, 200).Draw(t, "steps") {
			now = now.Add(time.Duration(rapid.IntRange(1, 600).Draw(t, "seconds")) * time.Second)
			open := rapid.IntRange(0, 9).Draw(t, "open") > 0
			spare := open && rapid.IntRange(0, 9).Draw(t, "spare") > 0
			if !spare {
				spoiled = now
			}
			if g.Open && rapid.IntRange(0, 9).Draw(t, "back") == 0 {
				g, left = g.TakeBack(now), now
				if g.Open {
					t.Fatal("open though it was taken back")
				}
			}
			was := g
			var change Change
			g, change = g.Step(now, open, spare)
			switch {
			case !open && g.Open:
				t.Fatal("open though a limit is broken")
			case was.Open && !open && change != Closed:
				t.Fatalf("did not close in its step: %s", change)
			case was.Open && open && !g.Open:
				t.Fatal("closed with every limit kept")
			case change == Opened && !left.IsZero() && now.Sub(left) < reopenHold:
				t.Fatalf("reopened %v after it was taken back", now.Sub(left))
			case change == Opened && left.IsZero() && !closed.IsZero() && (now.Sub(closed) < reopenHold || now.Sub(spoiled) < reopenHold):
				t.Fatalf("reopened %v after closing, %v after the spare was lost", now.Sub(closed), now.Sub(spoiled))
			case (g.Open != was.Open) != (change != Same):
				t.Fatalf("%+v to %+v was called %s", was, g, change)
			}
			if change == Closed {
				closed = now
			}
			if change == Opened && now.Sub(left) <= flapsWithin || change == Opened && left.IsZero() && !closed.IsZero() {
				n, since := len(reopened), spoiled
				if !left.IsZero() {
					since = left
				}
				if n >= 2 && now.Sub(reopened[n-2]) <= flapsWithin && now.Sub(since) < reopenHold+flapsHold {
					t.Fatalf("the third opening within %v came %v after the spare was lost", now.Sub(reopened[n-2]), now.Sub(since))
				}
				reopened = append(reopened, now)
			}
			if change == Opened {
				left = time.Time{}
			}
		}
	})
}

func TestSpare(t *testing.T) {
	for _, tt := range []struct {
		margin float64
		unit   string
		want   bool
	}{
		{0.5, "C", true}, {0.49, "C", false}, {0.5, "K", true},
		{0.9, "F", true}, {0.89, "F", false},
		{2, "%", true}, {1.9, "%", false},
		{0, "m/s", true}, {-0.1, "m/s", false},
	} {
		if got := Spare(tt.margin, tt.unit); got != tt.want {
			t.Errorf("Spare(%g, %q) = %v", tt.margin, tt.unit, got)
		}
	}
}

func TestKinds(t *testing.T) {
	if len(Kinds()) != 19 {
		t.Fatalf("%d kinds, the design lists 19", len(Kinds()))
	}
	for _, k := range Kinds() {
		if !k.Known() {
			t.Errorf("%s has no name", k)
		}
	}
	if Kind("made_up").Known() {
		t.Error("a made-up kind is known")
	}
	for _, k := range []Kind{WetCoatAtRisk, WindowClosing} {
		if !k.Urgent() {
			t.Errorf("%s must go out at once", k)
		}
	}
	if StageMoved.Urgent() {
		t.Error("moved waits for the scheduler's release")
	}
}
