package planner

import (
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// boat takes in one of 12 to 25 m: nearly half are here and underway, the others
// come over the next four weeks. What it is promised for leaves it its work and
// some slack, of a few tightly, now and then too little.
func (g *generator) boat(i, boats int) {
	length := 12 + 13*math.Pow(g.luck.Float64(), 1.5)
	beam := length*0.22 + 1.1
	b := config.Boat{
		Name:   fmt.Sprintf("boat %03d", i+1),
		Length: unit.Of(unit.Length(length)), Beam: unit.Of(unit.Length(beam)), Height: unit.Of(unit.Length(2.4 + 0.27*length)),
		Build:  []string{"laminate", "cored", "aluminium", "steel", "wood"}[g.luck.IntN(5)],
		Colour: []string{"white", "white", "light", "medium", "dark"}[g.luck.IntN(5)],
	}
	add := func(name, system string, size float64, after string) {
		b.Areas = append(b.Areas, config.Area{Name: name, System: system, Size: unit.Of(unit.Area(math.Round(size))), After: after})
	}
	system, days := "topcoat only", 7.0
	if g.often(0.6) {
		system, days = "refinish", 13
	}
	add("topsides", system, length*beam*g.between(0.75, 0.9), "")
	if g.often(0.45) {
		add("house", []string{"topcoat only", "two primers"}[g.luck.IntN(2)], length*beam*0.4, []string{"", "topsides"}[g.luck.IntN(2)])
		days += 3
	}
	if g.often(0.42) {
		add("deck", "two primers", length*beam*0.5, "")
		days += 3
	}
	if g.often(0.6) {
		add("boot stripe", "stripe", length*0.4, "topsides")
		days += 3
	}
	arrives := 0
	if here := g.often(0.45); here {
		arrives = -1 - g.luck.IntN(10)
		b.Arrives = g.days(arrives, 8)
		g.underway(&b)
	} else {
		arrives = g.luck.IntN(28*min(boats, 12)/12 + 1)
		b.Arrives = g.days(arrives, 7+g.luck.IntN(9))
		if arrives == 0 {
			b.Arrives = g.days(1, 8)
		}
	}
	slack := g.between(0.3, 1.6) * days
	b.Promised = g.days(max(2, arrives+int(days+slack)), 12)
	g.p.Boats = append(g.p.Boats, b)
}

// underway puts a boat where there is room, reports what was done there, and
// perhaps what is going on: running, paused, held, pinned, rejected, can't.
func (g *generator) underway(b *config.Boat) {
	place := g.room(b)
	arrived := g.p.At.Add(-time.Duration(24+g.luck.IntN(200)) * time.Hour)
	g.press(Press{Kind: Arrived, Key: Key{Boat: b.Name}, Place: place.Name, Happened: arrived})
	b.Place = place.Name
	system, _ := g.p.Yard.System(b.Areas[0].System)
	stages := system.Stages
	clean := slices.IndexFunc(stages, func(s config.Stage) bool { return s.Block == "paint" })
	inspect := slices.IndexFunc(stages, func(s config.Stage) bool { return s.Kind == config.Inspect })
	done := 0
	switch place.Kind {
	case config.Booth:
		done = clean + g.luck.IntN(inspect-clean)
	case config.Shed, config.Tent, config.Slip:
		done = g.luck.IntN(clean)
	default:
		done = []int{0, clean}[g.luck.IntN(2)]
	}
	ended := g.reported(b, stages[:done], place)
	if len(ended) > 0 && stages[done-1].Kind == config.Coat {
		g.clock(Key{b.Name, "topsides", stages[done-1].Name}, stages[done-1].Card, ended[done-1])
	} else if k := lastCoat(stages[:done]); k >= 0 {
		g.clock(Key{b.Name, "topsides", stages[k].Name}, stages[k].Card, ended[k])
	}
	g.said(b, stages, done, place)
}

func lastCoat(stages []config.Stage) int {
	for i := len(stages) - 1; i >= 0; i-- {
		if stages[i].Kind == config.Coat {
			return i
		}
	}
	return -1
}

// room is a place with room for a boat: a working place more often than not.
func (g *generator) room(b *config.Boat) config.Place {
	var work, wait []config.Place
	for _, p := range g.p.Yard.Places {
		switch {
		case !p.Fits(*b) || g.in[p.Name] >= max(p.Boats, 1):
		case p.Kind == config.Standing:
			wait = append(wait, p)
		default:
			work = append(work, p)
		}
	}
	if len(work) == 0 || g.often(0.3) {
		work = wait
	}
	place := work[g.luck.IntN(len(work))]
	g.in[place.Name]++
	return place
}

func (g *generator) press(p Press) {
	p.ID, p.By, p.Entered = int64(len(g.p.Presses)+1), "foreman", p.Happened
	g.p.Presses = append(g.p.Presses, p)
}

// reported has the stages finished, the last of them hours ago, each of the ones
// before it as long before as it takes with its cure.
func (g *generator) reported(b *config.Boat, stages []config.Stage, place config.Place) []time.Time {
	ended := make([]time.Time, len(stages))
	at := g.p.At.Add(-time.Duration(5+g.luck.IntN(60*14)) * time.Minute)
	for i := len(stages) - 1; i >= 0; i-- {
		ended[i] = at
		before := 2 + 4*g.luck.Float64()
		if i > 0 && stages[i-1].Kind == config.Coat {
			before = 20 + 6*g.luck.Float64() // it has cured
		}
		at = at.Add(-time.Duration(before * float64(time.Hour))).Truncate(time.Minute)
	}
	for i, s := range stages {
		g.press(Press{Kind: Finished, Key: Key{b.Name, "topsides", s.Name}, Place: place.Name, Happened: ended[i]})
	}
	return ended
}

// clock is a coat's, cured since in the air of a booth.
func (g *generator) clock(k Key, name string, coated time.Time) {
	card, _ := g.p.Yard.Card(name)
	surface := unit.Temperature(g.between(17, 21))
	c := card.Cure.Start(coated)
	for c.At.Before(g.p.At) {
		next := c.At.Add(5 * time.Minute)
		if next.After(g.p.At) {
			next = g.p.At
		}
		c = card.Cure.Run(c, next, conditions.Exposure{Coldest: surface, Warmest: surface + 1, Humidity: 50})
	}
	g.p.Coats = append(g.p.Coats, CoatNow{Key: k, Clock: c})
}

// said is what people say of the next stage, if they say anything.
func (g *generator) said(b *config.Boat, stages []config.Stage, done int, place config.Place) {
	if done >= len(stages) {
		return
	}
	s := stages[done]
	key := Key{b.Name, "topsides", s.Name}
	ago := func(minutes int) time.Time { return g.p.At.Add(-time.Duration(minutes) * time.Minute) }
	fits := slices.Contains(s.Places, place.Kind)
	// What a coat must wait for is not begun before its time.
	cured := done == 0 || stages[done-1].Kind != config.Coat
	switch n := g.luck.IntN(12); {
	case n < 5 && fits && cured:
		g.press(Press{Kind: Started, Key: key, Happened: ago(4)})
	case n == 5 && fits && cured && s.Interruptible():
		g.press(Press{Kind: Started, Key: key, Happened: ago(4)})
		g.press(Press{Kind: Paused, Key: key, Happened: ago(1)})
	case n == 6:
		g.press(Press{Kind: Held, Key: key, Happened: ago(1), Note: "the owner wants to see it"})
	case n == 7:
		until, _ := g.p.Yard.Time(g.days(3, 9))
		g.press(Press{Kind: Pinned, Key: key, Happened: ago(1), Until: until})
	case n >= 8 && done > 0 && stages[done-1].Kind == config.Coat:
		g.press(Press{Kind: Rejected, Key: Key{b.Name, "topsides", stages[done-1].Name}, Happened: ago(1), Note: "runs"})
		g.p.Coats = slices.DeleteFunc(g.p.Coats, func(c CoatNow) bool { return c.Key.Boat == b.Name })
	case n == 9:
		g.press(Press{Kind: Cant, Key: key, Happened: ago(1), Note: "no paper"})
	}
}

// TestGeneratedYards: one number and one seed give one yard, bit for bit, which the
// yard's own check finds no fault with; it is of the size that it is said to be.
func TestGeneratedYards(t *testing.T) {
	one, errA := json.Marshal(generated(t, 5, 1))
	two, errB := json.Marshal(generated(t, 5, 1))
	if errA != nil || errB != nil || string(one) != string(two) {
		t.Fatalf("two yards of one seed differ (%v, %v)", errA, errB)
	}
	if other, _ := json.Marshal(generated(t, 5, 2)); string(one) == string(other) {
		t.Error("two seeds give one yard")
	}
	seen := map[string]bool{}
	for seed := range uint64(4) {
		sized(t, generated(t, 40, seed), seen)
	}
	for _, what := range []string{"here", "done", "running", "paused", "held", "pinned", "can't", "rejected"} {
		if !seen[what] {
			t.Errorf("nothing in four large yards is %s", what)
		}
	}
}

// sized: forty boats make 12 places, 6 crews and some 700 open stages; what is going on there is noted in seen.
func sized(t *testing.T, p Problem, seen map[string]bool) {
	for _, f := range p.Yard.Check() {
		if !f.Warning {
			t.Errorf("%s: %s: %s", p.Yard.Name, f.Path, f.What)
		}
	}
	work, open := Replay(p.Yard.WithDefaults(), p.Boats, p.Presses), 0
	for _, b := range p.Boats {
		seen["here"] = seen["here"] || !work.Place(b.Name).Arrived.IsZero()
		if !slices.ContainsFunc(p.Yard.Places, func(x config.Place) bool { return x.Kind == config.Booth && x.Fits(b) }) {
			t.Errorf("%s: %s fits no booth", p.Yard.Name, b.Name)
		}
		for _, a := range b.Areas {
			for _, s := range work.Stages(b.Name, a.Name) {
				if !s.Done {
					open++
				}
				for what, is := range map[string]bool{
					"done": s.Done, "running": s.Running && !s.Paused, "paused": s.Paused, "held": s.Held != "",
					"pinned": !s.Pinned.IsZero(), "can't": s.Cant != "", "rejected": s.Rejected != "",
				} {
					seen[what] = seen[what] || is
				}
			}
		}
	}
	if len(p.Yard.Places) != 12 || len(p.Yard.Crews) != 6 || open < 600 || open > 800 || len(work.Strays) > 0 {
		t.Errorf("%s: %d places, %d crews, %d open stages, %d presses of nothing", p.Yard.Name, len(p.Yard.Places), len(p.Yard.Crews), open, len(work.Strays))
	}
}
