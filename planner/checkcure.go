package planner

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// boat checks one boat's cures, recoat windows and conditions.
func (c *checker) boat(b config.Boat) {
	if !c.work.Place(b.Name).Launched.IsZero() {
		return
	}
	hull, err := c.outlook().hull(b)
	if err != nil {
		c.report(Key{Boat: b.Name}, "problem", "%v", err)
		return
	}
	where, mode := c.stands(b)
	var followed [parts]*stand
	for _, a := range b.Areas {
		part := partOf(a)
		if followed[part] == nil {
			st := c.stand(b, hull, part, where, mode)
			followed[part] = &st
		}
		c.area(b, a, *followed[part])
	}
	for _, l := range c.plan.Launches {
		if l.Boat == b.Name && !l.Likely.IsZero() {
			for _, s := range c.plan.Stages {
				if s.Key.Boat == b.Name && (!s.placed() || s.End.After(l.Likely)) {
					c.report(s.Key, "order", "not done by the launch at %v", l.Likely)
				}
			}
		}
	}
}

// under is the coat that a stage works on.
type under struct {
	card    config.Card
	clock   conditions.Clock
	sanded  bool
	revived bool
	ageless bool
}

// justCoated is the last coat on an area, whose air is still wet or not cleared.
func (c *checker) justCoated(b config.Boat, a config.Area, u *under, hull stand) {
	if u == nil || u.ageless {
		return
	}
	last, _ := c.work.LastCoat(b.Name, a.Name)
	c.wet = append(c.wet, c.wetUntil(wetSpan{key: last.Key, place: last.Place, Span: Span{last.Ended, c.p.At}, sprayed: last.Ended}, *u, hull))
}

// wetUntil carries a coat's span on to the slot in which it is dust-free: a plan made
// between two slots starts nothing between them.
func (c *checker) wetUntil(wet wetSpan, u under, hull stand) wetSpan {
	if m := standsFor(u.card.Cure, conditions.DustFree); m != "" {
		for u.clock.Slow[m] < almost && wet.To.Before(c.plan.Until) {
			wet.To = wet.To.Truncate(step).Add(step)
			c.run(&u, wet.To, hull)
		}
	}
	return wet
}

// almost allows for the rounding of cure progress over thousands of steps.
const almost = 1 - 1e-3

// area walks an area's stages with the clock of the coat beneath them.
func (c *checker) area(b config.Boat, a config.Area, hull stand) {
	film := c.onNow(b, a)
	c.justCoated(b, a, film, hull)
	var perishing []Planned
	for _, s := range c.stagesOf(b.Name, a.Name) {
		if !s.placed() {
			return
		}
		if film != nil {
			c.run(film, s.Start, hull)
			if s.State != Running {
				c.cured(s, film)
			}
		}
		if s.State != Running && s.State != AtRisk {
			c.limits(s, hull)
		}
		switch {
		case s.Kind == config.Coat:
			for _, w := range perishing {
				if s.Start.After(w.End.Add(w.Stage.Life.Std())) {
					c.report(w.Key, "life", "lasts until %v, and %s starts %v", w.End.Add(w.Stage.Life.Std()), s.Key.Stage, s.Start)
				}
			}
			perishing = nil
			card, _ := c.yard.Card(s.Stage.Card)
			film = &under{card: card, clock: card.Cure.Start(s.End)}
			c.protects(s, *film, hull)
		case film != nil && s.Kind == config.Sand:
			film.sanded = true
		case film != nil && s.Repair && s.Kind == config.Wipe && revives(s.Key.Stage):
			film.revived = true
		}
		if s.Stage.Life > 0 && (s.Kind == config.Wipe || s.Kind == config.Sand || s.Kind == config.Mask) {
			// Done once more, it is the last time that counts.
			perishing = slices.DeleteFunc(perishing, func(w Planned) bool { return onceMore(w.Key.Stage) == onceMore(s.Key.Stage) })
			perishing = append(perishing, s)
		}
		// A cure that lasts to the plan's end is not said to be over then.
		if film != nil && s.Kind == config.Hold && s.Stage.Until != "" && s.End.Before(c.plan.Until) {
			c.run(film, s.End, hull)
			if m := standsFor(film.card.Cure, s.Stage.Until); m != "" && film.clock.Slow[m] < almost {
				c.report(s.Key, "cure", "ends %v, at %.3f of %s", s.End, film.clock.Slow[m], m)
			}
		}
	}
}

// onNow is the last coat on an area at the plan's time.
func (c *checker) onNow(b config.Boat, a config.Area) *under {
	last, ok := c.work.LastCoat(b.Name, a.Name)
	if !ok {
		return nil
	}
	if s, _ := c.work.Stage(last.Key); !s.Done {
		return nil // it runs; the plan has its end
	}
	card, _ := c.yard.Card(last.Card)
	u := &under{card: card, sanded: last.Sanded, ageless: last.Ended.IsZero()}
	start := c.outlook().grid.Origin
	u.clock = clockAt(card.Cure, card.Cure.Start(last.Ended), start)
	for _, now := range c.p.Coats {
		if now.Key == last.Key {
			u.clock, u.ageless = clockAt(card.Cure, now.Clock, start), false
		}
	}
	for _, s := range c.work.Stages(b.Name, a.Name) {
		if s.Done && s.Repair && s.Stage.Kind == config.Wipe && s.Started.After(last.Ended) {
			u.revived = true
		}
	}
	return u
}

// run carries a film's clock on to t over the hull's temperatures.
func (c *checker) run(u *under, t time.Time, hull stand) {
	if u.ageless {
		return
	}
	air := c.outlook()
	for u.clock.At.Before(t) {
		i := air.grid.Floor(u.clock.At)
		next := air.grid.Time(i + 1)
		if next.After(t) {
			next = t
		}
		if i < 0 || int(i) >= len(hull.hulls) {
			return
		}
		m := hull.moment(i)
		u.clock = u.card.Cure.Run(u.clock, next, m.Exposure())
	}
}

// cured: the milestone is reached, and the recoat window not yet over.
func (c *checker) cured(s Planned, u *under) {
	if u.ageless {
		if s.Kind == config.Coat && !u.sanded {
			c.report(s.Key, "recoat", "nobody knows how old the coat beneath is")
		}
		return
	}
	if need := standsFor(u.card.Cure, s.Stage.Needs()); need != "" && s.Kind != config.Hold && u.clock.Slow[need] < almost {
		c.report(s.Key, "cure", "starts %v, at %.3f of %s", s.Start, u.clock.Slow[need], need)
	}
	end := conditions.LastRecoat
	if u.revived {
		end = conditions.Reactivate
	}
	if s.Kind == config.Coat && !u.sanded && u.clock.Fast[end] > 2-almost {
		c.report(s.Key, "recoat", "starts %v, at %.3f of %s", s.Start, u.clock.Fast[end], end)
	}
}

// limits: every step of the work is within its rules with enough chance.
func (c *checker) limits(s Planned, hull stand) {
	place, ok := c.yard.Place(s.Place)
	if !ok {
		return
	}
	rules := c.yard.Rules(s.Stage, place)
	air := c.outlook()
	for _, part := range s.parts(c.p.At) {
		for i := air.grid.Floor(part.From); s.Kind == config.Coat && air.grid.Time(i).Before(part.To) && int(i) < len(hull.hulls); i++ {
			if hull.in[i].Wet[i] {
				c.report(s.Key, "conditions", "%v: water stands on the hull", air.grid.Time(i))
				break
			}
		}
		c.keeps(s, part, rules, hull, "")
	}
}

func (c *checker) keeps(s Planned, part Span, rules conditions.Rules, hull stand, when string) {
	air := c.outlook()
	for i := air.grid.Floor(part.From); air.grid.Time(i).Before(part.To) && int(i) < len(hull.hulls); i++ {
		m := hull.moment(i)
		v := conditions.Judge(m, rules)
		least := float64(c.yard.Confidence.Plan.SI)
		if m.Sure == conditions.Pencilled {
			least = float64(c.yard.Confidence.Pencil.SI)
		}
		if len(rules) > 0 && (v.Answer != conditions.Yes || v.Chance < least-1e-6) {
			c.report(s.Key, "conditions", "%s%v: %s with chance %.3f", when, air.grid.Time(i), v.Answer, v.Chance)
			return
		}
	}
}

// protects: from the last drop until it is protected a coat keeps within its
// limits, and the plan says no earlier end of that; and until it is dust-free it is wet.
func (c *checker) protects(s Planned, u under, hull stand) {
	place, ok := c.yard.Place(s.Place)
	if !ok {
		return
	}
	c.wet = append(c.wet, c.wetUntil(wetSpan{key: s.Key, place: s.Place, Span: Span{s.Start, s.End}, sprayed: s.End}, u, hull))
	if s.State == Running || s.State == AtRisk {
		return
	}
	span := c.scored(nil, s.Start, s.Start, s.End, c.yard.Rules(s.Stage, place), hull)
	for _, p := range c.yard.Protections(u.card, place) {
		m := standsFor(u.card.Cure, p.Until)
		if m == "" {
			continue
		}
		film, until := u, s.End
		for film.clock.Slow[m] < almost && until.Before(s.Protected) {
			until = until.Add(step)
			c.run(&film, until, hull)
		}
		c.keeps(s, Span{s.End, until}, p.Rules, hull, "before it is "+string(p.Until)+", ")
		span = c.scored(span, s.Start, s.End, until, p.Rules, hull)
		if film.clock.Slow[m] < almost {
			c.report(s.Key, "cure", "said to be protected at %v, at %.3f of %s", s.Protected, film.clock.Slow[m], m)
		}
	}
	if chance := c.p.Experience.Spans(step).Chance(span); chance < float64(c.yard.Confidence.Plan.SI)-rounding {
		c.report(s.Key, "conditions", "all of it until %v holds with chance %.3f only", s.Protected, chance)
	}
}

// rounding of a chance: the search and this check sum the same span in other steps.
const rounding = 2e-3

// scored adds the scores of a stretch to those of a span that begins at from; where
// two sets of rules count, the worse. What is pencilled counts by itself.
func (c *checker) scored(span []float64, from, a, b time.Time, rules conditions.Rules, hull stand) []float64 {
	grid := c.outlook().grid
	first := grid.Floor(from)
	for i := grid.Floor(a); grid.Time(i).Before(b) && int(i) < len(hull.hulls); i++ {
		z := math.Inf(1)
		if m := hull.moment(i); len(rules) > 0 && m.Sure != conditions.Pencilled {
			z, _ = conditions.Score(&m, rules)
		}
		for int(i-first) >= len(span) {
			span = append(span, math.Inf(1))
		}
		span[i-first] = min(span[i-first], z)
	}
	return span
}

// dust: nothing is sanded in an air with a coat that is not dust-free, nobody
// works in a booth before it is cleared.
func (c *checker) dust() {
	for _, w := range c.wet {
		place, _ := c.yard.Place(w.place)
		clear := Span{w.From, w.sprayed}
		if place.Booth != nil {
			clear.To = clear.To.Add(place.Booth.Clearance.Std())
		}
		for _, s := range c.plan.Stages {
			if !s.placed() || s.Key == w.key || !s.worked() || s.State == Running {
				continue
			}
			other, _ := c.yard.Place(s.Place)
			shared := s.Place == w.place || place.Air != "" && place.Air == other.Air
			for _, part := range s.parts(c.p.At) {
				if s.Stage.Dusty() && shared && part.meets(w.Span) {
					c.report(s.Key, "dust", "raised while %s of %s is wet", w.key.Stage, w.key.Boat)
				}
				if place.Booth != nil && s.Place == w.place && part.meets(clear) {
					c.report(s.Key, "clearance", "in %s before it is cleared at %v", s.Place, clear.To)
				}
			}
		}
	}
}
