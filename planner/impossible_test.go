package planner

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// impossible orders: what is wrong with each, and the facts that must be told.
var impossible = map[string]struct {
	change func(*Problem)
	stage  string
	facts  []Fact // Of, Name, Note and Lacks
}{
	"a boat too long": {func(p *Problem) { p.Boats[0].Length = unit.Of(unit.Length(31)) }, "sand",
		[]Fact{{Of: TooSmall, Name: "shed", Note: "short", Lacks: 2}, {Of: TooSmall, Name: "slip", Note: "short", Lacks: 2}}},
	"a boat too long and too wide for the booth": {func(p *Problem) {
		p.Yard.Places[0].Length, p.Yard.Places[0].Width = unit.Of(unit.Length(14)), unit.Of(unit.Length(4))
	}, "mask", []Fact{{Of: TooSmall, Name: "booth 1", Note: "short and too narrow", Lacks: 2}}},
	"no booth": {func(p *Problem) { p.Yard.Places = p.Yard.Places[1:] }, "mask", []Fact{{Of: NoSuchPlace, Name: "booth"}}},
	// Ten hours, and the half hour's wipe that lasts two, in eight and a half.
	"longer than every shift": {func(p *Problem) {
		p.Yard.Systems[0].Stages[3].Takes, p.Yard.Systems[0].Stages[3].Passes = hours(10), 1
	}, "prime", []Fact{{Of: ShortShift, Name: "paint", Lacks: 2}}},
	"two crews whose shifts are too short": {func(p *Problem) {
		p.Yard.Systems[0].Stages[3].Takes, p.Yard.Systems[0].Stages[3].Passes = hours(10), 1
		evening := p.Yard.Crews[1]
		evening.Name, evening.Shifts = "evening", week("0 16 * * 1-5", 4)
		p.Yard.Crews = append(p.Yard.Crews, evening)
	}, "prime", []Fact{{Of: ShortShift, Name: "paint", Lacks: 2}, {Of: ShortShift, Name: "evening", Lacks: 6}}},
	"nobody can": {func(p *Problem) { p.Yard.Crews[1].Skills = nil }, "wipe", []Fact{{Of: NoSkill, Name: "paint", Lacks: 2}}},
	"too few":    {func(p *Problem) { p.Yard.Systems[0].Stages[3].People = 5 }, "prime", []Fact{{Of: TooFew, Name: "paint", Lacks: 3}}},
	"never warm enough": {func(p *Problem) { p.Yard.Cards[0].Limits.SurfaceMin = degrees(50) }, "prime",
		[]Fact{{Of: OfLimit, Name: "card primer rev 1"}}},
	"a card that is silent in the booth": {func(p *Problem) {
		p.Yard.Cards[0].Cure.Recoat[0].At = celsius(40)
	}, "finish", []Fact{{Of: CardSilent, Name: "card primer rev 1", Note: "recoat"}}},
	"a cure longer than the plan": {func(p *Problem) {
		p.Yard.Cards[0].Cure.Recoat, p.Yard.Cards[0].Cure.LastRecoat = at(1000), nil
	}, "finish", []Fact{{Of: CuresLate, Name: "card primer rev 1", Note: "recoat"}}},
	"a wipe that lasts shorter than what lies between": {func(p *Problem) {
		stages := p.Yard.Systems[0].Stages
		stages[1].Life = hours(0.25) // the mask; the wipe after it takes half an hour
	}, "mask", []Fact{{Of: ShortLife, Name: "mask", Lacks: 0.25}}},
	"held": {func(p *Problem) {
		p.Presses = append(p.Presses, Press{Kind: Held, Key: Key{"boat 01", "topsides", "mask"}, Happened: p.At, By: "one", Note: "the owner chooses"})
	}, "mask", []Fact{{Of: PersonsWord, Name: "one", Note: "the owner chooses"}}},
	"more work than the plan is long": {func(p *Problem) { p.Horizon = 6 * time.Hour }, "mask", []Fact{{Of: PlanEnds}}},
	"it arrives after the plan's end": {func(p *Problem) { p.Boats[0].Arrives = "2026-09-01" }, "sand", []Fact{{Of: ArrivesLate, Name: "boat 01"}}},
}

// Every impossible order is answered with the facts that make it so, and with
// any one of them otherwise by what it lacks, and by no less, the stage has a start.
func TestImpossible(t *testing.T) {
	for name, c := range impossible {
		t.Run(name, func(t *testing.T) {
			p := problem(fleet(1)...)
			p.Horizon = 9 * 24 * time.Hour
			c.change(&p)
			t.Parallel()
			k := Key{"boat 01", "topsides", c.stage}
			facts := Impossible(p, k)
			for _, f := range facts {
				t.Logf("%s %s %s lacks %g %s", f.Of, f.Name, f.Note, f.Lacks, f.Unit)
			}
			if len(facts) != len(c.facts) {
				t.Fatalf("%d facts, want %d", len(facts), len(c.facts))
			}
			for i, f := range facts {
				want := c.facts[i]
				if f.Of != want.Of || f.Name != want.Name || f.Note != want.Note {
					t.Errorf("fact %d: %+v, want %+v", i, f, want)
				}
				if want.Lacks > 0 && (f.Lacks < want.Lacks-1e-6 || f.Lacks > want.Lacks+0.1) {
					t.Errorf("%s %s lacks %g, want %g", f.Of, f.Name, f.Lacks, want.Lacks)
				}
			}
		})
	}
}

// Of orders wrong in several ways at once the set is a smallest one: it alone leaves the
// stage without a start, and any one of its facts otherwise by what it lacks, and
// by no less, gives one.
func TestImpossibleIsMinimal(t *testing.T) {
	var names []string
	for name := range impossible {
		names = append(names, name)
	}
	slices.Sort(names)
	for seed := range uint64(4) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			draw := rand.New(rand.NewPCG(seed, 0))
			p := problem(fleet(1)...)
			p.Horizon = 8 * 24 * time.Hour
			for range 3 {
				name := names[draw.IntN(len(names))]
				if name != "no booth" { // would leave the next no first place to change
					impossible[name].change(&p)
				}
			}
			plan, err := Solve(p)
			if err != nil {
				t.Fatal(err)
			}
			Explain(p, plan.Stages)
			told := 0
			for _, s := range plan.Stages {
				if len(s.Impossible) > 0 {
					told++
					minimal(t, p, s.Key, s.Impossible)
				}
			}
			if told == 0 {
				t.Error("an impossible order is not answered")
			}
		})
	}
}

func minimal(t *testing.T, p Problem, k Key, facts []Fact) {
	solo, _ := p.alone(k)
	x := &explanation{p: solo, k: k, all: candidates(solo, k)}
	if x.always = []int{len(x.all) - 1}; x.stuck(x.always) {
		x.always = nil
	}
	var set []int
	for i, c := range x.all {
		if slices.ContainsFunc(facts, func(f Fact) bool { return f.Of == c.Of && f.Name == c.Name && f.Note == c.Note && f.Bound == c.Bound }) {
			set = append(set, i)
		}
	}
	stand := slices.Concat(set, x.always)
	if len(set) != len(facts) || !x.stuck(stand) {
		t.Errorf("%s: %v is not enough to leave it without a start", k, facts)
	}
	for n, i := range set {
		if x.stuck(slices.DeleteFunc(slices.Clone(stand), func(o int) bool { return o == i })) {
			t.Errorf("%s: %s %s is not needed", k, facts[n].Of, facts[n].Name)
		}
		c := x.all[i]
		if c.Unit == "" {
			continue
		}
		steps := int(math.Round(facts[n].Lacks / c.step))
		alone := func(steps int) bool {
			_, ok := starts(x.p, []edit{c.edit(steps)}, k)
			return ok
		}
		beside := func(steps int) bool {
			_, ok := starts(x.p, append(x.but(stand), c.edit(steps)), k)
			return ok
		}
		if alone(c.most) {
			beside = alone
		}
		if !beside(steps) || beside(steps-1) {
			t.Errorf("%s: %s %s does not lack %g %s", k, c.Of, c.Name, facts[n].Lacks, c.Unit)
		}
	}
}
