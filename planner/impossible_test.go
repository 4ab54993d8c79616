package planner

import (
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
	}, "finish", []Fact{{Of: PlanEnds}, {Of: CuresLate, Name: "card primer rev 1", Note: "recoat"}}},
	"a wipe that lasts shorter than what lies between": {func(p *Problem) {
		stages := p.Yard.Systems[0].Stages
		stages[1].Life = hours(0.25) // the mask; the wipe after it takes half an hour
	}, "mask", []Fact{{Of: ShortLife, Name: "mask", Lacks: 0.25}}},
	"held": {func(p *Problem) {
		p.Presses = append(p.Presses, Press{Kind: Held, Key: Key{"boat 01", "topsides", "mask"}, Happened: p.At, By: "one", Note: "the owner chooses"})
	}, "mask", []Fact{{Of: PersonsWord, Name: "one", Note: "the owner chooses"}}},
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
