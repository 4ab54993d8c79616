package config

import (
	"fmt"
	"math"
	"slices"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

func (c *checker) cure(path string, cure conditions.Cure) {
	for _, m := range Milestones() {
		c.table(path+"."+string(m), cure.Of(m))
	}
	for _, pair := range []struct {
		first, then conditions.Milestone
		warns       bool
	}{
		{conditions.DustFree, conditions.TouchDry, true},
		{conditions.TouchDry, conditions.Sandable, true},
		{conditions.Movable, conditions.Launch, true},
		{conditions.Recoat, conditions.LastRecoat, false},
		{conditions.LastRecoat, conditions.Reactivate, false},
	} {
		c.follows(path, cure, pair.first, pair.then, pair.warns)
	}
	c.bands(path, cure)
	c.humidity(path+".humidity", cure)
}

func (c *checker) table(path string, t conditions.Table) {
	if len(t) == 1 {
		c.fault(path, "a table with one point tells nothing between temperatures", "write at least two points")
	}
	for i, p := range t {
		at := fmt.Sprintf("%s[%d]", path, i)
		if p.At.IsZero() || p.At.SI < -60 || p.At.SI > 150 {
			c.fault(at+".at", "the temperature is missing or out of reach", "write the hull's temperature, like \"20 C\"")
		}
		if p.Takes <= 0 {
			c.fault(at+".takes", fmt.Sprintf("it takes %s", p.Takes), "write a time above 0, like \"16 h\"")
		}
		if i == 0 {
			continue
		}
		if before := t[i-1]; p.At.SI <= before.At.SI {
			c.fault(at+".at", fmt.Sprintf("%s comes after %s: the table is out of order", orNone(p.At), orNone(before.At)), "write the points from cold to warm, each temperature once")
		} else if p.Takes > before.Takes {
			c.fault(at+".takes", fmt.Sprintf("it takes longer warm (%s at %s) than cold (%s at %s)", p.Takes, p.At, before.Takes, before.At), "make the warmer one no longer")
		}
	}
}

// follows checks that one milestone comes before the other wherever both tables
// speak. Their logarithms are straight between points over one and the same
// scale, so where the order holds at the points of both it holds between.
func (c *checker) follows(path string, cure conditions.Cure, first, then conditions.Milestone, warns bool) {
	early, late := cure.Of(first), cure.Of(then)
	say := func(at, temp string, opens, closes float64) {
		what := fmt.Sprintf("at %s %s is reached after %s h, which is no later than %s after %s h", temp, then, short(closes), first, short(opens))
		if warns {
			c.warn(at, what, fmt.Sprintf("%s comes before %s", first, then))
			return
		}
		if first == conditions.Recoat {
			what = fmt.Sprintf("at %s the recoat window closes after %s h, no later than it opens after %s h", temp, short(closes), short(opens))
		}
		c.fault(at, what, fmt.Sprintf("make %s longer than %s", then, first))
	}
	for i, p := range late {
		closes := p.Takes.Std().Hours()
		if opens, ok := takes(early, p.At.SI); ok && closes > 0 && closes <= opens*(1+1e-9) {
			say(fmt.Sprintf("%s.%s[%d].takes", path, then, i), p.At.String(), opens, closes)
		}
	}
	for i, p := range early {
		opens := p.Takes.Std().Hours()
		closes, ok := takes(late, p.At.SI)
		if ok && !slices.ContainsFunc(late, func(l conditions.Point) bool { return l.At.SI == p.At.SI }) && closes <= opens*(1+1e-9) {
			say(fmt.Sprintf("%s.%s[%d].takes", path, first, i), p.At.String(), opens, closes)
		}
	}
}

// takes is the time in a table at a temperature, h.
func takes(t conditions.Table, temp unit.Temperature) (hours float64, ok bool) {
	rate, ok := t.Rate(temp)
	return 1 / rate, ok && rate > 0
}

// humidity checks what the air's humidity makes of the rates.
func (c *checker) humidity(path string, cure conditions.Cure) {
	points := cure.Humidity
	if len(points) == 1 {
		c.fault(path, "one humidity tells nothing between humidities", "write at least two points, like {at: 40 %, factor: 0.8} and {at: 80 %, factor: 1.2}")
	}
	if len(points) > 0 && len(cure.Bands) > 0 {
		c.warn(path, "humidity does not move the recoat window of bands", "write the tables recoat and last_recoat instead of bands, if it should")
	}
	for i, p := range points {
		at := fmt.Sprintf("%s[%d]", path, i)
		if p.At.IsZero() || !(p.At.SI > 0 && p.At.SI <= 100) {
			c.fault(at+".at", fmt.Sprintf("%s is not a humidity of the air", orNone(p.At)), "write more than 0 % and at most 100 %")
		}
		if !(p.Factor > 0 && p.Factor <= 100) {
			c.fault(at+".factor", fmt.Sprintf("the rate cannot be multiplied by %g", p.Factor), "write a number above 0: 1 is the tables' own rate, 0.5 takes twice as long")
		}
		if i > 0 && p.At.SI <= points[i-1].At.SI {
			c.fault(at+".at", fmt.Sprintf("%s comes after %s: the humidities are out of order", orNone(p.At), orNone(points[i-1].At)), "write the points from dry to damp, each humidity once")
		}
	}
}

func short(v float64) string { return fmt.Sprintf("%g", math.Round(v*100)/100) }

func (c *checker) bands(path string, cure conditions.Cure) {
	if len(cure.Bands) > 0 && (len(cure.Recoat) > 0 || len(cure.LastRecoat) > 0) {
		c.warn(path+".bands", "bands take the place of the tables recoat and last_recoat", "leave out one or the other")
	}
	for i, b := range cure.Bands {
		at := fmt.Sprintf("%s.bands[%d]", path, i)
		if b.From.IsZero() || b.To.IsZero() || b.From.SI >= b.To.SI {
			c.fault(at+".to", fmt.Sprintf("nothing lies between %s and %s", orNone(b.From), orNone(b.To)), "make to: the warmer of the two")
		}
		if b.Opens < 0 || b.Closes <= b.Opens {
			c.fault(at+".closes", fmt.Sprintf("the recoat window closes after %s, no later than it opens after %s", b.Closes, b.Opens), "make closes the longer of the two")
		}
		if i == 0 {
			continue
		}
		before := cure.Bands[i-1]
		switch {
		case b.From.SI < before.To.SI:
			c.fault(at+".from", fmt.Sprintf("this band starts at %s, inside the one before, which ends at %s", b.From, before.To), "write the bands from cold to warm, each starting where the last one ends")
		case b.From.SI > before.To.SI:
			c.warn(at+".from", fmt.Sprintf("between %s and %s the card is silent", before.To, b.From), "start each band where the last one ends")
		}
		if b.Opens > before.Opens || b.Closes > before.Closes {
			c.warn(at+".closes", "this warmer band opens or closes later than the colder one before it", "check the times")
		}
	}
}
