package service

import (
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/notify"
	"fairwindow/planner"
)

// pots tells that paint which was reported mixed has outlived its pot, whether or not the
// coat has begun. Heat takes from a pot's life; cold gives nothing back.
func (g *guarding) pots(c candidate, p planner.Progress) {
	for _, pot := range p.Standing() {
		if g.now.Before(pot.Mixed) || c.Card.PotLife.Lasts <= 0 {
			continue
		}
		// A pot is known by its minute: a count would clash with that of unreported pots.
		minute := int(pot.Mixed.Unix() / 60)
		name := fmt.Sprintf("%s %s, %d", ofPot, c.Key, minute)
		one := g.watch.at(name)
		by := pot.Mixed.Add(c.Card.PotLife.Lasts.Std())
		if warm := conditions.Warmest(g.moment(c)); known(warm) {
			by = pot.Mixed.Add(c.Card.PotLife.LastsAt(warm))
			if one.Due.IsZero() || // by the minute, or each reading would be a change to keep
				by.Before(one.Due.Truncate(time.Minute)) {
				one.Due = by
				g.watch.touch(name)
			}
		}
		if !one.Due.IsZero() && one.Due.Before(by) {
			by = one.Due
		}
		if g.now.Before(by) {
			continue
		}
		n := c.notice(notify.PotLifeOver)
		n.Pass, n.Occurrence, n.Until = pot.Pass, minute, by
		n.Cause = notify.Cause{Text: "mixed at " + pot.Mixed.In(g.facts.zone).Format("15:04")}
		g.say(name, n)
	}
}
