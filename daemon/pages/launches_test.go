package pages

import (
	"strings"
	"testing"
	"time"

	"fairwindow/planner"
)

// A launch promised for a day behind the end of the plan is not late; one that the plan
// does not reach although it was promised before its end is.
func TestLaunches(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	day := func(d int) time.Time { return time.Date(2026, 4, 7+d, 0, 0, 0, 0, time.UTC) }
	l := func(boat string, promised, likely int) planner.Launch {
		one := planner.Launch{Boat: boat, Promised: day(promised)}
		if likely > 0 {
			one.Likely = day(likely)
		}
		return one
	}
	for _, one := range []struct {
		name     string
		launches []planner.Launch
		rows     string // boat: likely, off, in order
		late     string
		rest     string
	}{
		{"none", nil, "", "", ""},
		{"kept", []planner.Launch{l("A", 9, 7), l("B", 4, 4)}, "B: Sat 11 Apr 00:00, to the minute; A: Tue 14 Apr 00:00, 2 d to spare", "", "Every launch is likely kept."},
		{"beyond", []planner.Launch{l("A", 60, 0), l("B", 50, 0), l("C", 9, 7)}, "C: Tue 14 Apr 00:00, 2 d to spare; B: after Tue 19 May, not known yet; A: after Tue 19 May, not known yet",
			"", "1 launch is likely kept. 2 are promised for later than this plan looks, and not known yet."},
		{"late", []planner.Launch{l("A", 60, 0), l("B", 40, 0), l("C", 9, 12), l("D", 9, 7)},
			"B: after Tue 19 May, *more than 2 d late; C: Sun 19 Apr 00:00, *3 d late; D: Tue 14 Apr 00:00, 2 d to spare; A: after Tue 19 May, not known yet",
			"2 launches are likely late: B by more than 2 d, C by 3 d.", "1 other is likely kept. 1 is promised for later than this plan looks, and not known yet."},
		{"many late", []planner.Launch{l("A", 9, 10), l("B", 9, 11), l("C", 9, 12), l("D", 9, 13), l("E", 9, 14)},
			"E: Tue 21 Apr 00:00, *5 d late; D: Mon 20 Apr 00:00, *4 d late; C: Sun 19 Apr 00:00, *3 d late; B: Sat 18 Apr 00:00, *2 d late; A: Fri 17 Apr 00:00, *1 d late",
			"5 launches are likely late: E by 5 d, D by 4 d, C by 3 d and 2 more.", ""},
	} {
		all := launches(planner.Plan{Until: day(42), Launches: one.launches}, c)
		var rows []string
		for _, l := range all {
			mark := ""
			if l.Late {
				mark = "*"
			}
			rows = append(rows, l.Boat.Name+": "+l.Likely+", "+mark+l.Off)
		}
		if got := strings.Join(rows, "; "); got != one.rows {
			t.Errorf("%s: launches are\n%s\nwant\n%s", one.name, got, one.rows)
		}
		if o := outlookOf(all); o.Late != one.late || o.Rest != one.rest {
			t.Errorf("%s: the outlook is %q, %q; want %q, %q", one.name, o.Late, o.Rest, one.late, one.rest)
		}
	}
}

// A boat stands on one line, with the cause of its first stage that has one of its own.
func TestUnplacedBoats(t *testing.T) {
	stage := func(boat, area, name string, cause planner.Cause, other planner.Key) planner.Planned {
		return planner.Planned{Key: planner.Key{Boat: boat, Area: area, Stage: name}, Waits: []planner.Wait{{Cause: cause, Evidence: planner.Evidence{Other: other}}}}
	}
	placed := stage("B", "house", "wash", planner.NoShift, planner.Key{})
	placed.Start = now
	all := unplaced(planner.Plan{Stages: []planner.Planned{
		stage("A", "stripe", "mask", planner.EarlierMoved, planner.Key{Boat: "A", Area: "house"}),
		stage("A", "house", "wash", planner.PlaceTaken, planner.Key{Boat: "B"}),
		stage("A", "house", "mask", planner.EarlierMoved, planner.Key{Boat: "A", Area: "house", Stage: "wash"}),
		placed,
		stage("B", "house", "mask", planner.EarlierMoved, planner.Key{Boat: "B", Area: "house", Stage: "wash"}),
		{Key: planner.Key{Boat: "C", Area: "deck", Stage: "sand"}},
	}}, clock{now: now, zone: time.UTC})
	want := []unplacedBoat{
		{link{"A", boatLink("A")}, link{"house: wash", stageLink(planner.Key{Boat: "A", Area: "house", Stage: "wash"})}, "the place is taken by B", 3},
		{link{"B", boatLink("B")}, link{"house: mask", stageLink(planner.Key{Boat: "B", Area: "house", Stage: "mask"})}, "wash was moved", 1},
		{link{"C", boatLink("C")}, link{"deck: sand", stageLink(planner.Key{Boat: "C", Area: "deck", Stage: "sand"})}, "", 1},
	}
	if len(all) != len(want) {
		t.Fatalf("%d boats, want %d: %v", len(all), len(want), all)
	}
	for i := range want {
		if all[i] != want[i] {
			t.Errorf("boat %d is\n%v, want\n%v", i, all[i], want[i])
		}
	}
}

// Of the first plan all is new: it is said how much it is, and no stage is listed as moved.
func TestTheFirstPlanIsNoDifference(t *testing.T) {
	f := newFake()
	f.told, f.toldID = planner.Plan{}, 0
	_, body := get(t, f, "/")
	has(t, body, "Nobody was told a plan yet", "stages of 3 boats.", "Release to the crews")
	hasNot(t, body, "differ in", "not told", `<th scope="col">Moves</th>`)
}

// Stages left without a start are told by area: what follows the first follows from it.
func TestEffectListsAreas(t *testing.T) {
	k := func(boat, stage string) planner.Key { return planner.Key{Boat: boat, Area: "house", Stage: stage} }
	var v effectView
	v.listAreas("Left", []planner.Key{k("A", "wash"), k("A", "mask"), k("B", "sand"), k("A", "coat")})
	v.listAreas("None", nil)
	if len(v.Lists) != 1 || len(v.Lists[0].Stages) != 2 {
		t.Fatalf("lists are %v", v.Lists)
	}
	if a, b := v.Lists[0].Stages[0].Name, v.Lists[0].Stages[1].Name; a != "wash on A house and 2 stages after it" || b != "sand on B house" {
		t.Errorf("it says %q and %q", a, b)
	}
}
