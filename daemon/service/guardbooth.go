package service

import (
	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/sensors"
)

// booth tells that a booth must not be sprayed in: its fan stands or is not known to
// run, its door is open, its filters are clogged. The gravest alone is said; what is
// to be done being another thing, it is said again.
func (g *guarding) booth(c candidate, pass int) {
	place, _ := g.facts.yard.Place(c.Place)
	stop, is := sensors.Stopped(g.facts.yard, place, g.facts.readings[c.Place], g.now, g.facts.yard.Notice.Stale.Std())
	if !is {
		return
	}
	n := c.notice(notify.BoothStopped)
	n.Pass, n.Do = pass, stop.Do
	n.Cause = unfit(stop)
	_, name := g.watch.of(ofWindow, c.Key)
	g.say(name, n)
}

// unfit is why a booth must not be sprayed in.
func unfit(stop sensors.Stop) notify.Cause {
	c := notify.Cause{Signal: notify.SignalFan, Text: stop.Text, Sure: notify.Measured}
	switch {
	case !stop.Known:
		c.Sure = notify.Unknown
	case stop.Of == conditions.Door:
		c.Signal, c.Text = notify.SignalDoor, "" // the sentence says it
	case stop.Of == conditions.FilterPressure:
		c.Signal, c.Text = notify.SignalFilters, ""
		c.Limit, c.Value, c.Bound, c.Unit, c.Side = string(stop.Of), stop.Value, stop.Limit, "Pa", notify.AtMost
	}
	return c
}

// fanUnknown is why a booth that has a fan sensor is not known to be on: then no
// window opens in it. Where the fan is known to stand it is put on for the work.
func (g *guarding) fanUnknown(name string) (sensors.Stop, bool) {
	if place, _ := g.facts.yard.Place(name); place.Kind != config.Booth {
		return sensors.Stop{}, false
	}
	return sensors.FanUnknown(g.facts.yard, name, g.facts.readings[name], g.now, g.facts.yard.Notice.Stale.Std())
}
