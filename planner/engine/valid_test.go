package engine

import (
	"context"
	"strings"
	"testing"
)

// tidy is a problem in which nothing is malformed.
func tidy() Problem {
	return Problem{
		Slots:  10,
		Crews:  []Crew{{Name: "crew", Hours: []Level{{0, 1}}}},
		Places: []Place{{Name: "place", Room: 1, Movers: []int{0}}, {Name: "waiting", Room: 1, Waits: true}},
		Airs:   1,
		Owners: []Owner{{Name: "one", Place: -1}, {Name: "two", Place: 0}},
		Tasks: []Task{
			{Name: "a", Owner: 0, Modes: []Mode{{Place: 0, Long: 2, Uses: []Use{{0, 1}}, Starts: 0, Works: -1, Soak: -1, Keeps: -1, Cost: 0, Sides: []Side{{Air: 0, Upto: -1}}}}},
			{Name: "b", Owner: 0, Modes: []Mode{{Place: -1, Long: 2, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}}, Due: &Due{At: 3, Weight: 1, Ready: -1}, Told: &Told{Place: -1}},
			{Name: "c", Owner: 1, Modes: []Mode{{Place: 0, Long: 2, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}}},
		},
		Blocks: []Block{{Owner: 0, Tasks: []int{0, 1}}},
		Lags:   []Lag{{Before: 0, After: 1, Opens: []int{0}, Ripe: []int{0, -1}, Bounded: true, Greatest: 3, Repair: &Repair{Long: 1, Cost: 1}}},
		Tables: [][]Slot{{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}},
	}
}

// A malformed problem is refused with the list, the index, the field, and what would be right.
func TestBadInputNamed(t *testing.T) {
	if _, err := Solve(context.Background(), tidy(), Effort{}); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		change func(p *Problem)
		want   string
	}{
		{func(p *Problem) { p.Slots = 0 }, "slots: 0; there must be 1 to"},
		{func(p *Problem) { p.Slots = 11 }, "tables[0]: has 10 entries; it must have one for each of the 11 slots"},
		{func(p *Problem) { p.Airs = -1 }, "airs: -1 of them; there may be 0 to"},
		{func(p *Problem) { p.Slots, p.Airs = 1<<20, 1<<16 }, "shorten the horizon"},
		{func(p *Problem) { p.Crews[0].Hours = []Level{{0, 1}, {0, 2}} }, "crews[0].hours[1].from: 0; it must be after 0"},
		{func(p *Problem) { p.Crews[0].Hours[0].N = -1 }, "crews[0].hours[0].n: -1; it must be 0 to"},
		{func(p *Problem) { p.Places[0].Movers[0] = 3 }, "places[0].movers[0]: 3; it must be 0 to 0"},
		{func(p *Problem) { p.Places[0].Room = -1 }, "places[0].room: -1"},
		{func(p *Problem) { p.Places[0].Move = -1 }, "places[0].move: -1"},
		{func(p *Problem) { p.Places[0].Hold = -1 }, "places[0].hold: -1"},
		{func(p *Problem) { p.Places[0].Shut = []Span{{3, 2}} }, "places[0].shut[0]: from 3 to 2"},
		{func(p *Problem) { p.Places[0].Shut = []Span{{1, 4}, {3, 5}} }, "places[0].shut[1]: overlaps shut[0]; join them"},
		{func(p *Problem) { p.Owners[0].Place = 7 }, "owners[0].place: 7; it must be 0 to 1, or -1 for none"},
		{func(p *Problem) { p.Owners[0].Held = 11 }, "owners[0].held: it may be moved at 11; it must be within the 10 slots"},
		{func(p *Problem) {
			p.Owners[0].Place, p.Owners[0].Held, p.Owners[1].Held = 0, 2, 2
		}, "owners[0].place: 2 owners are in place 0 at slot 0; its room is 1"},
		{func(p *Problem) { p.Tasks[0].Owner = 9 }, "tasks[0].owner: 9; it must be 0 to 1, or -1 for none"},
		{func(p *Problem) { p.Tasks[0].Release = -1 }, "tasks[0].release: -1"},
		{func(p *Problem) { p.Tasks[0].Modes = nil }, "tasks[0].modes: 0 of them; there must be 1 to"},
		{func(p *Problem) { p.Tasks[0].Modes[0].Place = 1 }, "tasks[0].modes[0].place: owners only wait in place 1"},
		{func(p *Problem) { p.Tasks[0].Modes[0].Long = -1 }, "tasks[0].modes[0].long: -1"},
		{func(p *Problem) { p.Tasks[0].Modes[0].Starts = 1 }, "tasks[0].modes[0].starts: 1; it must be 0 to 0, or -1 for none"},
		{func(p *Problem) { p.Tasks[0].Modes[0].Uses = []Use{{0, 1}, {0, 1}} }, "tasks[0].modes[0].uses[1].crew: 0 is named twice"},
		{func(p *Problem) { p.Tasks[0].Modes[0].Sides[0].Air = 1 }, "tasks[0].modes[0].sides[0].air: 1; it must be 0 to 0"},
		{func(p *Problem) { p.Tables[0][3] = None }, "tables[0][3]: -1099511627776 is a cost of tasks[0].modes[0]"},
		{func(p *Problem) { p.Tasks[1].Due.Weight = -1 }, "tasks[1].due.weight: -1"},
		{func(p *Problem) { p.Tasks[1].Told.Place = 5 }, "tasks[1].told.place: 5"},
		{func(p *Problem) { p.Lags[0].Before = 5 }, "lags[0].before: 5; it must be 0 to 2"},
		{func(p *Problem) { p.Lags[0].Opens = []int{0, 0} }, "lags[0].opens: 2 entries; there must be one for each mode of its before, 1, or none at all"},
		{func(p *Problem) { p.Lags[0].Ripe = []int{0} }, "lags[0].ripe: 1 entries; there must be one for each place, 2"},
		{func(p *Problem) { p.Tables[0][5] = 1 }, "tables[0]: is progress of lags[0].ripe; it must not fall"},
		{func(p *Problem) { p.Lags[0].Repair.Cost = -1 }, "lags[0].repair.cost: -1"},
		{func(p *Problem) { p.Blocks[0].Tasks = nil }, "blocks[0].tasks: is empty"},
		{func(p *Problem) { p.Blocks[0].Tasks[1] = 0 }, "blocks[0].tasks[1]: task 0 is in blocks[0] already"},
		{func(p *Problem) { p.Blocks[0].Tasks[1] = 2 }, "blocks[0].tasks[1]: task 2 is of owner 1; it must be of the block's, 0"},
		{func(p *Problem) { p.Weights.Move = -3 }, "weights.move: -3"},
		{func(p *Problem) { p.Lags = append(p.Lags, Lag{Before: 1, After: 0}) }, "in a circle: task 0 waits for task 1 by lags[1], task 1 waits for task 0 by lags[0]"},
		{func(p *Problem) {
			p.Lags = append(p.Lags, Lag{Before: 0, After: 2}, Lag{Before: 2, After: 1})
		}, "blocks: those of owners 0 and 1 wait for each other"},
	} {
		p := tidy()
		c.change(&p)
		r, err := Solve(context.Background(), p, Effort{Rounds: 1})
		if err == nil || !strings.Contains(err.Error(), c.want) || len(r.Starts) > 0 {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// What cannot be done is left without a start, and the rest is planned.
func TestCannotBeKept(t *testing.T) {
	p := tidy()
	p.Tasks[2].Modes[0].Long = 99
	p.Weights.Unplaced = 7
	r := solve(t, context.Background(), p, Effort{Rounds: 2})
	if r.Starts[2].Mode != -1 || r.Starts[0].Mode != 0 || r.Starts[1].Mode != 0 || len(Check(p, r)) > 0 {
		t.Errorf("%+v %v", r.Starts, Check(p, r))
	}
}

// A problem without tasks has a result without starts, whatever the effort.
func TestNothingToDo(t *testing.T) {
	p := Problem{Slots: 5, Places: []Place{{Name: "place", Room: 1, Hold: 2}}, Owners: []Owner{{Name: "one", Held: 3}}}
	r := solve(t, context.Background(), p, Effort{Schedules: 10, Workers: 2})
	if r.Objective != 6 || len(r.Starts) != 0 || len(Check(p, r)) > 0 {
		t.Errorf("%+v %v", r, Check(p, r))
	}
}

// Efforts end: by schedules, by rounds, by whichever is first.
func TestEffortEnds(t *testing.T) {
	p := yardLike(6, 3)
	for _, c := range []struct {
		e      Effort
		rounds func(n int) bool
	}{
		{Effort{}, func(n int) bool { return n == 0 }},
		{Effort{Rounds: 3}, func(n int) bool { return n == 3 }},
		{Effort{Schedules: 40}, func(n int) bool { return n > 0 && n < 40 }},
		{Effort{Rounds: 1, Schedules: 100000}, func(n int) bool { return n == 1 }},
	} {
		r := solve(t, context.Background(), p, c.e)
		if !c.rounds(r.Rounds) || r.Schedules < c.e.Schedules && c.e.Rounds == 0 {
			t.Errorf("%+v: %d rounds, %d schedules", c.e, r.Rounds, r.Schedules)
		}
	}
}
