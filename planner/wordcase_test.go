package planner

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

func TestPeoplesWord(t *testing.T) {
	key := Key{"boat 01", "topsides", "sand"}
	pin := local(t, "2026-05-06 09:00")
	cases := map[string]struct {
		press Press
		want  func(Planned) bool
	}{
		"held": {Press{Kind: Held, By: "owner", Note: "colour"}, func(s Planned) bool {
			return s.State == Unplaced && s.Waits[0].Cause == HeldBy && s.Waits[0].Evidence.Person == "owner"
		}},
		"pinned": {Press{Kind: Pinned, By: "foreman", Until: pin}, func(s Planned) bool { return s.Start.Equal(pin) && waited(s, HeldBy) > 0 }},
		"cant": {Press{Kind: Cant, By: "painter", Note: "no paper"}, func(s Planned) bool {
			return s.Start.Equal(local(t, "2026-05-05 07:00"))
		}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p := problem(fleet(1)...)
			p.At = monday.Add(time.Hour)
			c.press.Key, c.press.Happened = key, monday.Add(30*time.Minute)
			p.Presses = []Press{c.press}
			if s := stageOf(t, solved(t, p), "boat 01", "sand"); !c.want(s) {
				t.Errorf("%v %v %+v", s.State, s.Start, s.Waits)
			}
		})
	}
}

func TestToldStarts(t *testing.T) {
	tell := func(at time.Time) Problem {
		p := problem(fleet(1)...)
		p.Told = []Told{{Key: Key{"boat 01", "topsides", "sand"}, Start: at, Place: "shed"}}
		p.First = p.Told
		return p
	}
	// Within the frozen hours a start is kept.
	s := stageOf(t, solved(t, tell(monday.Add(3*time.Hour))), "boat 01", "sand")
	if !s.Start.Equal(monday.Add(3*time.Hour)) || waited(s, AsTold) == 0 {
		t.Errorf("frozen: %v %+v", s.Start, s.Waits)
	}
	// A start that passed unreported is asked about and planned anew.
	if s := stageOf(t, solved(t, tell(monday.Add(-3*time.Hour))), "boat 01", "sand"); s.State != Unconfirmed || s.Start.Before(monday) {
		t.Errorf("unreported: %s %v", s.State, s.Start)
	}
}

func TestRunningCoatStays(t *testing.T) {
	p := problem(fleet(1)...)
	p.At = monday.Add(2 * time.Hour)
	p.Presses = append(doneUpTo(p, "boat 01", 3, monday.Add(time.Hour)), Press{Kind: Started, Key: Key{"boat 01", "topsides", "prime"}, Happened: monday.Add(90 * time.Minute)})
	s := stageOf(t, solved(t, p), "boat 01", "prime")
	if s.State != Running || !s.Start.Equal(monday.Add(90*time.Minute)) || !s.End.Equal(monday.Add(3*time.Hour)) {
		t.Errorf("%s %v %v", s.State, s.Start, s.End)
	}
}

func TestPencilledBeyondTheForecast(t *testing.T) {
	p := problem(vessel("boat 01", "2026-05-24"))
	p.Boats[0].Arrives = "2026-05-15"
	if s := stageOf(t, solved(t, p), "boat 01", "finish"); s.State != PencilledIn {
		t.Errorf("%s at %v", s.State, s.Start)
	}
}

// Unknown is shut: without weather no coat, but sanding needs none.
func TestNoForecastIsShut(t *testing.T) {
	p := problem(fleet(1)...)
	p.Outdoors = nil
	plan := solved(t, p)
	s := stageOf(t, plan, "boat 01", "prime")
	if s.State != Unplaced || s.Waits[len(s.Waits)-1].Evidence.Sure != conditions.Unknown {
		t.Errorf("%s at %v without any forecast: %+v", s.State, s.Start, s.Waits)
	}
	if stageOf(t, plan, "boat 01", "sand").State == Unplaced {
		t.Error("sanding waits for a forecast")
	}
}

func TestLateBoat(t *testing.T) {
	p := problem(fleet(1)...)
	p.Boats[0].Arrives = "2026-05-06"
	first := Told{Key: Key{"boat 01", "topsides", "sand"}, Start: monday, Place: "shed"}
	p.First = []Told{first}
	s := stageOf(t, solved(t, p), "boat 01", "sand")
	if got := waited(s, LateBoat); got != s.Ready.Sub(monday) {
		t.Errorf("late by %v of %v: %+v", got, s.Ready.Sub(monday), s.Waits)
	}
}

func TestWindows(t *testing.T) {
	p := problem(vessel("boat 01", "2026-05-20"))
	only(&p, coatIn(config.Slip, "finish", "topcoat"))
	p.Yard.Cards[1].Limits.WindMax = wind(6.7)
	for i := range p.Outdoors {
		p.Outdoors[i].DewPoint = 2
		if hour := p.Outdoors[i].At.Hour(); hour >= 14 && hour <= 18 {
			p.Outdoors[i].Gust = 9
		}
	}
	p.Presses = []Press{{Kind: Arrived, Key: Key{Boat: "boat 01"}, Place: "slip", Happened: monday}}
	plan := solved(t, p)
	finish := Key{"boat 01", "topsides", "finish"}
	enough := float64(p.Yard.WithDefaults().Confidence.Plan.SI)
	desk, err := Open(p)
	if err != nil {
		t.Fatal(err)
	}
	desk.Checked() // leaves no trace in what lies ahead
	view, err := desk.Look([]Key{finish}, enough, enough)
	all := view.Windows[finish]
	if err != nil || len(all) < 2 {
		t.Fatalf("%v, %v", all, err)
	}
	s, first := stageOf(t, plan, "boat 01", "finish"), all[0]
	if s.Start.Before(first.From) || s.Start.After(first.To) {
		t.Errorf("planned %v, outside its window %v to %v", s.Start, first.From, first.To)
	}
	if first.Closes.Of != conditions.OfWind || !s.Until.Equal(first.To) {
		t.Errorf("closes by %+v at %v, the plan says last start %v", first.Closes, first.To, s.Until)
	}
}

// What is open at the first slot is open now, though now lies between two; what the
// coat beneath opens at that slot is not open before it.
func TestWindowsFromBetweenSlots(t *testing.T) {
	finish := Key{"boat 01", "topsides", "finish"}
	for _, late := range []time.Duration{0, 20 * time.Second, 4*time.Minute + 50*time.Second} {
		p := problem(vessel("boat 01", "2026-05-20"))
		only(&p, coatIn(config.Slip, "finish", "topcoat"))
		p.Presses = []Press{{Kind: Arrived, Key: Key{Boat: "boat 01"}, Place: "slip", Happened: monday}}
		p.At = p.At.Add(late)
		desk, err := Open(p)
		if err != nil {
			t.Fatal(err)
		}
		view, err := desk.Look([]Key{finish}, 0.5, 0.5)
		if all := view.Windows[finish]; err != nil || len(all) == 0 || !all[0].From.Equal(p.At) {
			t.Errorf("%s after a slot: %v, %v, want one from %v", late, all, err, p.At)
		}
	}
}

// A plan made between two slots counts no cure twice: what may be done at an hour
// after the coat is not planned, or let pass, before it.
func TestCureFromBetweenSlots(t *testing.T) {
	for _, late := range []time.Duration{0, 20 * time.Second, 2 * time.Minute, 4*time.Minute + 50*time.Second} {
		p := problem(vessel("boat 01", "2026-05-20"))
		p.Yard.Cards[1].Cure.Taped = at(1)
		only(&p, coatIn(config.Booth, "finish", "topcoat"),
			config.Stage{Name: "unmask", Kind: config.Unmask, Skill: "prep", People: 1, Takes: hours(0.5), Block: "paint", Places: []config.PlaceKind{config.Booth}})
		done := monday.Add(2*time.Hour + late)
		p.At = done.Add(10 * time.Minute)
		finish := Key{"boat 01", "topsides", "finish"}
		p.Presses = []Press{
			{ID: 1, Kind: Arrived, Key: Key{Boat: "boat 01"}, Place: "booth 1", Happened: monday},
			{ID: 2, Kind: Started, Key: finish, Happened: monday},
			{ID: 3, Kind: PassDone, Key: finish, Pass: 1, Happened: done},
		}
		cure := p.Yard.Cards[1].Cure
		p.Coats = []CoatNow{{Key: finish, Clock: cure.Run(cure.Start(done), p.At, conditions.Exposure{Coldest: 20, Warmest: 20})}}
		got := stageOf(t, solved(t, p), "boat 01", "unmask").Start.Sub(done)
		if got < time.Hour || got > time.Hour+step {
			t.Errorf("made %v after a slot, the tape is pulled %v after the coat", late, got)
		}
	}
}
