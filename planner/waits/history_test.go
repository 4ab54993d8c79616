package waits

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"

	"pgregory.net/rapid"
)

// monday begins an invented week.
var monday = time.Date(2026, time.April, 6, 0, 0, 0, 0, time.UTC)

func at(hours float64) time.Time { return monday.Add(time.Duration(hours * float64(time.Hour))) }

func key(boat, stage string) planner.Key {
	return planner.Key{Boat: boat, Area: "topsides", Stage: stage}
}

func stage(k planner.Key, start float64, waits ...planner.Wait) planner.Planned {
	s := planner.Planned{Key: k, Kind: config.Coat, Place: "booth 1", Crew: "paint", State: planner.Firm, Ready: monday, Binds: "ready", Waits: waits}
	if !math.IsNaN(start) {
		s.Start, s.End = at(start), at(start+4)
	}
	return s
}

func wait(from, to float64, cause planner.Cause) planner.Wait {
	return planner.Wait{From: at(from), To: at(to), Cause: cause}
}

// A told start that moves gives each of its hours one cause; nights go to the shift
// before, and hours that passed unreported say so.
func TestMovesCoverTheirHours(t *testing.T) {
	k := key("Kestrel", "gloss")
	told := map[planner.Key]Told{k: {Start: at(8), Place: "booth 1"}}
	plan := planner.Plan{At: at(10), Until: at(900), Blocks: []planner.Block{{Boat: "Kestrel", Place: "booth 1", From: at(0), To: at(20)}}}
	plan.Stages = []planner.Planned{stage(k, 34, wait(10, 15, planner.OutOfLimits), wait(15, 31, planner.NoShift), wait(31, 34, planner.CrewBusy))}
	moves := Moves(told, plan)
	if len(moves) != 1 {
		t.Fatalf("%d moves, want 1", len(moves))
	}
	m := moves[0]
	want := []planner.Wait{wait(8, 10, Unreported), wait(10, 31, planner.OutOfLimits), wait(31, 34, planner.CrewBusy)}
	if len(m.Waits) != len(want) {
		t.Fatalf("waits are %+v", m.Waits)
	}
	for i := range want {
		if m.Waits[i] != want[i] {
			t.Errorf("wait %d is %+v, want %+v", i, m.Waits[i], want[i])
		}
	}
	if len(m.Stood) != 1 || m.Stood[0] != (planner.Span{From: at(8), To: at(20)}) {
		t.Errorf("it stood there %+v", m.Stood)
	}
	if !m.Fixes {
		t.Error("the boat's only stage does not fix its launch")
	}
	if c := m.Main().Cause; c != Unreported {
		t.Errorf("the main cause is %q", c)
	}
}

func TestWhatMovesAndWhatDoesNot(t *testing.T) {
	k := key("Kestrel", "gloss")
	for _, c := range []struct {
		name  string
		told  Told
		stage planner.Planned
		want  int
		main  planner.Cause
	}{
		{"as told", Told{Start: at(8)}, stage(k, 8), 0, ""},
		{"runs", Told{Start: at(8)}, func() planner.Planned { s := stage(k, 9); s.State = planner.Running; return s }(), 0, ""},
		{"sooner", Told{Start: at(8)}, stage(k, 7), 1, planner.EarlierMoved},
		{"gone", Told{Start: at(8)}, stage(k, math.NaN(), wait(4, 8, planner.CrewBusy), wait(8, 20, planner.OutOfLimits)), 1, planner.OutOfLimits},
		{"still gone", Told{Start: at(8), Gone: true}, stage(k, math.NaN()), 0, ""},
		{"found again", Told{Start: at(8), Gone: true}, stage(k, 30, wait(0, 30, planner.PlaceTaken)), 1, planner.PlaceTaken},
		{"moved on for long by the weather", Told{Start: at(8)}, stage(k, 60, wait(8, 9, planner.EarlierMoved), wait(9, 60, planner.OutOfLimits)), 1, planner.OutOfLimits},
		{"moved on", Told{Start: at(8)}, stage(k, 20, wait(8, 19, planner.EarlierMoved), wait(19, 20, planner.CrewBusy)), 1, planner.EarlierMoved},
	} {
		moves := Moves(map[planner.Key]Told{k: c.told}, planner.Plan{At: at(0), Stages: []planner.Planned{c.stage}})
		if len(moves) != c.want {
			t.Errorf("%s: %d moves, want %d", c.name, len(moves), c.want)
		} else if c.want == 1 && moves[0].Main().Cause != c.main {
			t.Errorf("%s: the cause is %q, want %q", c.name, moves[0].Main().Cause, c.main)
		}
	}
}

// The launch hangs on the last stage and on what alone made it ready, over nights too,
// and on nothing before a start that something else fixed.
func TestFixing(t *testing.T) {
	sand, wipe, coat, wash := stage(key("Tern", "sand"), 8), stage(key("Tern", "wipe"), 20), stage(key("Tern", "coat"), 30), stage(key("Tern", "wash"), 1)
	coat.BindsOn.Other, wipe.Binds, sand.Binds = wipe.Key, string(planner.NoShift), string(planner.CrewBusy)
	other := stage(key("Wren", "wash"), 2)
	fixes := fixing(planner.Plan{Stages: []planner.Planned{wash, sand, wipe, coat, other}})
	for k, want := range map[planner.Key]bool{wash.Key: false, sand.Key: true, wipe.Key: true, coat.Key: true, other.Key: true} {
		if fixes[k] != want {
			t.Errorf("%s fixes the launch: %t, want %t", k, fixes[k], want)
		}
	}
}

// What was begun later than told, with or without a word why.
func TestBegunLate(t *testing.T) {
	k := key("Kestrel", "gloss")
	known := Known{First: []planner.Told{{Key: k, Start: at(8)}}, Presses: []planner.Press{{Kind: planner.Started, Key: k, Happened: at(11), By: "Ana"}}}
	all := History(known)
	if len(all) != 1 || all[0].Cause != Unreported || all[0].Stands() != 3*time.Hour || all[0].Plan != 0 {
		t.Errorf("begun late without a word: %+v", all)
	}
	known.Presses = append(known.Presses, planner.Press{Kind: planner.Cant, Key: k, Happened: at(9), By: "Rui", Note: "compressor"})
	all = History(known)
	if len(all) != 1 || all[0].Cause != planner.Absent || all[0].Wait.Evidence.Person != "Rui" || all[0].Wait.Evidence.Note != "compressor" {
		t.Errorf("begun late with a word: %+v", all)
	}
	// A slip that was struck through began nothing, and its word is nobody's.
	known.Presses[0].ID, known.Presses[1].ID = 1, 2
	known.Presses = append(known.Presses, planner.Press{ID: 3, Kind: planner.Struck, Key: k, Strikes: 1}, planner.Press{ID: 4, Kind: planner.Struck, Key: k, Strikes: 2},
		planner.Press{ID: 5, Kind: planner.Started, Key: k, Happened: at(10), By: "Ana"})
	all = History(known)
	if len(all) != 1 || all[0].Cause != Unreported || all[0].Stands() != 2*time.Hour {
		t.Errorf("begun late after a slip: %+v", all)
	}
}

// A cure is reported as finished and not as begun: what was told of its beginning stands.
func TestOnlyFinished(t *testing.T) {
	k := key("Kestrel", "cure")
	for finished, want := range map[float64]time.Duration{30: 2 * time.Hour, 9: time.Hour} {
		all := History(Known{
			First:   []planner.Told{{Key: k, Start: at(8)}},
			Moves:   []Move{{ID: 1, Plan: 2, At: at(1), Key: k, From: at(8), To: at(10), Waits: []planner.Wait{wait(8, 10, planner.SlowCure)}}},
			Presses: []planner.Press{{Kind: planner.Finished, Key: k, Happened: at(finished), By: "Ana"}},
		})
		if len(all) != 1 || all[0].Stands() != want {
			t.Errorf("finished at %v: %+v, want %s", finished, all, want)
		}
	}
}

// Stages that moved with one of their boat are told with it.
func TestRides(t *testing.T) {
	a, b, c := key("Kestrel", "sand"), key("Kestrel", "gloss"), key("Tern", "gloss")
	move := func(k planner.Key, id int64, cause planner.Cause) Move {
		return Move{ID: id, Plan: 7, At: at(1), Key: k, From: at(8), To: at(10), Waits: []planner.Wait{wait(8, 10, cause)}}
	}
	all := History(Known{
		First: []planner.Told{{Key: a, Start: at(8)}, {Key: b, Start: at(8)}, {Key: c, Start: at(8)}},
		Moves: []Move{move(b, 1, planner.EarlierMoved), move(a, 2, planner.OutOfLimits), move(c, 3, planner.EarlierMoved)},
	})
	for _, e := range all {
		want := 0
		if e.Key == a {
			want = 1
		}
		if len(e.Rides) != want {
			t.Errorf("%d stages ride with %s", len(e.Rides), e.Key)
		}
	}
	if sum := Sum(Lines(all, config.Yard{}, time.UTC), Only{}, nil); sum.Hours != 2 || sum.Again != 4 {
		t.Errorf("counted %v h, and %v h again", sum.Hours, sum.Again)
	}
}

// drawn is a history of plans told one after the other, with what was begun.
func drawn(t *rapid.T) (Known, map[planner.Key]time.Time) {
	keys := []planner.Key{key("Kestrel", "sand"), key("Kestrel", "gloss"), key("Tern", "gloss"), key("Wren", "wash")}
	causes := []planner.Cause{planner.OutOfLimits, planner.CrewBusy, planner.NoShift, planner.EarlierMoved, planner.PlaceTaken}
	var k Known
	told, final := map[planner.Key]Told{}, map[planner.Key]time.Time{}
	for n := range rapid.IntRange(1, 6).Draw(t, "plans") {
		made := at(float64(n * 5))
		plan := planner.Plan{At: made, Until: at(2000)}
		for _, key := range keys {
			if rapid.IntRange(0, 4).Draw(t, "left out") == 0 {
				continue
			}
			start := math.NaN()
			if rapid.IntRange(0, 6).Draw(t, "placed") > 0 {
				start = float64(rapid.IntRange(n*5, 400).Draw(t, "start"))
			}
			s := stage(key, start)
			s.Place, s.Ready = rapid.SampledFrom([]string{"booth 1", "shed"}).Draw(t, "place"), at(float64(rapid.IntRange(0, 300).Draw(t, "ready")))
			for from := rapid.IntRange(0, 200).Draw(t, "first"); from < 400 && rapid.Bool().Draw(t, "more"); {
				to := from + rapid.IntRange(1, 90).Draw(t, "takes")
				s.Waits = append(s.Waits, wait(float64(from), float64(to), rapid.SampledFrom(causes).Draw(t, "cause")))
				from = to + rapid.IntRange(0, 9).Draw(t, "gap")
			}
			plan.Stages = append(plan.Stages, s)
		}
		for i, m := range Moves(told, plan) {
			m.ID, m.Plan, m.At = int64(100*n+i), int64(n+1), made
			k.Moves = append(k.Moves, m)
		}
		for _, s := range plan.Stages {
			if s.Start.IsZero() {
				was := told[s.Key]
				if !was.Start.IsZero() {
					told[s.Key] = Told{was.Start, was.Place, true}
				}
				continue
			}
			if _, ok := told[s.Key]; !ok {
				k.First = append(k.First, planner.Told{Key: s.Key, Start: s.Start})
			}
			told[s.Key], final[s.Key] = Told{Start: s.Start, Place: s.Place}, s.Start
		}
	}
	for _, f := range k.First {
		if rapid.Bool().Draw(t, "begun") {
			happened := at(float64(rapid.IntRange(30, 500).Draw(t, "happened")))
			kind := rapid.SampledFrom([]planner.PressKind{planner.Started, planner.Override, planner.Finished}).Draw(t, "as")
			k.Presses = append(k.Presses, planner.Press{Kind: kind, Key: f.Key, Happened: happened})
			if kind != planner.Finished || happened.Before(final[f.Key]) {
				final[f.Key] = happened
			}
		}
	}
	return k, final
}

// For every hour between the start first told and the start that was, one cause: no
// more hours and no fewer. A stage put off and brought forward again has lost nothing.
func TestEachHourHasOneCause(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		known, final := drawn(t)
		all := History(known)
		for _, f := range known.First {
			want := max(0, final[f.Key].Sub(f.Start))
			var got time.Duration
			seen := map[time.Time]bool{}
			for _, e := range all {
				if e.Key != f.Key {
					continue
				}
				got += e.Stands()
				for _, w := range e.Spans {
					for h := w.From; h.Before(w.To); h = h.Add(time.Hour) {
						if seen[h] {
							t.Fatalf("%s: %s has two causes", f.Key, h)
						}
						seen[h] = true
					}
				}
			}
			if got != want {
				t.Fatalf("%s: first told %s, then %s: %s accounted for, want %s", f.Key, f.Start, final[f.Key], got, want)
			}
		}
	})
}

// Each table adds up to the hours, and to the money where there are rates.
func TestTotalsAddUp(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Lisbon")
	if err != nil {
		t.Fatal(err)
	}
	yard := config.Yard{Places: []config.Place{{Name: "booth 1", Kind: config.Booth}, {Name: "shed", Kind: config.Shed}}}
	rapid.Check(t, func(t *rapid.T) {
		known, _ := drawn(t)
		all := History(known)
		lines := Lines(all, yard, zone)
		var stands time.Duration
		for _, e := range all {
			stands += e.Stands()
		}
		if whole := Sum(lines, Only{}, nil); math.Abs(whole.Hours+whole.Again-stands.Hours()) > 1e-6 {
			t.Fatalf("%v h and %v h again of %v h", whole.Hours, whole.Again, stands.Hours())
		}
		o := Only{Boat: rapid.SampledFrom([]string{"", "Kestrel"}).Draw(t, "boat"), Cause: rapid.SampledFrom([]planner.Cause{"", planner.OutOfLimits}).Draw(t, "cause")}
		sum := Sum(lines, o, &config.Rates{Currency: "EUR", Booth: 30, BoatDay: 400})
		var counts time.Duration
		for _, e := range all {
			counts += o.Counts(e, zone)
		}
		if math.Abs(counts.Hours()-sum.Hours) > 1e-6 {
			t.Fatalf("one by one %v h count, in all %v h", counts.Hours(), sum.Hours)
		}
		for name, table := range map[string][]Row{"cause": sum.Causes, "place": sum.Places, "boat": sum.Boats, "week": sum.Weeks} {
			hours, cost := 0.0, 0.0
			for _, r := range table {
				hours += r.Hours
				cost += *r.Cost
			}
			if math.Abs(hours-sum.Hours) > 1e-6 || math.Abs(cost-*sum.Cost) > 1e-6 {
				t.Fatalf("by %s %v h and %v EUR, in all %v h and %v EUR", name, hours, cost, sum.Hours, *sum.Cost)
			}
		}
		if plain := Sum(lines, o, nil); plain.Cost != nil || plain.Money != "" || plain.Hours != sum.Hours {
			t.Fatalf("without rates: %+v", plain)
		}
	})
}

// What was put off costs a booth's hours while the boat stood in it, and its days where
// the launch hung on it. Worked by hand: 20 h in the booth at 30, and 48 h at 600 a day.
func TestMoneyByHand(t *testing.T) {
	yard := config.Yard{Places: []config.Place{{Name: "booth 1", Kind: config.Booth, Length: unit.Of(unit.Length(20))}}}
	k := key("Kestrel", "gloss")
	e := Entry{Move: Move{Key: k, Place: "booth 1", From: at(8), To: at(56), Fixes: true, Stood: []planner.Span{{From: at(0), To: at(28)}}}, Spans: []planner.Wait{wait(8, 56, planner.OutOfLimits)}}
	sum := Sum(Lines([]Entry{e}, yard, time.UTC), Only{}, &config.Rates{Currency: "EUR", Booth: 30, BoatDay: 600})
	if want := 20*30 + 2*600.0; *sum.Cost != want {
		t.Errorf("it costs %v, want %v", *sum.Cost, want)
	}
	e.Fixes, e.Stood = false, nil
	if sum := Sum(Lines([]Entry{e}, yard, time.UTC), Only{}, &config.Rates{Booth: 30, BoatDay: 600}); *sum.Cost != 0 {
		t.Errorf("what nobody waits for costs %v", *sum.Cost)
	}
}
