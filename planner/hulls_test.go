package planner

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// outdoors gives a problem one coat on the slip, in weather that change makes of
// each hour.
func outdoors(p *Problem, change func(hour float64, w *conditions.Weather)) {
	only(p, coatIn(config.Slip, "coat", "primer"))
	for i := range p.Boats {
		p.Boats[i].Place = "slip"
	}
	for i := range p.Outdoors {
		w := &p.Outdoors[i]
		w.Cloud, w.AirError, w.DewError = 0, 0.1, 0.1
		change(math.Mod(float64(w.At.Hour())+1, 24), w)
	}
}

// A hull in the sun is as warm as its colour makes it: the same limit on the surface
// leaves a white one its day and shuts a dark one out at noon.
func TestColourDecidesInTheSun(t *testing.T) {
	start := func(colour string) time.Time {
		p := problem(fleet(1)...)
		p.Boats[0].Colour = colour
		p.Yard.Cards[0].Limits = config.Limits{SurfaceMax: degrees(30)}
		p.Yard.Cards[0].Protected = config.Limits{SurfaceMax: degrees(60)}
		p.Yard.Crews[1].Shifts = week("0 11 * * 1-5", 9)
		p.Yard.Places[2].Heading = 270 // port looks south
		outdoors(&p, func(_ float64, w *conditions.Weather) { w.Air, w.DewPoint = 20, 8 })
		return stageOf(t, solved(t, p), "boat 01", "coat").Start
	}
	white, dark := start("white"), start("dark")
	if want := local(t, "2026-05-04 11:00"); !white.Equal(want) {
		t.Errorf("the white hull's coat starts %v, want %v", white, want)
	}
	if dark.Sub(white) < 2*time.Hour {
		t.Errorf("the dark hull's coat starts %v, at noon as the white one's", dark)
	}
}

// Under a clear sky the deck dews and has to dry in the morning; the sides beside it
// need not.
func TestDeckDriesLaterThanSides(t *testing.T) {
	start := func(area string) time.Time {
		p := problem(fleet(1)...)
		p.Boats[0].Areas[0].Name = area
		p.Yard.Cards[0].Limits = config.Limits{AirMin: degrees(0)}
		p.Yard.Cards[0].Protected = config.Limits{AirMin: degrees(0)}
		outdoors(&p, func(hour float64, w *conditions.Weather) {
			w.Air = unit.Temperature(14 + 4*math.Cos(2*math.Pi*(hour-15)/24))
			w.DewPoint, w.Wind = 8, 1.5
		})
		return stageOf(t, solved(t, p), "boat 01", "coat").Start
	}
	sides, deck := start("topsides"), start("deck")
	if !deck.After(sides) {
		t.Errorf("deck %v, topsides %v: no later", deck, sides)
	}
	if deck.Sub(sides) > 6*time.Hour {
		t.Errorf("deck %v, topsides %v: it does not dry in the morning", deck, sides)
	}
}

// A span of hours that each have chance enough is not likely enough as a whole.
func TestSpanIsJudgedAsOne(t *testing.T) {
	coat := func(dew unit.Temperature) Planned {
		p := problem(fleet(1)...)
		only(&p, coatIn(config.Shed, "coat", "primer"))
		p.Boats[0].Place = "shed"
		for i := range p.Outdoors {
			w := &p.Outdoors[i]
			w.Air, w.DewPoint, w.AirError, w.DewError, w.Sure = 20, dew, 1, 1, conditions.Foretold
		}
		return stageOf(t, solved(t, p), "boat 01", "coat")
	}
	// 1 K inside the margin of 3 K with an error of about 1 K is 84 % in each hour.
	if s := coat(16); s.placed() {
		t.Errorf("planned %v, %s, with a chance of %.2f", s.Start, s.State, s.Chance)
	} else if len(s.Waits) == 0 || s.Waits[0].Evidence.Bound.Of != conditions.OfMargin {
		t.Errorf("nothing says why: %+v", s.Waits)
	}
	s := coat(14.6)
	if s.State != Firm {
		t.Fatalf("2.4 K inside: %s", s.State)
	}
	if each := conditions.Chance(2.4 / 0.99); !(s.Chance < each) || s.Chance < 0.8 {
		t.Errorf("the span's chance is %.3f, each hour's %.3f", s.Chance, each)
	}
}

// A tent's film drips on a clear damp night: the coat's protection must be over by
// then, or the film stay above the dew point.
func TestTentDrips(t *testing.T) {
	state := func(cloud unit.Share) State {
		p := problem(fleet(1)...)
		only(&p, coatIn(config.Tent, "coat", "primer"))
		tent := p.Yard.Places[2]
		tent.Name, tent.Kind = "tent", config.Tent
		p.Yard.Places = append(p.Yard.Places, tent)
		p.Boats[0].Place = "tent"
		p.Yard.Cards[0].Limits = config.Limits{AirMin: degrees(0)}
		p.Yard.Cards[0].Cure.Protected = at(30)
		for i := range p.Outdoors {
			w := &p.Outdoors[i]
			w.Air, w.DewPoint, w.Wind, w.Cloud, w.AirError, w.DewError, w.Sure = 12, 9, 1, cloud, 0.1, 0.1, conditions.Foretold
		}
		return stageOf(t, solved(t, p), "boat 01", "coat").State
	}
	if got := state(1); got != Firm {
		t.Errorf("under cloud: %s", got)
	}
	if got := state(0); got != Unplaced {
		t.Errorf("under a clear sky: %s", got)
	}
}

// Each protection ends at its own milestone: rain while a coat is not touch-dry, on
// a slip, and cold until it is protected.
func TestProtectionsEndByThemselves(t *testing.T) {
	rain := unit.Of(unit.Share(0.1))
	plan := func(until conditions.Milestone) Planned {
		p := problem(fleet(1)...)
		p.Yard.Cards[0].Limits = config.Limits{AirMin: degrees(0)}
		p.Yard.Cards[0].Protection = []config.Protect{
			{Until: until, Limits: config.Limits{RainMax: &rain}},
			{Until: conditions.Protected, Limits: config.Limits{AirMin: degrees(0)}},
		}
		p.Yard.Cards[0].Cure.Protected = at(30)
		outdoors(&p, func(hour float64, w *conditions.Weather) {
			w.RainChance = 0
			if hour < 6 {
				w.RainChance = 0.9
			}
		})
		return stageOf(t, solved(t, p), "boat 01", "coat")
	}
	if s := plan(conditions.TouchDry); s.State != Firm || s.Protected.Sub(s.End) < 29*time.Hour {
		t.Errorf("rain until it is touch-dry: %s, protected %v after its end", s.State, s.Protected.Sub(s.End))
	}
	if s := plan(conditions.Protected); s.placed() && s.State == Firm {
		t.Errorf("rain until it is protected, which takes a night: %s at %v", s.State, s.Start)
	}
}

// The paint from a cold store, and a surface that cools too fast, shut a coat out.
func TestPaintAndRates(t *testing.T) {
	coat := func(change func(p *Problem, limits *config.Limits)) Planned {
		p := problem(fleet(1)...)
		only(&p, coatIn(config.Shed, "coat", "primer"))
		p.Boats[0].Place = "shed"
		for i := range p.Outdoors {
			w := &p.Outdoors[i]
			hour := math.Mod(float64(w.At.Hour())+1, 24)
			w.AirError, w.DewError, w.Sure = 0.1, 0.1, conditions.Foretold
			w.Air, w.DewPoint = unit.Temperature(15+8*math.Cos(2*math.Pi*(hour-12)/24)), 2
		}
		limits := config.Limits{AirMin: degrees(0)}
		p.Yard.Cards[0].Protected = limits
		change(&p, &limits)
		p.Yard.Cards[0].Limits = limits
		return stageOf(t, solved(t, p), "boat 01", "coat")
	}
	even := unit.Of(unit.TempDiff(0))
	store := func(c float64) State {
		return coat(func(p *Problem, l *config.Limits) { l.PaintBelow, p.Yard.PaintStore = &even, celsius(c) }).State
	}
	if cold, warm := store(5), store(30); cold != Unplaced || warm != Firm {
		t.Errorf("paint of 5 °C: %s, of 30 °C: %s", cold, warm)
	}
	falls := unit.Of(unit.Rate(0.2))
	p := coat(func(p *Problem, l *config.Limits) {
		l.Falls = &falls
		p.Yard.Crews[1].Shifts = week("0 13 * * 1-5", 20)
	})
	// The air falls from noon to midnight; a hull follows an hour or two later.
	if hour := math.Mod(float64(p.Start.Hour())+1, 24); p.State != Firm || hour > 13 && hour < 23 {
		t.Errorf("%s at %v, while the surface cools", p.State, p.Start)
	}
}

// A booth with a fresh coat in it goes on at what it is measured at; an empty one is
// let down and will be heated.
func TestBoothThatDoesNotHold(t *testing.T) {
	launch := func(air unit.Temperature, coated time.Duration) time.Time {
		p := problem(fleet(1)...)
		coat := coatIn(config.Booth, "coat", "topcoat")
		only(&p, coat, config.Stage{Name: "cure", Kind: config.Hold, Until: conditions.Launch, Block: "paint", Places: []config.PlaceKind{config.Booth}})
		for i := range p.Yard.Cards {
			p.Yard.Cards[i].Cure.Launch = conditions.Table{{At: celsius(10), Takes: hours(14 * 24)}, {At: celsius(30), Takes: hours(3.5 * 24)}}
		}
		p.Presses = doneUpTo(p, "boat 01", 1, p.At.Add(-coated))
		m := conditions.Moment{At: p.At, Air: air, DewPoint: 5, Coldest: air, Warmest: air, Sure: conditions.Measured}
		p.Measured = []PlaceNow{{Place: "booth 1", Moment: m}}
		p.Hulls = []HullNow{{Boat: "boat 01", Moment: m}}
		for i := range p.Outdoors {
			p.Outdoors[i].Air, p.Outdoors[i].DewPoint = 5, 2
		}
		return stageOf(t, solved(t, p), "boat 01", "cure").End
	}
	warm, cold := launch(22, time.Hour), launch(12, time.Hour)
	// Twice the time for each 10 C less: 6.1 days at 22 C, 12.2 at 12 C.
	if d := warm.Sub(monday).Hours() / 24; d < 5.8 || d > 6.3 {
		t.Errorf("at 22 °C it cures in %.1f days", d)
	}
	if d := cold.Sub(monday).Hours() / 24; d < 11.5 || d > 12.6 {
		t.Errorf("measured at 12 °C it cures in %.1f days", d)
	}
	if old := launch(12, 72*time.Hour); old.Sub(monday) > 7*24*time.Hour {
		t.Errorf("three days after the coat a cold booth is taken for one that stays cold: %v", old)
	}
}

// A boat that stays in its booth from one block to the next is cured in it all along,
// as the search has it; one that came back later begins anew.
func TestBoothCuresFromBlockToBlock(t *testing.T) {
	p := problem(fleet(1)...)
	b, from := p.Boats[0], p.At.Truncate(step)
	hour := func(h int) time.Time { return from.Add(time.Duration(h) * time.Hour) }
	for second, want := range map[int]int{10: curing, 14: idle} {
		c := &checker{p: p, yard: p.Yard.WithDefaults(), work: Replay(p.Yard, p.Boats, nil), plan: Plan{
			At: p.At, Until: hour(48),
			Stages: []Planned{{Key: Key{b.Name, "topsides", "prime"}, Kind: config.Coat, State: Firm, Place: "booth 1", Start: hour(2), End: hour(4)}},
			Blocks: []Block{
				{Boat: b.Name, Place: "booth 1", From: hour(1), To: hour(10)},
				{Boat: b.Name, Place: "booth 1", From: hour(second), To: hour(30)},
			},
		}}
		_, mode := c.stands(b)
		at := func(h int) int { return mode[h*int(perHour)] }
		if at(1) != idle || at(3) != spraying || at(6) != curing || at(20) != want {
			t.Errorf("second block from hour %d: modes %d, %d, %d, then %d, want %d", second, at(1), at(3), at(6), at(20), want)
		}
	}
}

// Work that could begin earlier and would end later stays where it is: what follows it
// has begun by then.
func TestNoEarlierStartThatEndsLater(t *testing.T) {
	m, err := newModel(problem(fleet(1)...))
	if err != nil {
		t.Fatal(err)
	}
	s := m.best()
	s.settle()
	p := s.areas[0].done[0]
	earlier := *p
	earlier.start--
	if r := s.keepsNext(0, p, &earlier, nil); r.refused() {
		t.Fatalf("an earlier start that ends no later is refused: %s", r.cause)
	}
	earlier.end++
	if r := s.keepsNext(0, p, &earlier, nil); r.cause != KeptClose || r.other != s.areas[0].done[1].job.key {
		t.Errorf("an earlier start that ends later: %q, for %v", r.cause, r.other)
	}
}
