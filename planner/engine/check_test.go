package engine

import (
	"context"
	"strings"
	"testing"
)

// Check finds each rule that is broken by hand.
func TestCheckFinds(t *testing.T) {
	table := func(of func(s Slot) Slot) []Slot {
		t := make([]Slot, 60)
		for s := range t {
			t[s] = of(Slot(s))
		}
		return t
	}
	mode := Mode{Place: 0, Long: 4, Uses: []Use{{0, 1}}, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
	with := func(change func(m *Mode)) []Mode {
		m := mode
		change(&m)
		return []Mode{m}
	}
	p := Problem{
		Slots:  60,
		Airs:   1,
		Crews:  []Crew{{Name: "crew", Hours: []Level{{0, 2}, {40, 0}, {44, 2}}}, {Name: "lift", Hours: []Level{{0, 1}}}},
		Places: []Place{{Name: "place", Room: 1, Move: 2, Movers: []int{1}, Shut: []Span{{50, 55}}, Hold: 1}, {Name: "other", Room: 1}},
		Owners: []Owner{{Name: "one", Arrives: 1, Place: -1}, {Name: "two", Place: -1}},
		Tasks: []Task{
			{Name: "a", Owner: 0, Release: 4, Modes: with(func(m *Mode) { m.Starts, m.Soak, m.Sides = 0, 1, []Side{{Air: 0, Upto: -1, Past: 3}} })},
			{Name: "b", Owner: 0, Modes: with(func(m *Mode) { m.Keeps = 2 }), Due: &Due{At: 5, Weight: 2, Ready: -1}},
			{Name: "c", Owner: 1, Pauses: true, Least: 2, Modes: with(func(m *Mode) { m.Place, m.Sides = 1, []Side{{Air: 0, Far: true, Upto: -1}} })},
		},
		Blocks: []Block{{Owner: 0, Tasks: []int{0, 1}}},
		Lags: []Lag{{Before: 0, After: 1, Least: 1, Opens: []int{1}, Bounded: true, Greatest: 5, Repair: &Repair{Long: 1, Cost: 3}},
			{Before: 1, After: 2, Least: 0, Ripe: []int{3, -1}, Need: 4, Bounded: true, Greatest: 30}},
		Tables: [][]Slot{table(func(s Slot) Slot { return max(s, 6) }), table(func(s Slot) Slot { return s + 2 }), table(func(s Slot) Slot { return s + 6 }), table(func(s Slot) Slot { return s })},
	}
	good := solve(t, context.Background(), p, Effort{Rounds: 2})
	if faults := Check(p, good); len(faults) > 0 || good.Starts[2].Mode < 0 {
		t.Fatal(faults, good.Starts)
	}
	at := func(i int, s Slot) func(*Problem, *Result) {
		return func(_ *Problem, r *Result) {
			r.Starts[i].Finish += s - r.Starts[i].Start
			r.Starts[i].Start, r.Starts[i].Parts = s, nil
		}
	}
	for name, c := range map[string]struct {
		change func(p *Problem, r *Result)
		want   string
	}{
		"release":   {at(0, 3), "before it may"},
		"table":     {at(0, 5), "does not open at 5"},
		"finish":    {func(_ *Problem, r *Result) { r.Starts[0].Finish++ }, "slots of work"},
		"lag":       {at(1, good.Starts[0].Finish), "slots after"},
		"opens":     {at(1, good.Starts[0].Finish+1), "opens at"},
		"greatest":  {at(1, good.Starts[0].Finish+6), "has no repair"},
		"hard":      {at(2, 56), "too late after"},
		"ripe":      {at(2, good.Starts[1].Finish), "of 4 gained"},
		"crew":      {func(p *Problem, _ *Result) { p.Crews[0].Hours[0].N = 0 }, "1 of 0 at"},
		"mover":     {func(_ *Problem, r *Result) { r.Stays[0].Mover = 0 }, "is moved by crew 0"},
		"lift":      {func(p *Problem, _ *Result) { p.Crews[1].Hours[0].N = 0 }, "crews[1]: 1 of 0"},
		"soak":      {func(_ *Problem, r *Result) { r.Stays[0].From = good.Starts[0].Start - 3 }, "has soaked"},
		"keeps":     {func(_ *Problem, r *Result) { r.Stays[0].To = good.Starts[1].Finish + 5 }, "is not in one place"},
		"room":      {func(p *Problem, _ *Result) { p.Places[0].Room = 0 }, "too full"},
		"shut":      {func(p *Problem, _ *Result) { p.Places[0].Shut = []Span{{good.Starts[1].Start, 55}} }, "which is shut"},
		"moved":     {func(p *Problem, _ *Result) { p.Places[0].Shut = []Span{{good.Stays[0].From, good.Stays[0].From + 1}} }, "is moved at|moved at"},
		"air":       {func(p *Problem, _ *Result) { p.Tasks[0].Modes[0].Sides[0].Past = 50 }, "other side of air 0"},
		"elsewhere": {func(_ *Problem, r *Result) { r.Stays[0].Place = 1 }, "is done in place 0"},
		"half":      {func(_ *Problem, r *Result) { r.Starts[1] = Start{Mode: -1} }, "only 1 of 2 tasks"},
		"order":     {at(1, good.Starts[0].Start), "before task 0 is done"},
		"held":      {func(p *Problem, _ *Result) { p.Owners[0].Held = 59 }, "held until 59"},
		"term":      {func(_ *Problem, r *Result) { r.Terms[0].Amount++ }, "lateness is"},
		"sum":       {func(_ *Problem, r *Result) { r.Objective++ }, "the terms are"},
		"bound":     {func(_ *Problem, r *Result) { r.Bound = r.Objective + 1 }, "is above"},
		"mode":      {func(_ *Problem, r *Result) { r.Starts[0].Mode = 4 }, "mode 4"},
		"short":     {func(_ *Problem, r *Result) { r.Starts = r.Starts[:1] }, "1 for 3 tasks"},
		"pause": {func(_ *Problem, r *Result) {
			s := &r.Starts[2]
			s.Parts, s.Finish = []Span{{s.Start, s.Start + 2}, {s.Start + 3, s.Start + 5}}, s.Start+5
		}, "with no need"},
		"part": {func(_ *Problem, r *Result) {
			s := &r.Starts[2]
			s.Parts, s.Finish = []Span{{s.Start, s.Start + 1}, {s.Start + 2, s.Start + 5}}, s.Start+5
		}, "is shorter than 2"},
	} {
		q, r := p, good
		q.Crews = []Crew{{Hours: append([]Level(nil), p.Crews[0].Hours...)}, {Hours: append([]Level(nil), p.Crews[1].Hours...)}}
		q.Places, q.Owners, q.Tasks = append([]Place(nil), p.Places...), append([]Owner(nil), p.Owners...), append([]Task(nil), p.Tasks...)
		q.Tasks[0].Modes = append([]Mode(nil), p.Tasks[0].Modes...)
		q.Tasks[0].Modes[0].Sides = append([]Side(nil), p.Tasks[0].Modes[0].Sides...)
		r.Starts, r.Stays, r.Terms = append([]Start(nil), good.Starts...), append([]Stay(nil), good.Stays...), append([]Term(nil), good.Terms...)
		c.change(&q, &r)
		found := false
		for _, want := range strings.Split(c.want, "|") {
			found = found || strings.Contains(strings.Join(Check(q, r), "\n"), want)
		}
		if !found {
			t.Errorf("%s: %v, want %q", name, Check(q, r), c.want)
		}
	}
}
