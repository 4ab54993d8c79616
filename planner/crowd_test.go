package planner

import (
	"testing"
	"time"

	"fairwindow/config"
)

// TestCrowdedPlaces: wherever people report a boat, the plan that follows keeps
// the rules. Two boats in one booth are a fact that the plan cannot help, and a
// boat still to come finds another place than the one that is taken.
func TestCrowdedPlaces(t *testing.T) {
	for _, place := range smallYard().Places {
		t.Run(place.Name, func(t *testing.T) {
			boats := fleet(4)
			boats[0].Place, boats[1].Place = "slip", "booth 1"
			for i := 2; i < 4; i++ { // a fresh coat keeps them where they stand
				boats[i].Areas[0].Done, boats[i].Areas[0].DoneAt = "prime", "2026-05-04 04:00"
			}
			p := problem(boats...)
			for i, at := range map[int]string{2: place.Name, 3: "booth 1"} {
				p.Presses = append(p.Presses, Press{
					Kind: Arrived, Key: Key{Boat: boats[i].Name}, Place: at, Happened: p.At.Add(-time.Hour), By: "test",
				})
			}
			plan, err := Solve(p)
			if err != nil {
				t.Fatal(err)
			}
			for _, broken := range Check(p, plan) {
				t.Errorf("%s: %s: %s", broken.Key, broken.Rule, broken.What)
			}
		})
	}
}

// TestCoatStillToCome: a boat entered with a coat whose time is still to come
// cures from that time, by the planner and by the check alike.
func TestCoatStillToCome(t *testing.T) {
	boat := fleet(1)[0]
	boat.Place, boat.Areas[0].Done, boat.Areas[0].DoneAt = "booth 1", "prime", "2026-05-05 16:00"
	p := problem(boat)
	plan, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, broken := range Check(p, plan) {
		t.Errorf("%s: %s: %s", broken.Key, broken.Rule, broken.What)
	}
	primed, _ := smallYard().Time("2026-05-05 16:00")
	recoat := primed.Add(8 * time.Hour) // the test's primer, by the stopwatch
	for _, s := range plan.Stages {
		if s.Key.Stage == "finish" && s.Start.Before(recoat) {
			t.Errorf("the next coat starts %v, before %v", s.Start, recoat)
		}
	}
}

// TestNoSandingBesideARunningCoat: one boat is masked in a booth and is to be
// sanded next; in the other booth of the same air a coat is being put on. The
// sanding waits until that coat is dust-free, though its boat is planned first.
// Nobody sands while another paints: common practice, no source.
func TestNoSandingBesideARunningCoat(t *testing.T) {
	boats := fleet(2)
	p := problem(boats...)
	p.At = monday.Add(time.Hour)
	second := p.Yard.Places[0]
	second.Name = "booth 2"
	p.Yard.Places[0].Air, second.Air = "hall", "hall"
	p.Yard.Places = append(p.Yard.Places, second)
	stages := p.Yard.Systems[0].Stages
	mask, sand := stages[1], stages[0]
	sand.Block, sand.Places = mask.Block, mask.Places
	p.Yard.Systems[0].Stages = append([]config.Stage{mask, sand}, stages[2:]...)
	p.Boats[1].Areas[0].Done, p.Boats[1].Areas[0].DoneAt = "wipe", "2026-05-04 07:00"
	press := func(kind PressKind, boat int, stage, place string, after time.Duration) {
		key := Key{Boat: boats[boat].Name}
		if stage != "" {
			key.Area, key.Stage = "topsides", stage
		}
		p.Presses = append(p.Presses, Press{Kind: kind, Key: key, Place: place, Happened: monday.Add(after), By: "test"})
	}
	press(Arrived, 0, "", "booth 2", -time.Hour)
	press(Arrived, 1, "", "booth 1", -time.Hour)
	press(Started, 0, "mask", "", 5*time.Minute)
	press(Started, 1, "prime", "", 30*time.Minute)
	plan, err := Solve(p)
	if err != nil {
		t.Fatal(err)
	}
	for _, broken := range Check(p, plan) {
		t.Errorf("%s: %s: %s", broken.Key, broken.Rule, broken.What)
	}
	for _, s := range plan.Stages {
		if s.Key.Boat == boats[0].Name && s.Key.Stage == "sand" && s.Start.Before(monday.Add(3*time.Hour)) {
			t.Errorf("sanding starts %v beside a coat that is put on until about 09:30", s.Start)
		}
	}
}

// TestWetUntilTheSlotItDries: the plan is made a minute after a slot began. Nobody
// knows what surface a fresh coat stood on so far, so its hour to dust-free (by the
// test's card) counts from that slot. Sanding in its air may start with the slot at
// 07:00; the check goes by the plan's slots too.
func TestWetUntilTheSlotItDries(t *testing.T) {
	p := problem(fleet(2)...)
	p.At = monday.Add(time.Minute)
	p.Yard.Places[0].Air, p.Yard.Places[1].Air = "hall", "hall"
	p.Presses = doneUpTo(p, "boat 01", 4, monday.Add(-26*time.Minute))
	p.Presses = append(p.Presses, Press{Kind: Arrived, Key: Key{Boat: "boat 02"}, Place: "shed", Happened: monday.Add(-time.Hour)})
	if sand := stageOf(t, solved(t, p), "boat 02", "sand"); !sand.Start.Equal(monday.Add(time.Hour)) {
		t.Errorf("sanded from %v", sand.Start)
	}
}
