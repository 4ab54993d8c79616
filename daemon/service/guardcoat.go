package service

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
)

// coat watches the last coat of an area while it cures.
func (g *guarding) coat(c coatWatch) {
	clock, ok := g.facts.clocks[c.Key]
	if !ok {
		return
	}
	one, name := g.watch.of(ofRecoat, c.Key)
	if !one.Coated.Equal(clock.Clock.Coated) {
		if one.Coated = clock.Clock.Coated; len(one.Known) > 0 {
			one.again() // it was put on once more
		}
		g.watch.touch(name)
	}
	card := c.Card.Cure
	n := func(kind notify.Kind) notify.Notice {
		return notify.Notice{Kind: kind, Boat: c.Key.Boat, Area: c.Key.Area, Stage: c.Next, Place: g.facts.work.Place(c.Key.Boat).Place, Crew: c.Crew}
	}
	if !card.Reached(clock.Clock, c.Card.ProtectUntil) && g.now.Sub(clock.Clock.Coated) < longest(card.Cautious(c.Card.ProtectUntil)) {
		w := n(notify.WetCoatAtRisk)
		w.Stage = c.Key.Stage
		if place, _ := g.facts.yard.Place(w.Place); place.Kind != config.Booth {
			w.Do = notify.DoCover // no booth, no heat of its own
		}
		g.wet(w, c.Protect)
	}
	if !c.Recoats {
		return
	}
	closes := c.closes(clock.Clock)
	switch {
	case card.Reached(clock.Clock, conditions.LastRecoat):
		w := n(notify.RecoatLapsed)
		w.Do = notify.DoAbrade
		if len(card.Of(conditions.Reactivate)) > 0 && !card.Reached(clock.Clock, conditions.Reactivate) {
			w.Do = notify.DoReactivate
		}
		g.say(name, w)
	case card.Reached(clock.Clock, conditions.Recoat):
		w := n(notify.RecoatOpens)
		w.From, w.Until = g.now, closes
		g.recoat(name, w)
		if !closes.IsZero() && closes.Sub(g.now) <= lastCallBefore {
			w := n(notify.RecoatLastCall)
			w.Until = closes
			g.say(name, w)
		}
	}
	if c.ClosesOff {
		w := n(notify.WeekendCloses)
		w.Until = closes
		_, name := g.watch.of(ofWeekend, planner.Key{Boat: c.Key.Boat, Area: c.Key.Area, Stage: c.Next})
		g.say(name, w)
	}
}

// longest is the time after which a coat has reached a milestone at any
// temperature of its card: an old coat whose clock nobody ran is not called wet.
func longest(t conditions.Table) time.Duration {
	var most time.Duration
	for _, p := range t {
		most = max(most, p.Takes.Std())
	}
	return 2 * most
}

// wet tells that a coat that is not yet protected is at risk. A danger is over
// once the limits have been kept with room to spare, and the next is another.
func (g *guarding) wet(n notify.Notice, protect conditions.Rules) {
	one, name := g.watch.of(ofWet, planner.Key{Boat: n.Boat, Area: n.Area, Stage: n.Stage})
	moment := g.facts.hull(n.Boat, g.now)
	verdict := conditions.Judge(moment, protect)
	gate, change := one.Gate.Step(g.now, verdict.Answer == conditions.Yes, spare(verdict))
	gate.Shut = true // the spare must be held from the first
	if gate != one.Gate {
		one.Gate = gate
		g.watch.touch(name)
	}
	switch {
	case verdict.Answer == conditions.No:
		n.Cause = because(verdict, moment)
		g.say(name, n)
	case change == notify.Opened && len(one.Known) > 0:
		one.again()
	}
}

// closes is when a coat's recoat window will close: by the last plan, or sooner
// if the hottest hour measured since asks for it.
func (c coatWatch) closes(clock conditions.Clock) time.Time {
	_, after, ok := c.Card.Cure.Window(clock)
	if by := clock.Coated.Add(after); ok && (c.Closes.IsZero() || by.Before(c.Closes)) {
		return by
	}
	return c.Closes
}

// recoat tells that a recoat window is open, or that its end comes nearer.
func (g *guarding) recoat(name string, n notify.Notice) {
	one, slot := g.watch.at(name), string(notify.RecoatOpens)+" 0"
	if notify.Decide(one.Known[slot], n, g.now).Reason != notify.Nearer {
		g.say(name, n)
		return
	}
	n.Kind = notify.WindowShortened
	// A stage's window is shortened under one id, whatever shortens it.
	_, next := g.watch.of(ofWindow, planner.Key{Boat: n.Boat, Area: n.Area, Stage: n.Stage})
	if said := g.watch.say(next, n, g.now); len(said) > 0 {
		g.out = append(g.out, said...)
		told := one.Known[slot]
		told.Until = n.Until
		one.Known[slot] = told
		g.watch.touch(name)
	}
}
