package service

import (
	"fmt"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/notify"
	"fairwindow/planner"
)

// running watches a coat that is being put on.
func (g *guarding) running(c candidate, p planner.Progress) {
	one, name := g.watch.of(ofWindow, c.Key)
	g.booth(c, len(p.Passes)+1)
	moment := g.moment(c)
	rules := c.Rules
	if !known(moment.Coldest) {
		// Nobody can measure a surface that is being painted: the air still counts,
		// and a reading is asked for, of a spot beside it or of a witness panel.
		rules = withoutSurface(rules)
		g.measure(c, moment)
	} else {
		g.watch.renew(ofReading, c.Key)
	}
	verdict := conditions.Judge(moment, rules)
	if gate, _ := one.Gate.Step(g.now, verdict.Answer != conditions.No, spare(verdict)); gate != one.Gate {
		one.Gate = gate
		g.watch.touch(name)
	}
	if verdict.Answer == conditions.No {
		n := c.notice(notify.WindowClosed)
		n.Pass = len(p.Passes) + 1
		n.Cause = because(verdict, moment)
		n.Do = "stop at a whole pass and ask the foreman"
		g.say(name, n)
	}
	if len(p.Standing()) > 0 {
		return // their own clocks run
	}
	// A pot is mixed for each pass, at the latest when the pass before it ends.
	mixed := p.Started
	if n := len(p.Passes); n > 0 {
		mixed = p.Passes[n-1].To
	}
	if pot := g.mix(c, moment).PotLife; pot > 0 && g.now.Sub(mixed) >= pot {
		n := c.notice(notify.PotLifeOver)
		n.Pass = len(p.Passes) + 1
		n.Cause = notify.Cause{Text: fmt.Sprintf("mixed at %s or before", mixed.In(g.facts.zone).Format("15:04"))}
		g.say(name, n)
	}
}

// moment is what is measured for a stage now: the air of its place, and the
// hull's surface if the boat stands there.
func (g *guarding) moment(c candidate) conditions.Moment {
	if g.facts.work.Place(c.Key.Boat).Place == c.Place {
		return g.facts.hull(c.Key.Boat, g.now)
	}
	m := g.facts.measured(c.Place, g.now)
	m.Coldest, m.Warmest = unit.NaN[unit.Temperature](), unit.NaN[unit.Temperature]()
	return m
}

// mix is what to mix for one pass at the hull's temperature now.
func (g *guarding) mix(c candidate, m conditions.Moment) notify.Mix {
	if !known(m.Coldest) {
		return notify.Mix{Card: c.Card.Name, Revision: c.Card.Revision}
	}
	sheet, err := c.Card.Sheet(g.facts.area(c.Key).Size.SI, m.Coldest)
	if err != nil {
		return notify.Mix{Card: c.Card.Name, Revision: c.Card.Revision}
	}
	reducer := sheet.Reducer
	if reducer != "" && !strings.Contains(reducer, "reducer") {
		reducer += " reducer"
	}
	return notify.Mix{
		Card: c.Card.Name, Revision: c.Card.Revision, Variant: sheet.Variant, Reducer: reducer,
		Parts:  fmt.Sprintf("%g:%g by volume", c.Card.Mix.Base, c.Card.Mix.Hardener),
		Volume: float64(sheet.Litres.Base + sheet.Litres.Hardener + sheet.Litres.Reducer), Stands: sheet.Stands, PotLife: sheet.PotLife,
	}
}
