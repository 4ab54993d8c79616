package planner

import (
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/config"
)

func press(kind PressKind, stage string, minute int) Press {
	return Press{Kind: kind, Key: Key{"boat 01", "topsides", stage}, Happened: monday.Add(time.Duration(minute) * time.Minute), By: "one"}
}

func replayed(presses ...Press) Work { return Replay(smallYard(), fleet(1), presses) }

func stageIn(t *testing.T, w Work, name string) Progress {
	t.Helper()
	s, ok := w.Stage(Key{"boat 01", "topsides", name})
	if !ok {
		t.Fatalf("no stage %s", name)
	}
	return s
}

func numbered(p Press, pass int) Press {
	p.Pass = pass
	return p
}

func TestReplay(t *testing.T) {
	cases := map[string]struct {
		presses []Press
		stage   string
		want    func(Progress) bool
	}{
		"nothing said": {nil, "sand", func(s Progress) bool { return !s.Done && !s.Running }},
		"started":      {[]Press{press(Started, "sand", 0)}, "sand", func(s Progress) bool { return s.Running && s.Started.Equal(monday) }},
		"finished without a start": {[]Press{press(Finished, "sand", 9)}, "sand", func(s Progress) bool {
			return s.Done && s.Started.Equal(s.Ended)
		}},
		"pause does not count": {[]Press{press(Started, "sand", 0), press(Paused, "sand", 30), press(Resumed, "sand", 90), press(Finished, "sand", 100)}, "sand", func(s Progress) bool {
			return s.Done && s.WorkedBy(monday.Add(time.Hour*9)) == 40*time.Minute
		}},
		"late press, earlier happened": {[]Press{press(Finished, "sand", 60), press(Started, "sand", 10)}, "sand", func(s Progress) bool {
			return s.Done && s.Started.Equal(monday.Add(10*time.Minute))
		}},
		"started twice": {[]Press{press(Started, "sand", 0), press(Started, "sand", 5)}, "sand", func(s Progress) bool { return s.Started.Equal(monday) }},
		"last pass finishes": {[]Press{press(Started, "prime", 0), numbered(press(PassDone, "prime", 40), 1), numbered(press(PassDone, "prime", 90), 2)}, "prime", func(s Progress) bool {
			return s.Done && len(s.Passes) == 2 && s.Ended.Equal(monday.Add(90*time.Minute)) && s.Passes[1].From.Equal(s.Passes[0].To)
		}},
		"pass doubled": {[]Press{press(Started, "prime", 0), numbered(press(PassDone, "prime", 40), 1), numbered(press(PassDone, "prime", 41), 1)}, "prime", func(s Progress) bool {
			return !s.Done && len(s.Passes) == 1
		}},
		"stopped before a pass opens it again": {[]Press{press(Started, "prime", 0), press(StoppedAt, "prime", 10)}, "prime", func(s Progress) bool { return !s.Done && !s.Running }},
		"stopped after one of two": {[]Press{press(Started, "prime", 0), numbered(press(PassDone, "prime", 40), 1), press(StoppedAt, "prime", 50)}, "rest of prime", func(s Progress) bool {
			return !s.Done && s.Stage.Passes == 1 && s.Stage.Kind == config.Coat && s.Stage.Card == "primer"
		}},
		"held and freed": {[]Press{press(Held, "sand", 0), press(Freed, "sand", 5)}, "sand", func(s Progress) bool { return s.Held == "" }},
		"unpinned":       {[]Press{press(Pinned, "sand", 0), press(Unpinned, "sand", 5)}, "sand", func(s Progress) bool { return s.Pinned.IsZero() && s.PinnedBy == "" }},
		"rejected at the inspection": {[]Press{press(Finished, "finish", 0), press(Finished, "unmask", 60), press(Rejected, "inspect", 90)}, "finish", func(s Progress) bool {
			return !s.Done
		}},
		"a repair is put in":      {[]Press{press(Finished, "finish", 0), press(Rejected, "finish", 90)}, "abrade for finish", func(s Progress) bool { return s.Repair && !s.Done && s.Stage.Grit == 320 }},
		"a planned repair begins": {[]Press{press(Started, "reactivate for finish", 0)}, "reactivate for finish", func(s Progress) bool { return s.Repair && s.Running && s.Stage.Kind == config.Wipe }},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			if s := stageIn(t, replayed(c.presses...), c.stage); !c.want(s) {
				t.Errorf("%+v", s)
			}
		})
	}
}

func TestStrays(t *testing.T) {
	w := replayed(press(Started, "varnish", 0), press(Started, "abrade for varnish", 0), Press{Kind: Moved, Key: Key{Boat: "nobody"}})
	if len(w.Strays) != 3 {
		t.Errorf("strays %+v", w.Strays)
	}
}

func TestBoatsAndLastCoat(t *testing.T) {
	boat := Key{Boat: "boat 01"}
	w := replayed(
		Press{Kind: Arrived, Key: boat, Place: "standing", Happened: monday},
		Press{Kind: Moved, Key: boat, Place: "booth 1", Happened: monday.Add(time.Hour)},
		press(Finished, "prime", 120), press(Finished, "wipe again", 200),
	)
	if b := w.Place("boat 01"); b.Place != "booth 1" || !b.Arrived.Equal(monday) || !b.Since.Equal(monday.Add(time.Hour)) {
		t.Errorf("%+v", b)
	}
	last, ok := w.LastCoat("boat 01", "topsides")
	if !ok || last.Key.Stage != "prime" || last.Card != "primer" || last.Place != "booth 1" || last.Passes != 2 || last.Sanded {
		t.Errorf("%+v", last)
	}
}

// However the presses come in, doubled and in any order, the work is the same.
func TestReplayIsAFold(t *testing.T) {
	kinds := []PressKind{Started, PassDone, Paused, Resumed, StoppedAt, Finished, Cant, Rejected, Held, Freed, Pinned, Unpinned}
	stages := smallYard().Systems[0].Stages
	rapid.Check(t, func(t *rapid.T) {
		var all []Press
		for i := range rapid.IntRange(0, 25).Draw(t, "presses") {
			p := press(rapid.SampledFrom(kinds).Draw(t, "kind"), stages[rapid.IntRange(0, len(stages)-1).Draw(t, "stage")].Name, rapid.IntRange(0, 300).Draw(t, "minute"))
			p.ID, p.Pass = int64(i+1), rapid.IntRange(0, 3).Draw(t, "pass")
			all = append(all, p)
		}
		want := replayed(all...)
		other := append(rapid.Permutation(all).Draw(t, "order"), all...)
		if got := replayed(other...); !reflect.DeepEqual(got, want) {
			t.Errorf("in another order, doubled:\n%+v\nwant\n%+v", got.areas[0], want.areas[0])
		}
	})
}

// TestStopped: a coat stops after no fewer passes than are on it, and not after all of them.
func TestStopped(t *testing.T) {
	w := replayed(press(Started, "prime", 0), numbered(press(PassDone, "prime", 40), 1)) // of two
	for _, c := range []struct {
		press Press
		says  string
	}{
		{numbered(press(StoppedAt, "prime", 50), 1), ""},
		{numbered(press(StoppedAt, "prime", 50), 0), "has 1 of 2 passes reported done: it stopped after 1 or more, not after 0"},
		{numbered(press(StoppedAt, "prime", 50), 2), "has 2 passes: if all of them are done press finished"},
		{numbered(press(StoppedAt, "prime", 50), 7), "has 2 passes"},
		{numbered(press(StoppedAt, "prime", 30), 1), "give a time no earlier"},
	} {
		err := w.Accepts(c.press)
		if (err == nil) != (c.says == "") || err != nil && !strings.Contains(err.Error(), c.says) {
			t.Errorf("stopped after %d: %v, want %q", c.press.Pass, err, c.says)
		}
	}
}
