package planner

import (
	"slices"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// limits: each bound in force at a stage of the block, in any place it may be
// done in, from the first drop to the end of protection.
func (l *loosening) limits() {
	var seen []conditions.Bound
	for _, s := range l.stages {
		for _, place := range l.p.Yard.Places {
			if len(s.Places) > 0 && !slices.Contains(s.Places, place.Kind) {
				continue
			}
			rules := l.p.Yard.Rules(s, place)
			if card, ok := l.p.Yard.Card(s.Card); ok && s.Kind == config.Coat {
				for _, more := range l.p.Yard.Protections(card, place) {
					rules = append(slices.Clone(rules), more.Rules...)
				}
			}
			for _, b := range rules {
				if !slices.ContainsFunc(seen, func(o conditions.Bound) bool { return o.Of == b.Of && o.Least == b.Least && o.Owner == b.Owner }) {
					seen = append(seen, b)
				}
			}
		}
	}
	for _, b := range seen {
		sign, step, most := scaleOf(b.Of)
		l.add(Fact{Of: OfLimit, Name: b.Owner, Bound: b, Wants: b.At * perUnit(b.Of), Unit: sign}, step, most, func(p *Problem, by float64) {
			loosenBound(&p.Yard, b, by/perUnit(b.Of))
		})
	}
}

// scaleOf is the unit in which a bound is moved, the step, and the number of
// steps beyond which it binds nothing. The steps are our judgement of what
// people can tell apart.
func scaleOf(of conditions.Quantity) (sign string, step float64, most int) {
	switch of {
	case conditions.OfHumidity, conditions.OfRain:
		return "%", 1, 100
	case conditions.OfWind, conditions.OfMeanWind, conditions.OfGust:
		return "m/s", 0.1, 600
	case conditions.OfFall, conditions.OfRise:
		return "K/h", 0.1, 1000
	}
	return "K", 0.1, 1000
}

// perUnit is how many of the unit of scaleOf one of a bound's own value is.
func perUnit(of conditions.Quantity) float64 {
	if of == conditions.OfRain {
		return 100
	}
	return 1
}

// loosenBound moves a bound that its owner set; nobody else's.
func loosenBound(y *config.Yard, b conditions.Bound, by float64) {
	loosen := func(owner string, l *config.Limits) {
		if owner == b.Owner {
			*l = loosened(*l, b, by)
		}
	}
	loosen("the yard", &y.Limits)
	for i := range y.Places {
		place := &y.Places[i]
		loosen(place.Name, &place.Limits)
		if !place.Roofed() && b.Of == conditions.OfRain && b.IfKnown { // a bound that nobody wrote
			chance := unit.Of(unit.Share(min(b.At+by, 1)))
			place.Limits.RainMax = &chance
		}
	}
	for i := range y.Profiles {
		loosen("profile "+y.Profiles[i].Name, &y.Profiles[i].Limits)
	}
	for i := range y.Cards {
		c := &y.Cards[i]
		loosen(c.Title(), &c.Limits)
		loosen(c.Title(), &c.Protected)
		c.Protection = slices.Clone(c.Protection)
		for n := range c.Protection {
			loosen(c.Title(), &c.Protection[n].Limits)
		}
	}
	for i := range y.Systems {
		for n := range y.Systems[i].Stages {
			s := &y.Systems[i].Stages[n]
			loosen("stage "+s.Name, &s.Limits)
		}
	}
}

// loosened are limits with one of them moved to where it binds less.
func loosened(l config.Limits, b conditions.Bound, by float64) config.Limits {
	if b.Least {
		by = -by
	}
	switch b.Of {
	case conditions.OfMargin:
		l.Margin = moved(l.Margin, by)
	case conditions.OfHumidity:
		if b.Least {
			l.HumidityMin = moved(l.HumidityMin, by)
		} else {
			l.HumidityMax = moved(l.HumidityMax, by)
		}
	case conditions.OfAir:
		if b.Least {
			l.AirMin = moved(l.AirMin, by)
		} else {
			l.AirMax = moved(l.AirMax, by)
		}
	case conditions.OfSurface:
		if b.Least {
			l.SurfaceMin = moved(l.SurfaceMin, by)
		} else {
			l.SurfaceMax = moved(l.SurfaceMax, by)
		}
	case conditions.OfWind, conditions.OfMeanWind:
		l.WindMax = moved(l.WindMax, by)
	case conditions.OfGust:
		l.GustMax = moved(l.GustMax, by)
	case conditions.OfRain:
		l.RainMax = moved(l.RainMax, by)
	case conditions.OfAboveAir:
		l.AboveAir = moved(l.AboveAir, by)
	case conditions.OfBelowAir:
		l.BelowAir = moved(l.BelowAir, by)
	case conditions.OfFall:
		l.Falls = moved(l.Falls, by)
	case conditions.OfRise:
		l.Rising = moved(l.Rising, by)
	case conditions.OfPaint:
		l.PaintBelow = moved(l.PaintBelow, by)
	}
	return l
}

func moved[T ~float64](w *unit.Written[T], by float64) *unit.Written[T] {
	if w == nil {
		return nil
	}
	to := unit.Of(w.SI + T(by))
	return &to
}
