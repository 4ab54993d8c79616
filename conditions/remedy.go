package conditions

import (
	"math"
	"slices"

	"fairwindow/conditions/unit"
)

// Lever is one thing that can be changed about a place or a hull.
type Lever string

// Levers, in the order in which remedies are given.
const (
	TheSurface Lever = "surface"   // warm or shade the hull; the air stays
	TheWater   Lever = "dew_point" // dry or moisten the air; temperatures stay
	TheAir     Lever = "air"       // warm or cool the air; dew point and hull stay
	ThePlace   Lever = "place"     // warm or cool air and hull together; dew point stays
	TheWind    Lever = "wind"      // wait for less, or go behind a wall
	TheRain    Lever = "rain"      // wait for less chance, or cover
	ThePaint   Lever = "paint"     // warm the paint before it is laid
)

// Change is the smallest change of one lever that makes a no a yes.
type Change struct {
	Of Lever   `json:"of"`
	By float64 `json:"by"` // K, m/s or part of one; + is more
	// To is where it then stands: of the surface the coldest spot when it must be
	// warmer and the warmest when it must be cooler, of the place its air, of the
	// wind what is bound, the mean or the gusts; °C, m/s, part of one.
	To       float64       `json:"to"`
	Humidity unit.Humidity `json:"humidity"` // of the air then
	// Water is what must leave (−) or enter (+) each kilogram of dry air, kg.
	Water float64 `json:"water,omitempty"`
}

// span is the range of a lever's change that keeps every rule.
type span struct{ low, high float64 }

func (s *span) least(v float64)    { s.low = max(s.low, v) }
func (s *span) greatest(v float64) { s.high = min(s.high, v) }

// Remedies are the smallest single changes that would each alone make a no a
// yes, at air pressure p (NaN or 0: standard). There are none for a yes or an
// unknown, nor where something else is not known, and none where two things are
// wrong that no one lever mends.
func Remedies(m Moment, r Rules, p unit.Pressure) []Change {
	v := Judge(m, r)
	unknown := func(m Margin) bool { return math.IsNaN(m.By) && !m.IfKnown }
	if v.Answer != No || slices.ContainsFunc(v.Margins, unknown) {
		return nil
	}
	if !(p > 0) {
		p = seaLevel
	}
	var changes []Change
	for _, lever := range []Lever{TheSurface, TheWater, TheAir, ThePlace, TheWind, TheRain, ThePaint} {
		s := span{math.Inf(-1), math.Inf(1)}
		for i := range r {
			lever.narrow(&s, &r[i], &m)
		}
		if s.low > s.high || s.low <= 0 && s.high >= 0 {
			continue
		}
		by := s.low
		if s.high < 0 {
			by = s.high
		}
		if c, ok := lever.change(&m, r, by, p); ok {
			changes = append(changes, c)
		}
	}
	return changes
}

// narrow leaves of a span what keeps the bound; a bound that the lever does not
// move and that is not kept leaves nothing.
func (l Lever) narrow(s *span, b *Bound, m *Moment) {
	value, _ := b.of(m)
	room := func(per float64) {
		// The value moves by per for each unit of the lever, per ±1.
		d := per * (b.At - value)
		if b.Least == (per > 0) {
			s.least(d)
		} else {
			s.greatest(d)
		}
	}
	switch {
	case b.Of == OfMargin && (l == TheSurface || l == ThePlace),
		b.Of == OfSurface && (l == TheSurface || l == ThePlace),
		b.Of == OfAir && (l == TheAir || l == ThePlace),
		b.Of == OfAboveAir && l == TheSurface,
		b.Of == OfBelowAir && l == TheAir,
		b.Of == OfPaint && (l == TheSurface || l == ThePlace),
		b.windy() && l == TheWind,
		b.Of == OfRain && l == TheRain:
		room(1)
	case b.Of == OfMargin && l == TheWater,
		b.Of == OfAboveAir && l == TheAir,
		b.Of == OfBelowAir && l == TheSurface,
		b.Of == OfPaint && l == ThePaint,
		b.Of == OfDrip && l == TheWater:
		room(-1)
	// The humidity that the bound is judged by may be another instrument's than the moment's.
	case b.Of == OfHumidity && b.Least && b.At <= 0: // any air is damper than none
	case b.Of == OfHumidity && l == TheWater:
		to := float64(DewPoint(m.Air, unit.Humidity(b.At)) - DewPoint(m.Air, unit.Humidity(value)))
		if b.Least {
			s.least(to)
		} else {
			s.greatest(to)
		}
	case b.Of == OfHumidity && (l == TheAir || l == ThePlace):
		ln, _ := lnSaturation(m.Air)
		to := float64(saturated(ln+math.Log(value/b.At)) - m.Air)
		if b.Least {
			s.greatest(to)
		} else {
			s.least(to)
		}
	case b.inside(value) < 0:
		s.low, s.high = math.Inf(1), math.Inf(-1)
	}
}

// windy is a bound on the wind, however it is taken; the lever moves mean and
// gusts alike.
func (b *Bound) windy() bool { return b.Of == OfWind || b.Of == OfMeanWind || b.Of == OfGust }

// change words a lever's movement; false if it is none that could be made.
func (l Lever) change(m *Moment, r Rules, by float64, p unit.Pressure) (Change, bool) {
	air, dew := m.Air, m.DewPoint
	c := Change{Of: l, By: by}
	switch l {
	case TheSurface:
		c.To = float64(m.Coldest) + by
		if by < 0 {
			c.To = float64(m.Warmest) + by
		}
	case TheWater:
		dew += unit.Temperature(by)
		if dew > air {
			return c, false
		}
		c.To = float64(dew)
		c.Water = ratio(saturation(dew), p) - ratio(saturation(m.DewPoint), p)
	case TheAir, ThePlace:
		air += unit.Temperature(by)
		if air < dew {
			return c, false
		}
		c.To = float64(air)
	case TheWind:
		// The bound that asked for so much is the one that is then just met.
		for i := range r {
			if value, _ := r[i].of(m); r[i].windy() && math.Abs(value+by-r[i].At) <= tolerance {
				c.To = value + by
				break
			}
		}
	case TheRain:
		c.To = m.rainChance() + by
	case ThePaint:
		c.To = float64(m.Paint.OrNaN()) + by
	}
	c.Humidity = RelativeHumidity(air, dew)
	return c, !math.IsInf(by, 0) && !math.IsNaN(by)
}
