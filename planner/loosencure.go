package planner

import (
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// longest is how far a cure or a life is stretched, in hours: beyond it counts as
// without end. Our judgement.
const longest = 400 * 24

// cures: how late each coat before the stage reaches what the stages wait for,
// and how early it may no longer be overcoated.
func (l *loosening) cures() {
	var cards []string
	for _, s := range l.before {
		if s.Kind == config.Coat && !slices.Contains(cards, s.Card) {
			cards = append(cards, s.Card)
		}
	}
	wanted := []conditions.Milestone{conditions.DustFree, conditions.Protected, conditions.Movable}
	for _, s := range l.before {
		wanted = append(wanted, s.Needs(), s.Until)
	}
	for i := range l.p.Yard.Cards {
		c := &l.p.Yard.Cards[i]
		if !slices.Contains(cards, c.Name) {
			continue
		}
		for _, m := range cureOrder {
			if !(slices.Contains(wanted, m) || m == c.ProtectUntil) || m.Closes() || len(c.Cure.Of(m)) == 0 && !(m == conditions.Recoat && len(c.Cure.Bands) > 0) {
				continue
			}
			l.add(Fact{Of: CuresLate, Name: c.Title(), Note: string(m), Unit: "h"}, 1, longest, func(p *Problem, by float64) {
				sooner(&p.Yard.Cards[i].Cure, m, by)
			})
			l.add(Fact{Of: CardSilent, Name: c.Title(), Note: string(m), Unit: "K"}, 0.5, 200, func(p *Problem, by float64) {
				reaches(&p.Yard.Cards[i].Cure, m, by)
			})
		}
		if len(c.Cure.LastRecoat)+len(c.Cure.Bands) > 0 {
			l.add(Fact{Of: ClosesEarly, Name: c.Title(), Note: string(conditions.LastRecoat), Unit: "h"}, 1, longest, func(p *Problem, by float64) {
				later(&p.Yard.Cards[i].Cure, by)
			})
		}
	}
}

// lives: how long a wipe, sanding or masking lasts.
func (l *loosening) lives() {
	for _, s := range l.before {
		if s.Life <= 0 || !perishes(s.Kind) {
			continue
		}
		l.add(Fact{Of: ShortLife, Name: s.Name, Wants: s.Life.Std().Hours(), Unit: "h"}, step.Hours(), longest*int(perHour), func(p *Problem, by float64) {
			for i := range p.Yard.Systems {
				for n := range p.Yard.Systems[i].Stages {
					if one := &p.Yard.Systems[i].Stages[n]; one.Name == s.Name && one.Life > 0 {
						one.Life += unit.Duration(by * float64(time.Hour))
					}
				}
			}
		})
	}
}

// sooner is a cure that reaches a milestone so many hours earlier.
func sooner(c *conditions.Cure, m conditions.Milestone, by float64) {
	less := func(d unit.Duration) unit.Duration {
		return max(d-unit.Duration(by*float64(time.Hour)), unit.Duration(step))
	}
	if m == conditions.Recoat && len(c.Bands) > 0 {
		c.Bands = slices.Clone(c.Bands)
		for i := range c.Bands {
			c.Bands[i].Opens = less(c.Bands[i].Opens)
		}
		return
	}
	t := slices.Clone(c.Of(m))
	for i := range t {
		t[i].Takes = less(t[i].Takes)
	}
	give(c, m, t)
}

// reaches is a cure whose table of a milestone speaks for so many kelvins beyond
// either end, and takes as long there as at the end.
func reaches(c *conditions.Cure, m conditions.Milestone, by float64) {
	t := c.Of(m)
	if len(t) == 0 {
		return // bands speak for themselves
	}
	first, last := t[0], t[len(t)-1]
	first.At, last.At = unit.Of(first.At.SI-unit.Temperature(by)), unit.Of(last.At.SI+unit.Temperature(by))
	give(c, m, slices.Concat(conditions.Table{first}, t, conditions.Table{last}))
}

func give(c *conditions.Cure, m conditions.Milestone, t conditions.Table) {
	switch m {
	case conditions.DustFree:
		c.DustFree = t
	case conditions.TouchDry:
		c.TouchDry = t
	case conditions.Protected:
		c.Protected = t
	case conditions.Taped:
		c.Taped = t
	case conditions.Recoat:
		c.Recoat = t
	case conditions.Sandable:
		c.Sandable = t
	case conditions.Movable:
		c.Movable = t
	case conditions.Launch:
		c.Launch = t
	}
}

// later is a cure that may be overcoated for so many hours more.
func later(c *conditions.Cure, by float64) {
	more := unit.Duration(by * float64(time.Hour))
	c.LastRecoat, c.Bands = slices.Clone(c.LastRecoat), slices.Clone(c.Bands)
	for i := range c.LastRecoat {
		c.LastRecoat[i].Takes += more
	}
	for i := range c.Bands {
		c.Bands[i].Closes += more
	}
}
