package planner

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/config"
)

func strikes(id int64, minute int) Press {
	p := press(Struck, "", minute)
	p.Strikes, p.Note, p.ID = id, "a slip", 1000+id
	return p
}

// numberedFrom1 gives presses the numbers a store would.
func numberedFrom1(presses ...Press) []Press {
	for i := range presses {
		presses[i].ID = int64(i + 1)
	}
	return presses
}

// What was struck through counts as if it had never been pressed, wherever the strike comes.
func TestStruckIsNeverPressed(t *testing.T) {
	kinds := []PressKind{Started, PassDone, Paused, Resumed, StoppedAt, Finished, Cant, Rejected, Held, Freed, Pinned, Unpinned, Override}
	stages := smallYard().Systems[0].Stages
	rapid.Check(t, func(t *rapid.T) {
		var all, kept []Press
		for i := range rapid.IntRange(1, 20).Draw(t, "presses") {
			p := press(rapid.SampledFrom(kinds).Draw(t, "kind"), stages[rapid.IntRange(0, len(stages)-1).Draw(t, "stage")].Name, rapid.IntRange(0, 300).Draw(t, "minute"))
			p.ID, p.Pass = int64(i+1), rapid.IntRange(0, 3).Draw(t, "pass")
			all = append(all, p)
			if rapid.Bool().Draw(t, "struck") {
				all = append(all, strikes(p.ID, rapid.IntRange(0, 300).Draw(t, "when")))
			} else {
				kept = append(kept, p)
			}
		}
		got, want := replayed(rapid.Permutation(all).Draw(t, "order")...), replayed(kept...)
		if !reflect.DeepEqual(got.areas, want.areas) || !reflect.DeepEqual(got.boats, want.boats) || len(got.Strays) != len(want.Strays) {
			t.Errorf("struck:\n%+v\nnever pressed:\n%+v", got.areas[0], want.areas[0])
		}
	})
}

func TestACorrectionLeavesNothingStandingAlone(t *testing.T) {
	painted := func() []Press {
		return numberedFrom1(press(Finished, "sand", 0), press(Finished, "mask", 5), press(Finished, "wipe", 8),
			press(Started, "prime", 10), numbered(press(PassDone, "prime", 40), 1), numbered(press(PassDone, "prime", 90), 2))
	}
	for _, c := range []struct {
		name    string
		presses []Press
		strike  []int64
		instead []Press
		others  []int64 // that must go along
		says    string
	}{
		{name: "the last pass", presses: painted(), strike: []int64{6}},
		{name: "the first of two passes", presses: painted(), strike: []int64{5}, others: []int64{6}, says: "without pass_done 1 (prime, 4 May 06:40"},
		{name: "a start with its passes", presses: painted(), strike: []int64{4}, others: []int64{5, 6}, says: "strike those too, or none"},
		{name: "all of them", presses: painted(), strike: []int64{4, 5, 6}},
		{name: "a start, begun earlier instead", presses: painted(), strike: []int64{4}, instead: []Press{press(Started, "prime", 9)}},
		{name: "a start, begun after the first pass instead", presses: painted(), strike: []int64{4}, instead: []Press{press(Started, "prime", 60)}, others: []int64{5, 6}},
		{name: "a start whose end is told without a pass", presses: numberedFrom1(press(Started, "sand", 0), press(Finished, "sand", 60)), strike: []int64{1}, others: []int64{2}},
		{name: "an end that nobody started", presses: numberedFrom1(press(Finished, "sand", 60)), strike: []int64{1}},
		{name: "a start of what follows", presses: numberedFrom1(press(Finished, "sand", 0), press(Started, "mask", 20)), strike: []int64{1}, others: []int64{2}},
		{name: "a number that is not there", presses: painted(), strike: []int64{77}, says: "has the number 77"},
		{name: "struck already", presses: append(painted(), strikes(6, 100)), strike: []int64{6}, says: "struck through already"},
		{name: "a strike", presses: append(painted(), strikes(6, 100)), strike: []int64{1006}, says: "has the number 1006"},
		{name: "instead something that can't be", presses: painted(), strike: []int64{6}, instead: []Press{numbered(press(PassDone, "prime", 90), 3)}, says: "the next to report is pass 2, not 3"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var all []Press
			for _, id := range c.strike {
				s := strikes(id, 200)
				s.ID = 0
				all = append(all, s)
			}
			err := replayed(c.presses...).Corrects(all, c.instead)
			var stands *ContradictionError
			var others []int64
			if errors.As(err, &stands) {
				for _, p := range stands.Others {
					others = append(others, p.ID)
				}
			}
			if !reflect.DeepEqual(others, c.others) || (err == nil) != (len(c.others) == 0 && c.says == "") {
				t.Fatalf("%v; %v must go along, want %v", err, others, c.others)
			}
			if err != nil && !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v; want %q", err, c.says)
			}
		})
	}
}

// One that is refused for what stands after it can be taken with all that the refusal names.
func TestTheWayOutOfAContradictionIsOne(t *testing.T) {
	stages := smallYard().Systems[0].Stages
	rapid.Check(t, func(t *rapid.T) {
		var all []Press
		for i := range rapid.IntRange(1, 25).Draw(t, "presses") {
			p := press(rapid.SampledFrom([]PressKind{Started, PassDone, Finished, Rejected, Paused, Resumed}).Draw(t, "kind"), stages[rapid.IntRange(0, len(stages)-1).Draw(t, "stage")].Name, 10*i)
			p.ID = int64(i + 1)
			if replayed(all...).Accepts(p) == nil {
				all = append(all, p)
			}
		}
		if len(all) == 0 {
			return
		}
		strike := []Press{strikes(rapid.SampledFrom(all).Draw(t, "struck").ID, 900)}
		var stands *ContradictionError
		if errors.As(replayed(all...).Corrects(strike, nil), &stands) {
			for _, p := range stands.Others {
				strike = append(strike, strikes(p.ID, 900))
			}
			if err := replayed(all...).Corrects(strike, nil); err != nil {
				t.Errorf("struck with all that it named: %v", err)
			}
		}
	})
}

func TestAStrikeIsAPressThatIsAsked(t *testing.T) {
	w := Replay(smallYard(), fleet(1), numberedFrom1(press(Started, "sand", 0), press(Finished, "sand", 60)))
	err := w.Accepts(strikes(1, 90))
	if err == nil || !strings.Contains(err.Error(), "without started (sand") {
		t.Errorf("%v", err)
	}
	if err := w.Accepts(strikes(2, 90)); err != nil {
		t.Errorf("%v", err)
	}
	nobody := Press{Kind: Struck, Key: Key{Boat: "boat 01"}, Strikes: 1, Happened: monday.Add(time.Hour)}
	if err := Replay(smallYard(), []config.Boat{}, nil).Accepts(nobody); err == nil {
		t.Error("a boat that is not here was corrected")
	}
}
