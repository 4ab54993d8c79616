package planner

import (
	"slices"
	"time"

	"fairwindow/config"
)

// lent is equipment in somebody's hands for a while.
type lent struct {
	key Key
	of  string
	Span
}

// equipment: no more of it is used at once than there is, and only while it is there.
// What runs is people's, not the plan's.
func (c *checker) equipment() {
	all := c.lent()
	for _, e := range c.yard.Equipment {
		there, err := c.yard.EquipmentHours(e.Name, c.p.At.Add(-24*time.Hour), c.plan.Until.Add(24*time.Hour))
		if err != nil {
			c.report(Key{}, "equipment", "%v", err)
		}
		for _, one := range all {
			if one.of != e.Name || c.running(one.key) {
				continue
			}
			n := 0
			for _, o := range all {
				if o.of == e.Name && !o.From.After(one.From) && one.From.Before(o.To) {
					n++
				}
			}
			if n > e.Count {
				c.report(one.key, "equipment", "%d of %s in use at %v, of %d", n, e.Name, one.From, e.Count)
			}
			if !slices.ContainsFunc(there, func(s config.Span) bool { return one.within(Span(s)) }) {
				c.report(one.key, "equipment", "%s is not there from %v to %v", e.Name, one.From, one.To)
			}
		}
	}
}

// lent is all that the plan uses: what stages name, and the lift of each place that
// a boat is moved into or out of.
func (c *checker) lent() []lent {
	var all []lent
	for _, s := range c.plan.Stages {
		for _, name := range s.Stage.Uses {
			for _, part := range s.parts(c.p.At) {
				if s.placed() && part.From.Before(part.To) {
					all = append(all, lent{s.Key, name, part})
				}
			}
		}
	}
	for _, boat := range c.p.Boats {
		from := c.work.Place(boat.Name).Place
		for _, b := range c.blocksOf(boat.Name) {
			var lifts []string
			for _, name := range []string{from, b.Place} {
				if p, ok := c.yard.Place(name); ok && p.Lift != "" && b.Move > 0 && !slices.Contains(lifts, p.Lift) {
					lifts = append(lifts, p.Lift)
				}
			}
			for _, lift := range lifts {
				all = append(all, lent{Key{Boat: boat.Name}, lift, b.moving()})
			}
			from = b.Place
		}
	}
	return all
}
