package config

import (
	"fmt"
	"math"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

func (c *checker) places() {
	if len(c.y.Places) == 0 {
		c.fault("places", "there is no place", "write at least one place with its kind, length and width")
	}
	named(c, "places", "name", "place", c.y.Places, placeName)
	shares := map[string]int{}
	for _, p := range c.y.Places {
		shares[p.Air]++
	}
	for i, p := range c.y.Places {
		path := fmt.Sprintf("places[%d]", i)
		if strings.EqualFold(p.Name, Outdoors) {
			c.fault(path+".name", fmt.Sprintf("%q is what sensors call the weather station", p.Name), "give the place another name")
		}
		if p.Kind == "" {
			c.fault(path+".kind", "this place has no kind", "use "+either(texts(PlaceKinds())))
		} else {
			c.oneOf(path+".kind", string(p.Kind), texts(PlaceKinds())...)
		}
		c.size(path+".length", p.Length)
		c.size(path+".width", p.Width)
		if p.Height.SI < 0 || (!p.Height.IsZero() && p.Height.SI < 2) {
			c.fault(path+".height", fmt.Sprintf("nobody can stand under %s", p.Height), "write the clear height, like \"7 m\"")
		}
		if p.Boats < 0 {
			c.fault(path+".boats", fmt.Sprintf("%d boats cannot stand here", p.Boats), "write 1 or more")
		}
		if p.Air != "" && shares[p.Air] == 1 {
			c.loneAir(path+".air", p, shares)
		}
		c.atLeastZero(path+".move", p.Move)
		c.lift(path+".lift", p)
		c.atLeastZero(path+".hull_lag", p.Lag)
		if !(p.Heading >= 0 && p.Heading <= 360) {
			c.fault(path+".heading", fmt.Sprintf("%g is no heading", p.Heading), "write the way a bow points there, in degrees from 0 (north) over 90 (east) to 360")
		}
		if p.Sun != nil && !(p.Sun.SI >= 0 && p.Sun.SI <= 1) {
			c.fault(path+".sun", fmt.Sprintf("%s of the sun", p.Sun), "write the part of it that reaches a hull there, from 0 % to 100 %")
		}
		c.limits(path+".limits", p.Limits)
		c.plant(path, p)
		c.dries(path+".dehumidifier", p)
	}
	if c.y.Records == "" { // else these tell how cold it gets
		c.faults = append(c.faults, c.y.Shortfalls(c.y.ColdestMonth(), "in the season's coldest month")...)
	}
}

// loneAir warns of an air that nobody shares: most often a slip of the pen.
func (c *checker) loneAir(path string, p Place, shares map[string]int) {
	var others []string
	for air := range shares {
		if air != p.Air && air != "" {
			others = append(others, air)
		}
	}
	right := "leave air: out, or give the places that share it the same word"
	if near, ok := Near(p.Air, others); ok {
		right = fmt.Sprintf("did you mean %q?", near)
	}
	c.warn(path, fmt.Sprintf("no other place shares the air %q", p.Air), right)
}

func (c *checker) size(path string, l unit.Written[unit.Length]) {
	switch {
	case l.IsZero():
		c.fault(path, "this place has no size", "write length: and width:, like \"28 m\"")
	case l.SI <= 0 || l.SI > 500:
		c.fault(path, fmt.Sprintf("%s is no size of a place", l), "write it like \"28 m\"")
	}
}

// hottestSetPoint is beyond what any booth bakes a boat at. Common practice, no source.
const hottestSetPoint unit.Temperature = 60

func (c *checker) plant(path string, p Place) {
	b := p.Booth
	switch {
	case p.Kind == Booth && b == nil:
		c.fault(path+".booth", "this booth has no plant", "write booth: with heater, spraying_flow, curing_flow, set_point and clearance, or call it a shed")
		return
	case p.Kind != Booth && b != nil && p.Kind != "":
		c.fault(path+".booth", fmt.Sprintf("a %s has no plant of its own", p.Kind), "leave booth: out, or make it kind: booth")
		return
	case b == nil:
		return
	}
	if b.Heater.SI < 0 {
		c.fault(path+".booth.heater", fmt.Sprintf("%s is not a heater's power", b.Heater), "write it like \"300 kW\", or \"0 kW\" for none")
	}
	if b.Spraying.SI <= 0 {
		c.fault(path+".booth.spraying_flow", "no air flows while spraying", "write it like \"60000 m3/h\"")
	}
	if b.Curing.SI < 0 || (b.Spraying.SI > 0 && b.Curing.SI > b.Spraying.SI) {
		c.fault(path+".booth.curing_flow", fmt.Sprintf("%s of fresh air while curing", b.Curing), "write no less than 0 and no more than spraying_flow")
	}
	if b.SetPoint.IsZero() || b.SetPoint.SI < 5 || b.SetPoint.SI > hottestSetPoint {
		c.fault(path+".booth.set_point", "the booth's set point is missing or out of reach", "write a temperature from 5 C to 60 C")
	}
	if b.Dehumid.SI < 0 {
		c.fault(path+".booth.dehumidifier", fmt.Sprintf("%s adds water", b.Dehumid), "write it like \"20 kg/h\"")
	}
	c.stops(path+".booth.dehumidifier_stops", b.DownTo)
	if b.Leaks.SI < 0 {
		c.fault(path+".booth.leaks", fmt.Sprintf("%s leaks out of nothing", b.Leaks), "write the outdoor air that comes in by itself, like \"800 m3/h\"")
	}
	if b.Loses.SI < 0 {
		c.fault(path+".booth.loses", fmt.Sprintf("%s would be heat won", b.Loses), "write the heat lost for each degree, like \"900 W/K\"")
	}
	c.clears(path, p)
	c.atLeastZero(path+".booth.clearance", b.Clearance)
	if f := b.Filters; !f.IsZero() && !(f.SI >= 10 && f.SI <= 2500) {
		c.fault(path+".booth.filter_limit", fmt.Sprintf("%s is no pressure at which filters are changed", f), "write what the gauge may read at most, like \"250 Pa\"")
	}
	if b.Clearance == 0 {
		c.warn(path+".booth.clearance", "nobody knows how long after spraying the air is clear", "write the time posted at the booth, like \"5 min\"")
	}
}

// dries checks a dehumidifier that stands in a place without a plant.
func (c *checker) dries(path string, p Place) {
	d := p.Dehumidifier
	switch {
	case d == nil:
		return
	case p.Kind == Booth:
		c.fault(path, "a booth's dehumidifier is part of its plant", "write dehumidifier: under booth:")
		return
	case !p.Roofed():
		c.fault(path, fmt.Sprintf("nobody dries the air of a %s", p.Kind), "leave it out, or put the boat under a tent or in a shed")
		return
	}
	if !(d.Takes.SI > 0) {
		c.fault(path+".takes", fmt.Sprintf("it takes %s of water out of the air", orNone(d.Takes)), "write it like \"20 kg/h\"")
	}
	if !(d.Leaks.SI > 0) {
		c.fault(path+".leaks", fmt.Sprintf("%s of outdoor air comes in", orNone(d.Leaks)), "write what comes in with sides and doors shut, like \"4000 m3/h\": no place is tight")
	}
	c.stops(path+".stops", d.DownTo)
}

func (c *checker) stops(path string, h unit.Written[unit.Humidity]) {
	if !h.IsZero() && !(h.SI > 0 && h.SI < 100) {
		c.fault(path, fmt.Sprintf("no dehumidifier stops at %s", h), "write it like \"55 %\", or leave it out")
	}
}

// clears warns of fans that are too slow for the clearance time.
func (c *checker) clears(path string, p Place) {
	plant := c.y.Enclosure(p)
	volume := float64(p.Length.SI * p.Width.SI * p.Height.SI)
	// No booth clears faster than its air is changed once.
	if once := plant.Clears(volume, 1/math.E); p.Booth.Clearance > 0 && volume > 0 && p.Booth.Clearance.Std() < once {
		c.warn(path+".booth.clearance", fmt.Sprintf("in %s these fans do not change this booth's air once", p.Booth.Clearance),
			fmt.Sprintf("that takes %.0f min; write the time measured with smoke and posted at the door", once.Minutes()))
	}
}

// ColdestMonth is the usual weather of the coldest month that the yard file gives,
// unknown if it gives none.
func (y Yard) ColdestMonth() conditions.Weather {
	coldest := conditions.Weather{Air: unit.NaN[unit.Temperature](), DewPoint: unit.NaN[unit.Temperature]()}
	for _, m := range y.Season {
		if !m.Air.IsZero() && !(coldest.Air <= m.Air.SI) {
			coldest.Air, coldest.DewPoint = m.Air.SI, min(m.DewPoint.SI, m.Air.SI)
		}
	}
	return coldest
}

// Shortfalls warns of each booth that cannot hold its set point while it sprays in the
// given weather outdoors: the plan reckons with what it reaches. When words what
// weather that is, such as "in the season's coldest month".
func (y Yard) Shortfalls(outdoors conditions.Weather, when string) []Fault {
	var all []Fault
	for i, p := range y.Places {
		if p.Booth == nil || p.Kind != Booth || p.Booth.SetPoint.SI > hottestSetPoint {
			continue
		}
		short, ok := y.Enclosure(p).Shortfall(outdoors, conditions.Spraying)
		if !ok {
			continue
		}
		all = append(all, Fault{
			Path:    fmt.Sprintf("places[%d].booth.heater", i),
			What:    fmt.Sprintf("while it sprays %s, at %.0f C outdoors, this booth reaches %.0f C and not %s", when, outdoors.Air, short.Warmest, p.Booth.SetPoint),
			Right:   fmt.Sprintf("it lacks %.0f kW and holds its set point from %.0f C outdoors; the plan reckons with what it reaches", short.Power, short.Holds),
			Warning: true,
		})
	}
	return all
}
