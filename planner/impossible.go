package planner

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// Fact is one of the facts that together leave a stage without a start. Were any
// one of them otherwise by what it lacks, the stage would have one.
type Fact struct {
	Of    FactKind         `json:"of"`
	Name  string           `json:"name,omitempty"`  // of the place, crew, card, stage, boat or person
	Bound conditions.Bound `json:"bound,omitzero"`  // of a limit
	Note  string           `json:"note,omitempty"`  // which measure of a place, which milestone of a card, a person's reason
	Wants float64          `json:"wants,omitempty"` // what the fact stands at or what is asked of it, in Unit; none where there is no figure
	Lacks float64          `json:"lacks,omitempty"` // the least by which it would have to differ, in Unit
	Unit  string           `json:"unit,omitempty"`  // m, h, people, K, %, m/s, K/h
	When  time.Time        `json:"when,omitzero"`   // of other boats: when it would start alone
}

// FactKind is the closed set of such facts.
type FactKind string

// Facts that leave a stage without a start.
const (
	TooSmall    FactKind = "place too small"
	NoSuchPlace FactKind = "no such place"
	NoSkill     FactKind = "nobody has the skill"
	TooFew      FactKind = "too few people"
	ShortShift  FactKind = "shift too short"
	Closed      FactKind = "closed"
	OfLimit     FactKind = "limit"
	WetHull     FactKind = "wet hull"
	CuresLate   FactKind = "cures too late"
	CardSilent  FactKind = "card silent at its temperature"
	ClosesEarly FactKind = "recoat closes too early"
	ShortLife   FactKind = "life too short"
	ArrivesLate FactKind = "arrives too late"
	PersonsWord FactKind = "a person's word"
	PlanEnds    FactKind = "the plan ends"
	OtherBoats  FactKind = "other boats"
)

// candidate is a fact that might be one of them, and how it is made otherwise.
type candidate struct {
	Fact
	step  float64 // of an amount, in the fact's unit
	most  int     // steps beyond which it counts as not there
	relax func(p *Problem, by float64)
}

// Impossible is a smallest set of facts that leave a stage without a start within
// the plan even if its boat had the yard to itself: none can be left out of it. It is
// found by trying: whatever is not needed for the stage to stay without a start is
// left out, half of the facts at a time (QuickXplain: Junker, AAAI 2004; from
// memory), and the slack each of the rest lacks is the least change that gives a
// start. With the yard to itself the stage may have one: then the other boats are
// the fact. Nil if the plan gives it a start, or nothing that can be changed would.
//
// Each trial is a plan of one boat, some dozens of them: it is for answers to
// people, not for every cycle.
func Impossible(p Problem, k Key) []Fact {
	solo, ok := p.alone(k)
	if !ok {
		return nil
	}
	if start, ok := starts(solo, nil, k); ok {
		if _, ok := starts(p, nil, k); ok {
			return nil
		}
		return []Fact{{Of: OtherBoats, Name: k.Boat, When: start}}
	}
	x := &explanation{p: solo, k: k, all: candidates(solo, k)}
	set := x.needed()
	facts := make([]Fact, 0, len(set))
	for _, c := range set {
		if c := &x.all[c]; c.Unit != "" { // else it is or it is not
			c.Lacks = x.slack(*c, set)
		}
		facts = append(facts, x.all[c].Fact)
	}
	return facts
}

// explanation is a search for the facts about one stage.
type explanation struct {
	p      Problem // its boat alone
	k      Key
	all    []candidate
	always []int // the facts that stand in every trial
}

// needed are the facts of a smallest set, by index. That the plan ends somewhere
// is one of them only if all else made otherwise is not enough.
func (x *explanation) needed() []int {
	last := len(x.all) - 1 // the plan's end
	facts := make([]int, last)
	for i := range facts {
		facts[i] = i
	}
	if x.always = []int{last}; x.stuck(x.always) {
		if x.always = nil; x.stuck(nil) {
			return nil
		}
		facts = append(facts, last)
	}
	return slices.Sorted(slices.Values(x.among(x.always, false, facts)))
}

// stuck reports whether the stage has no start while only some facts stand as they are.
func (x *explanation) stuck(stand []int) bool {
	_, ok := starts(x.p, x.but(stand), x.k)
	return !ok
}

// but makes all facts otherwise except some.
func (x *explanation) but(stand []int) []edit {
	var edits []edit
	for i, c := range x.all {
		if !slices.Contains(stand, i) {
			edits = append(edits, c.edit(c.most))
		}
	}
	return edits
}

// among are those of the facts that are needed beside the ones that stand; more
// reports that some were just added to these. Earlier facts are preferred.
func (x *explanation) among(stand []int, more bool, facts []int) []int {
	if more && x.stuck(stand) {
		return nil
	}
	if len(facts) <= 1 {
		return facts
	}
	first, second := facts[:len(facts)/2], facts[len(facts)/2:]
	late := x.among(slices.Concat(stand, first), true, second)
	early := x.among(slices.Concat(stand, late), len(late) > 0, first)
	return slices.Concat(early, late)
}

// slack is what a fact of the set lacks, to a thousandth of its unit: all else as
// it stands if that is enough, else with all made otherwise that the set does without.
func (x *explanation) slack(c candidate, set []int) float64 {
	var otherwise []edit
	if _, ok := starts(x.p, []edit{c.edit(c.most)}, x.k); !ok {
		otherwise = x.but(slices.Concat(set, x.always))
	}
	return math.Round(c.step*float64(c.least(x.p, otherwise, x.k))*1000) / 1000
}

// explained is how many stages of a plan are answered at most: each takes about a
// second of trials.
const explained = 8

// Explain answers those of a plan's stages that have no start for a reason of
// their own, not because of another stage: the first few of them.
func Explain(p Problem, stages []Planned) {
	without := map[Key]bool{}
	for _, s := range stages {
		if !s.placed() {
			without[s.Key], without[Key{Boat: s.Key.Boat, Area: s.Key.Area}] = true, true
		}
	}
	n := 0
	for i := range stages {
		s := &stages[i]
		if s.placed() || len(s.Waits) == 0 || without[s.Waits[len(s.Waits)-1].Evidence.Other] {
			continue
		}
		if n++; n > explained {
			return
		}
		s.Impossible = Impossible(p, s.Key)
	}
}

// edit makes one fact otherwise.
type edit func(*Problem)

func (c candidate) edit(steps int) edit {
	return func(p *Problem) { c.relax(p, c.step*float64(steps)) }
}

// least is the fewest steps that give the stage a start.
func (c candidate) least(p Problem, otherwise []edit, k Key) int {
	enough := func(steps int) bool {
		_, ok := starts(p, append(slices.Clone(otherwise), c.edit(steps)), k)
		return ok
	}
	low, high := 0, 1 // it has no start at low
	for high < c.most && !enough(high) {
		low, high = high, min(2*high, c.most)
	}
	for high-low > 1 {
		if mid := (low + high) / 2; enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// starts is when a stage starts with some facts made otherwise; false if it does not.
func starts(p Problem, with []edit, k Key) (time.Time, bool) {
	p = p.loose()
	for _, c := range with {
		c(&p)
	}
	plan, err := Solve(p)
	if err != nil {
		return time.Time{}, false
	}
	for _, s := range plan.Stages {
		if s.Key == k {
			return s.Start, s.placed()
		}
	}
	return time.Time{}, false
}

// loose is the problem with its lists its own, so that what is changed in it
// changes nothing else.
func (p Problem) loose() Problem {
	p.Boats, p.Presses, p.Outdoors = slices.Clone(p.Boats), slices.Clone(p.Presses), slices.Clone(p.Outdoors)
	y := &p.Yard
	y.Places, y.Crews, y.Cards = slices.Clone(y.Places), slices.Clone(y.Crews), slices.Clone(y.Cards)
	y.Profiles, y.Systems, y.Closures = slices.Clone(y.Profiles), slices.Clone(y.Systems), slices.Clone(y.Closures)
	for i := range y.Systems {
		y.Systems[i].Stages = slices.Clone(y.Systems[i].Stages)
	}
	return p
}

// alone is the problem of a stage's boat with the yard to itself: what was told
// binds nobody, and of the boat's areas there are the stage's and those it waits for.
func (p Problem) alone(k Key) (Problem, bool) {
	p = p.loose()
	p.Yard = p.Yard.WithDefaults()
	p.Told, p.First = nil, nil
	p.Boats = slices.DeleteFunc(p.Boats, func(b config.Boat) bool { return b.Name != k.Boat })
	p.Presses = slices.DeleteFunc(p.Presses, func(press Press) bool { return press.Key.Boat != k.Boat })
	if len(p.Boats) != 1 {
		return p, false
	}
	b := &p.Boats[0]
	needed := map[string]bool{}
	for name := k.Area; name != "" && !needed[name]; {
		needed[name] = true
		i := slices.IndexFunc(b.Areas, func(a config.Area) bool { return a.Name == name })
		if i < 0 {
			return p, false
		}
		name = b.Areas[i].After
	}
	b.Areas = slices.DeleteFunc(slices.Clone(b.Areas), func(a config.Area) bool { return !needed[a.Name] })
	return p, true
}
