package config

import (
	"cmp"
	"fmt"
	"slices"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

func (c *checker) systems() {
	if len(c.y.Systems) == 0 {
		c.fault("systems", "there is no system", "write at least one, with its stages in order")
	}
	named(c, "systems", "name", "system", c.y.Systems, systemName)
	for i, s := range c.y.Systems {
		path := fmt.Sprintf("systems[%d]", i)
		if len(s.Stages) == 0 {
			c.fault(path+".stages", "this system has no stage", "write its stages in order")
		}
		named(c, path+".stages", "name", "stage", s.Stages, func(s Stage) string { return s.Name })
		var last *Card  // of the last coat so far
		unsure := false // a coat's card is not known
		for j, stage := range s.Stages {
			at := fmt.Sprintf("%s.stages[%d]", path, j)
			c.stage(at, stage)
			if !unsure {
				c.waits(at, stage, last)
			}
			if stage.Kind == Coat {
				card, ok := c.y.Card(stage.Card)
				last, unsure = &card, !ok
			}
		}
		c.blocks(path, s)
		waited := slices.ContainsFunc(s.Stages, func(stage Stage) bool { return stage.Until == conditions.Launch })
		if last != nil && !unsure && !waited && !times(last.Cure, conditions.Launch) {
			c.warn(path, fmt.Sprintf("%s gives no table for launch, so a launch waits for no cure after system %q", last.Title(), s.Name), "write cure: launch: on the card")
		}
	}
}

func (c *checker) stage(at string, s Stage) {
	if s.Kind == "" {
		c.fault(at+".kind", "this stage has no kind", "use "+either(texts(StageKinds())))
	} else {
		c.oneOf(at+".kind", string(s.Kind), texts(StageKinds())...)
	}
	c.work(at, s)
	c.uses(at, s)
	for k, kind := range s.Places {
		path := fmt.Sprintf("%s.places[%d]", at, k)
		if !c.oneOf(path, string(kind), texts(PlaceKinds())...) {
			continue
		}
		if c.lacks(kind) {
			c.fault(path, fmt.Sprintf("the yard has no %s", kind), "leave it out, or write such a place")
		}
		if kind == Standing && s.Skill != "" {
			c.fault(path, "nobody works on a boat at a standing", "leave it out, or make the place a slip")
		}
	}
	if s.Kind == Coat {
		c.coat(at, s)
	} else if s.Card != "" || s.Passes != 0 {
		c.fault(at+".card", fmt.Sprintf("a %s lays no coat", s.Kind), "leave card: and passes: out, or make it kind: coat")
	}
	if s.Grit < 0 || (s.Grit != 0 && s.Kind != Sand) {
		c.fault(at+".grit", fmt.Sprintf("grit %d on a %s", s.Grit, s.Kind), "write grit: above 0, on stages of kind sand only")
	}
	c.atLeastZero(at+".life", s.Life)
	c.limits(at+".limits", s.Limits)
}

// lacks reports whether no place is of a kind; a place of an unknown kind, which
// is a fault of its own, might have been, and so is a yard without any.
func (c *checker) lacks(kind PlaceKind) bool {
	return len(c.y.Places) > 0 && !slices.ContainsFunc(c.y.Places, func(p Place) bool {
		return p.Kind == kind || !slices.Contains(PlaceKinds(), p.Kind)
	})
}

// slowestRate is a square decimetre an hour: no hand is so slow, and much slower ones would
// end later than a time can say. Our judgement, no source.
const slowestRate unit.WorkRate = 0.01

// work checks who does a stage and how long it takes.
func (c *checker) work(at string, s Stage) {
	if s.People < 0 {
		c.fault(at+".people", fmt.Sprintf("%d people do nothing", s.People), "write 1 or more")
	}
	if !s.Rate.IsZero() && !(s.Rate.SI >= slowestRate) {
		c.fault(at+".rate", fmt.Sprintf("at %s it is never done", s.Rate), "write what one person does in an hour, like \"6 m2/h\"")
	}
	c.atLeastZero(at+".takes", s.Takes)
	if !s.Rate.IsZero() && s.Takes != 0 {
		c.fault(at+".takes", "a stage has a rate or a time it takes, not both", "leave one out")
	}
	if s.Skill == "" {
		if s.Kind != Hold && s.Kind != "" {
			c.fault(at+".skill", fmt.Sprintf("nobody does this %s", s.Kind), "write skill: with a word that a crew has, or make it kind: hold")
		}
		return
	}
	if s.Rate.IsZero() && s.Takes == 0 {
		c.fault(at+".rate", "nobody knows how long this stage takes", "write rate:, like \"6 m2/h\" per person, or takes:, like \"3 h\"")
	}
	var skills []string // of all crews
	most := 0
	for _, crew := range c.y.Crews {
		skills = append(skills, crew.Skills...)
		if slices.Contains(crew.Skills, s.Skill) {
			most = max(most, crew.People, 1)
		}
	}
	if len(skills) == 0 {
		return // faulted with the crews
	}
	slices.Sort(skills)
	if c.refers(at+".skill", "skill", s.Skill, slices.Compact(skills)) && s.People > most {
		c.fault(at+".people", fmt.Sprintf("%d people are asked for, and the largest crew with the skill %q has %d", s.People, s.Skill, most), fmt.Sprintf("write %d or fewer", most))
	}
}

func (c *checker) coat(at string, s Stage) {
	if s.Passes < 0 || s.Passes > 50 {
		c.fault(at+".passes", fmt.Sprintf("%d passes", s.Passes), "write 1 or more")
	}
	if s.Card == "" {
		c.fault(at+".card", "this coat has no card", "write card: and a card's name")
		return
	}
	if !c.refers(at+".card", "card", s.Card, names(c.y.Cards, cardName)) {
		return
	}
	c.rain(at, s)
	c.dew(at, s)
	var where string
	for _, p := range c.y.Places {
		if !allows(s, p) {
			continue
		}
		clash := impossible(c.y.Rules(s, p))
		if clash == "" {
			return
		}
		where = fmt.Sprintf("at %s %s", p.Name, clash)
	}
	if where != "" {
		c.fault(at, fmt.Sprintf("no place's limits ever let this coat start: %s", where), "change one of the two limits")
	}
}

// rain warns of a coat that may be put on without a roof while nothing bounds the
// rain: a forecast shower would then be no reason to wait.
func (c *checker) rain(at string, s Stage) {
	card, _ := c.y.Card(s.Card)
	for _, p := range c.y.Places {
		if p.Roofed() || !allows(s, p) {
			continue
		}
		if written := card.Limits.RainMax != nil || p.Limits.RainMax != nil || c.y.Limits.RainMax != nil || s.Limits.RainMax != nil || c.profile(card).RainMax != nil; !written {
			c.warn(at+".card", fmt.Sprintf("nobody wrote what chance of rain this coat bears at %s, which has no roof: 20 %% is taken", p.Name), fmt.Sprintf("write rain_max: on card %s, on its profile or for the place", card.Name))
			return
		}
	}
}

// dew warns of a coat that nobody keeps off the dew point: a hull that only just
// stays dry would do.
func (c *checker) dew(at string, s Stage) {
	card, _ := c.y.Card(s.Card)
	profile := c.profile(card)
	if name := cmp.Or(card.Profile, c.y.Profile); name != "" && profile == (Limits{}) {
		return // faulted with the profiles
	}
	for _, l := range []Limits{card.Limits, profile, c.y.Limits, s.Limits} {
		if l.Margin != nil {
			return
		}
	}
	if !slices.ContainsFunc(c.y.Places, func(p Place) bool { return allows(s, p) && p.Limits.Margin == nil }) {
		return // each place that it may go on in says it
	}
	c.warn(at+".card", "nobody wrote how far over the dew point the hull must be for this coat", fmt.Sprintf("write margin: on card %s or on its profile, as the maker has it; usual are 3 C and 5 F", card.Name))
}

// profile is the limits that speak where a card is silent.
func (c *checker) profile(card Card) Limits {
	profile, _ := c.y.ProfileNamed(cmp.Or(card.Profile, c.y.Profile))
	return profile.Limits
}

// impossible words two bounds of two owners that exclude each other; empty if
// none do. Those of one owner are a fault where they stand.
func impossible(rules conditions.Rules) string {
	for _, least := range rules {
		for _, most := range rules {
			if least.Least && !most.Least && least.Of == most.Of && least.At > most.At && least.Owner != most.Owner {
				return fmt.Sprintf("%s asks for %s of at least %s and %s for at most %s", least.Owner, least.Of, least.Written, most.Owner, most.Written)
			}
		}
	}
	return ""
}

// allows reports whether a stage may be done at a place, by its kind. A stage
// that names no kinds may be done anywhere, but nobody works at a standing.
func allows(s Stage, p Place) bool {
	if len(s.Places) == 0 {
		return p.Kind != Standing || s.Skill == ""
	}
	return slices.Contains(s.Places, p.Kind)
}

// waits checks that what a stage waits for can be told from the last coat.
func (c *checker) waits(at string, s Stage, last *Card) {
	if s.Until != "" && s.Kind != Hold {
		c.fault(at+".until", fmt.Sprintf("a %s does not end at a milestone", s.Kind), "write after:, or make it kind: hold")
		return
	}
	key := at + ".kind"
	for _, p := range []struct {
		path string
		m    conditions.Milestone
	}{{at + ".after", s.After}, {at + ".until", s.Until}} {
		if p.m == "" {
			continue
		}
		key = p.path
		if !c.milestone(p.path, p.m) {
			return
		}
		if p.m == conditions.LastRecoat || p.m == conditions.Reactivate {
			c.fault(p.path, fmt.Sprintf("%s is an end; nothing can wait for it to be reached", p.m), "wait for a beginning, like recoat or sandable")
			return
		}
		if last == nil {
			c.fault(p.path, fmt.Sprintf("there is no coat before this stage that could become %s", p.m), "leave it out, or move the stage behind a coat")
			return
		}
	}
	if need := s.Needs(); need != "" && last != nil && !times(last.Cure, need) {
		c.fault(key, fmt.Sprintf("stage %q waits for %s, and %s gives no table for it", s.Name, need, last.Title()),
			fmt.Sprintf("write cure: %s: on that card, or after: with a milestone that has a table", need))
	}
}

// blocks checks that each block is one run of stages with a place for all of them.
func (c *checker) blocks(path string, s System) {
	ended := map[string]bool{}
	for j, stage := range s.Stages {
		at := fmt.Sprintf("%s.stages[%d].block", path, j)
		before := ""
		if j > 0 {
			before = s.Stages[j-1].Block
		}
		if before != "" && before != stage.Block {
			ended[before] = true
		}
		if stage.Block == "" || stage.Block == before {
			continue
		}
		if ended[stage.Block] {
			c.fault(at, fmt.Sprintf("block %q is broken off and taken up again", stage.Block), "give the second run another name, or let the stages follow each other")
			continue
		}
		block := s.block(j)
		alone := func(s Stage) bool {
			return !slices.ContainsFunc(c.y.Places, func(p Place) bool { return allows(s, p) })
		}
		if !slices.ContainsFunc(block, alone) && !slices.ContainsFunc(c.y.Places, func(p Place) bool { return allowsAll(block, p) }) {
			c.fault(at, fmt.Sprintf("no place allows all stages of block %q", stage.Block), "give them a kind of place in common, or part the block")
		}
		c.leaves(at, s, j+len(block))
	}
}

// block is the run of stages of one block that starts at index j.
func (s System) block(j int) []Stage {
	end := j + 1
	for end < len(s.Stages) && s.Stages[end].Block == s.Stages[j].Block {
		end++
	}
	return s.Stages[j:end]
}

func allowsAll(stages []Stage, p Place) bool {
	for _, s := range stages {
		if !allows(s, p) {
			return false
		}
	}
	return true
}

// leaves warns if a boat that has to move on after a block's last coat has no
// table to tell when it may be moved.
func (c *checker) leaves(at string, s System, next int) {
	for j := next - 1; j >= 0 && s.Stages[j].Block == s.Stages[next-1].Block; j-- {
		if s.Stages[j].Kind != Coat {
			continue
		}
		if card, ok := c.y.Card(s.Stages[j].Card); ok && !times(card.Cure, conditions.Movable) {
			c.warn(at, fmt.Sprintf("%s gives no table for movable, so nothing keeps a wet boat in its place", card.Title()), "write cure: movable: on the card")
		}
		return
	}
}

// extent is how long a stage takes on an area, passes and least flash-off
// included, with the people it asks for; zero if it cannot be told.
func extent(s Stage, card Card, area unit.Area) float64 {
	people, passes := float64(max(1, s.People)), float64(max(1, s.Passes))
	hours := s.Takes.Std().Hours()
	if s.Rate.SI > 0 {
		hours = float64(area) / (float64(s.Rate.SI) * people) * passes
	}
	return hours + (passes-1)*card.FlashOff.Least.Std().Hours()
}
