package config

import (
	"slices"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Rules are the bounds in force for a stage in a place.
//
// A coat must meet its card's limits and those of the yard, the place and the
// stage, all of them; where the card is silent its profile speaks, or the
// yard's if it names none. Other stages have their own limits only. Rain does
// not count under a roof.
func (y Yard) Rules(s Stage, p Place) conditions.Rules {
	stage := conditions.Owned{Owner: "stage " + s.Name, Limits: s.Limits}
	if s.Kind != Coat {
		return p.sheltered(conditions.Strictest(nil, stage))
	}
	card, _ := y.Card(s.Card)
	return y.applied(card, p, stage)
}

// Protection is what a coat must be kept within from its last drop until a
// milestone; it may be no rule at all, where a roof keeps off what would harm it.
type Protection struct {
	Until conditions.Milestone `json:"until"`
	Rules conditions.Rules     `json:"rules"`
}

// Protections are all that a card's coat must be kept within from its last drop,
// each until its own milestone, in the order in which a coat meets these. A card
// that names none has one, ProtectRules until ProtectUntil.
func (y Yard) Protections(c Card, p Place) []Protection {
	if len(c.Protection) == 0 {
		return []Protection{{Until: c.protectedUntil(), Rules: y.ProtectRules(c, p)}}
	}
	var all []Protection
	for _, m := range Milestones() {
		var sets []conditions.Owned
		for _, one := range c.protected() {
			if one.Until == m {
				sets = append(sets, conditions.Owned{Owner: c.Title(), Limits: one.Limits})
			}
		}
		if len(sets) > 0 {
			all = append(all, Protection{Until: m, Rules: p.sheltered(conditions.Strictest(nil, sets...))})
		}
	}
	// What the place does to a coat it does until the last of them.
	var rules conditions.Rules
	for _, one := range all {
		rules = append(rules, one.Rules...)
	}
	if more := p.weathered(rules); len(more) > len(rules) {
		last := &all[len(all)-1]
		last.Rules = p.weathered(last.Rules)
	}
	return all
}

// ProtectRules are the bounds in force from the last drop of a card's coat to
// its ProtectUntil: the card's own if it names them, else the margin, the least
// surface temperature and the rain of its application. Those that Protections
// would end earlier are held to the end too: never shorter than the card asks.
func (y Yard) ProtectRules(c Card, p Place) conditions.Rules {
	if own := c.protected(); len(own) > 0 {
		sets := make([]conditions.Owned, len(own))
		for i, one := range own {
			sets[i] = conditions.Owned{Owner: c.Title(), Limits: one.Limits}
		}
		return p.weathered(p.sheltered(conditions.Strictest(nil, sets...)))
	}
	var kept conditions.Rules
	for _, b := range y.applied(c, p) {
		if b.Of == conditions.OfMargin || b.Of == conditions.OfRain || b.Of == conditions.OfDrip || (b.Of == conditions.OfSurface && b.Least) {
			kept = append(kept, b)
		}
	}
	return kept
}

// protected are the limits that the card itself sets after the last drop.
func (c Card) protected() []Protect {
	if c.Protected == (Limits{}) {
		return c.Protection
	}
	return append([]Protect{{Until: c.protectedUntil(), Limits: c.Protected}}, c.Protection...)
}

// protectedUntil is ProtectUntil, by default the last milestone of Protection,
// else Protected.
func (c Card) protectedUntil() conditions.Milestone {
	if c.ProtectUntil != "" {
		return c.ProtectUntil
	}
	last := -1
	for _, one := range c.Protection {
		last = max(last, slices.Index(Milestones(), one.Until))
	}
	if last < 0 {
		return conditions.Protected
	}
	return Milestones()[last]
}

// applied are the bounds on applying a card in a place; the stage's own come on
// top. Where the card is silent its profile speaks, whatever yard, place and stage
// add: their limits silence neither.
func (y Yard) applied(c Card, p Place, stage ...conditions.Owned) conditions.Rules {
	name := c.Profile
	if name == "" {
		name = y.Profile
	}
	var fallback *conditions.Owned
	if profile, ok := y.ProfileNamed(name); ok {
		fallback = &conditions.Owned{Owner: "profile " + profile.Name, Limits: profile.Limits}
	}
	card := conditions.Strictest(fallback, conditions.Owned{Owner: c.Title(), Limits: c.Limits})
	around := []conditions.Owned{{Owner: "the yard", Limits: y.Limits}, {Owner: p.Name, Limits: p.Limits}}
	return p.weathered(p.sheltered(card.And(conditions.Strictest(nil, append(around, stage...)...))))
}

// weathered adds what a place does to a coat whatever its card says. Under a clear
// sky a tent's film is colder than the air, and what condenses on it drips. Without
// a roof it may rain: where nobody wrote how much chance of that a coat bears, it
// bears little. Common practice, no source.
func (p Place) weathered(rules conditions.Rules) conditions.Rules {
	switch {
	case p.Kind == Tent:
		return rules.And(conditions.Rules{{Of: conditions.OfDrip, Least: true, At: 0, Written: "0 K", Owner: p.Name, IfKnown: true}})
	case !p.Roofed() && !slices.ContainsFunc(rules, func(b conditions.Bound) bool { return b.Of == conditions.OfRain }):
		return rules.And(conditions.Rules{{Of: conditions.OfRain, At: 0.2, Written: "20 %", Owner: "no roof, and no limit of rain written", IfKnown: true}})
	}
	return rules
}

// sheltered leaves out the rain where a roof keeps it off.
func (p Place) sheltered(rules conditions.Rules) conditions.Rules {
	if !p.Roofed() {
		return rules
	}
	var kept conditions.Rules
	for _, b := range rules {
		if b.Of != conditions.OfRain {
			kept = append(kept, b)
		}
	}
	return kept
}

// BoundsRates reports whether anything in the yard file bounds how fast a surface
// or its margin changes. It is asked for each step of each clock, so it copies nothing.
func (y Yard) BoundsRates() bool {
	bounds := func(l *Limits) bool { return l.Falls != nil || l.Rising != nil }
	if bounds(&y.Limits) {
		return true
	}
	for i := range y.Places {
		if bounds(&y.Places[i].Limits) {
			return true
		}
	}
	for i := range y.Profiles {
		if bounds(&y.Profiles[i].Limits) {
			return true
		}
	}
	for i := range y.Cards {
		c := &y.Cards[i]
		if bounds(&c.Limits) || bounds(&c.Protected) {
			return true
		}
		for j := range c.Protection {
			if bounds(&c.Protection[j].Limits) {
				return true
			}
		}
	}
	for i := range y.Systems {
		for j := range y.Systems[i].Stages {
			if bounds(&y.Systems[i].Stages[j].Limits) {
				return true
			}
		}
	}
	return false
}

// Paint is the temperature of paint from the store, unknown where the yard file
// does not say.
func (y Yard) Paint() unit.Maybe[unit.Temperature] {
	if y.PaintStore.IsZero() {
		return unit.Maybe[unit.Temperature]{}
	}
	return unit.Some(y.PaintStore.SI)
}

// Enclosure is what the place does to the air in it, for the model of its climate.
func (y Yard) Enclosure(p Place) conditions.Enclosure {
	e := conditions.Enclosure{Roofed: p.Roofed(), Pressure: conditions.StandardPressure(y.Elevation.SI)}
	if p.Kind == Booth && p.Booth != nil {
		e.OwnAir = true
		e.Heater, e.SetPoint = p.Booth.Heater.SI, p.Booth.SetPoint.SI
		e.SprayFlow, e.CureFlow = p.Booth.Spraying.SI, p.Booth.Curing.SI
		e.Dehumidifier, e.DownTo = p.Booth.Dehumid.SI, p.Booth.DownTo.SI
		e.Leaks, e.Loses = float64(p.Booth.Leaks.SI), float64(p.Booth.Loses.SI)
	}
	if d := p.Dehumidifier; d != nil && e.Roofed && !e.OwnAir {
		e.Dehumidifier, e.DownTo, e.Leaks = d.Takes.SI, d.DownTo.SI, float64(d.Leaks.SI)
	}
	return e
}

// Usual is the season's usual weather of a month, 1 to 12; false if the yard
// file gives none.
func (y Yard) Usual(month int) (conditions.Usual, bool) {
	for _, m := range y.Season {
		if m.Month == month {
			return conditions.Usual{
				Air: m.Air.SI, Swing: m.Swing.SI, DewPoint: m.DewPoint.SI,
				Scatter: m.Scatter.SI, Wind: m.Wind.SI, RainHours: m.RainHours.SI,
			}, true
		}
	}
	return conditions.Usual{}, false
}
