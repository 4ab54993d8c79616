package demo

import (
	"fmt"
	"maps"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// move is a boat on the lift.
type move struct {
	boat, to string
	ends     time.Time
}

// lift is who reports what happens to a whole boat.
const lift = "lift crew"

// arrive takes in the boats whose time has come, where they were to be put or
// else where there is room.
func (c *crews) arrive(now time.Time) {
	for _, b := range c.boats {
		if c.here[b.Name] || !c.gone[b.Name].IsZero() || c.arrivals[b.Name].After(now) {
			continue
		}
		place := b.Place
		if place == "" || !c.room(place) {
			if place = c.standing(b); place == "" {
				continue // waits at the gate
			}
		}
		c.here[b.Name] = true
		c.w.arrive(c.seed, b, place)
		at := now
		if came := c.arrivals[b.Name]; came.Before(c.begun) {
			at = came
		}
		c.aboutBoat(planner.Arrived, b.Name, place, at)
	}
}

func (c *crews) aboutBoat(kind planner.PressKind, boat, place string, at time.Time) {
	c.report(planner.Press{Kind: kind, Key: planner.Key{Boat: boat}, Place: place, Happened: at, By: lift}, false)
}

// room reports that a place can take one more boat, counting those on the lift.
func (c *crews) room(place string) bool {
	p, ok := c.yard.Place(place)
	if !ok {
		return false
	}
	taken := len(c.w.in(place))
	for _, m := range c.moves {
		if m.to == place {
			taken++
		}
	}
	return taken < max(1, p.Boats)
}

// standing is a waiting place with room for a boat, else any place with room.
func (c *crews) standing(b config.Boat) string {
	for _, kinds := range []func(config.Place) bool{
		func(p config.Place) bool { return p.Kind == config.Standing },
		func(config.Place) bool { return true },
	} {
		for _, p := range c.yard.Places {
			if kinds(p) && p.Fits(b) && c.room(p.Name) {
				return p.Name
			}
		}
	}
	return ""
}

// bringIn has a boat brought to where its next stage is planned, in time for it.
func (c *crews) bringIn(now time.Time, p planner.Planned, plan planner.Plan) {
	place, ok := c.yard.Place(p.Place)
	at := c.w.boats[p.Key.Boat]
	if !ok || at == nil || at.place == p.Place || now.Before(liftAt(p, place, plan)) || c.nextPlace(p.Key.Boat, plan) != p.Place {
		return
	}
	if c.room(p.Place) {
		c.lift(now, p.Key.Boat, p.Place)
		return
	}
	for _, other := range c.w.in(p.Place) {
		c.clear(now, other, p.Place, plan)
	}
}

// liftAt is when a boat is to be lifted for a stage: as the plan has it, which
// may be the day before, else just in time.
func liftAt(p planner.Planned, place config.Place, plan planner.Plan) time.Time {
	at := p.Start.Add(-place.Move.Std())
	for _, b := range plan.Blocks {
		if b.Boat == p.Key.Boat && b.Place == p.Place && b.Move > 0 && b.From.Before(at) {
			at = b.From
		}
	}
	return at
}

// clear brings a boat away that nothing keeps in a place: to where it is wanted
// next, or to a standing.
func (c *crews) clear(now time.Time, boat, from string, plan planner.Plan) {
	for _, b := range plan.Blocks {
		if b.Boat == boat && b.Place == from && !now.Before(b.From) && now.Before(b.To) {
			return
		}
	}
	to := c.nextPlace(boat, plan)
	if to == from {
		return
	}
	if to == "" || !c.room(to) {
		b, _ := c.boat(boat)
		to = c.standing(b)
	}
	if to != "" && to != from {
		c.lift(now, boat, to)
	}
}

// nextPlace is where the first open stage of a boat is planned.
func (c *crews) nextPlace(boat string, plan planner.Plan) string {
	var first planner.Planned
	for _, p := range plan.Stages {
		if p.Key.Boat != boat || p.Start.IsZero() || p.Place == "" || c.over(p.Key, plan) {
			continue
		}
		if first.Place == "" || p.Start.Before(first.Start) {
			first = p
		}
	}
	return first.Place
}

// lift begins a move, unless somebody is at work on the boat.
func (c *crews) lift(now time.Time, boat, to string) {
	if c.moving(boat) {
		return
	}
	for _, j := range c.jobs {
		if j.key().Boat == boat && !j.paused && j.crew != "" {
			return
		}
	}
	place, _ := c.yard.Place(to)
	r := luck(c.seed, "move", boat, to, fmt.Sprint(c.tally.moves))
	c.tally.moves++
	c.moves = append(c.moves, &move{boat: boat, to: to, ends: now.Add(stretch(place.Move.Std(), scatter(r, 0.1)))})
}

func (c *crews) moving(boat string) bool {
	for _, m := range c.moves {
		if m.boat == boat {
			return true
		}
	}
	return false
}

func (c *crews) finishMoves(now time.Time) {
	var still []*move
	for _, m := range c.moves {
		if m.ends.After(now) {
			still = append(still, m)
			continue
		}
		c.w.boats[m.boat].place = m.to
		c.aboutBoat(planner.Moved, m.boat, m.to, m.ends)
	}
	c.moves = still
}

// launch lets the boats go on which nothing is left to do, in working hours and
// not before the plan thinks them ready.
func (c *crews) launch(now time.Time, plan planner.Plan) {
	local := now.In(c.zone)
	if local.Hour() < 8 || local.Hour() >= 17 || local.Weekday() == time.Saturday || local.Weekday() == time.Sunday {
		return
	}
	for _, b := range c.boats {
		if !c.here[b.Name] || c.moving(b.Name) || !plan.At.After(c.entered[b.Name]) || c.atWork(b.Name) || !c.ready(b.Name, now, plan) {
			continue
		}
		c.here[b.Name] = false
		c.gone[b.Name] = now
		c.w.leave(b.Name)
		c.aboutBoat(planner.Launched, b.Name, "", now)
	}
}

func (c *crews) atWork(boat string) bool {
	for _, j := range c.jobs {
		if j.key().Boat == boat {
			return true
		}
	}
	return false
}

// ready reports that the plan leaves nothing to do on a boat and holds it ready
// for launching by now.
func (c *crews) ready(boat string, now time.Time, plan planner.Plan) bool {
	for _, p := range plan.Stages {
		if p.Key.Boat == boat {
			return false
		}
	}
	for _, l := range plan.Launches {
		if l.Boat == boat {
			return !l.Likely.IsZero() && !l.Likely.After(now)
		}
	}
	// A plan that no longer speaks of a boat that was worked on is done with it.
	return slices.ContainsFunc(slices.Collect(maps.Keys(c.finished)), func(k planner.Key) bool { return k.Boat == boat })
}
