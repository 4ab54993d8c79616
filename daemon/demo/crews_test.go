package demo

import (
	"testing"
	"time"

	"fairwindow/planner"
)

// Before a coat is sprayed, what is still owed about that boat is entered, in
// the order in which it happened; another boat's late report stays late.
func TestPeopleCatchUpBeforeACoat(t *testing.T) {
	w := newWorld(1, yardOf(), Invent(1, spring, 3, harbour), spring)
	c, err := newCrews(1, yardOf(), nil, w)
	if err != nil {
		t.Fatal(err)
	}
	key := func(boat, stage string) planner.Key { return planner.Key{Boat: boat, Area: "topsides", Stage: stage} }
	late := spring.Add(3 * time.Hour)
	for _, boat := range []string{"Heron", "Egret"} {
		c.queue = append(c.queue, planner.Press{Kind: planner.Finished, Key: key(boat, "wipe"), Happened: spring, Entered: late})
		c.entered[boat] = late
	}
	at := spring.Add(time.Hour)
	c.report(planner.Press{Kind: planner.Started, Key: key("Heron", "finish coat"), Happened: at}, true)
	got := c.enter(at.Add(10 * time.Minute))
	if len(got) != 2 || got[0].Kind != planner.Finished || got[1].Kind != planner.Started || got[1].Entered.After(at.Add(5*time.Minute)) {
		t.Errorf("entered %+v", got)
	}
	if rest := c.enter(late); len(rest) != 1 || rest[0].Key.Boat != "Egret" {
		t.Errorf("then %+v", rest)
	}
}
