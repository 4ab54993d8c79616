package demo

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// Outcome is what the truth says of one pass: whether every limit in force held
// from its first drop to the end of its protection.
type Outcome struct {
	Key   planner.Key `json:"key"`
	Pass  int         `json:"pass"`
	Place string      `json:"place"`
	From  time.Time   `json:"from"`        // first drop
	To    time.Time   `json:"to,omitzero"` // end of protection; zero while it is still wanted
	Held  bool        `json:"held"`
	// The limit that was broken worst, in parts of how much each kind of limit
	// matters (1 K, 2 %, 1 m/s, 1 mm/h); empty when all held.
	Limit conditions.Quantity `json:"limit,omitempty"`
	Bound float64             `json:"bound"`
	Worst float64             `json:"worst"`
	At    time.Time           `json:"at,omitzero"` // of Worst
}

// String is one line of an outcome.
func (o Outcome) String() string {
	what := fmt.Sprintf("%s, %s, %s, pass %d in %s", o.Key.Boat, o.Key.Area, o.Key.Stage, o.Pass, o.Place)
	switch {
	case o.Limit == conditions.OfRain:
		return fmt.Sprintf("%s: rained on, %.1f mm/h at %s", what, o.Worst, o.At.Format(minuteLayout))
	case o.Limit != "":
		return fmt.Sprintf("%s: %s was %.1f, limit %.1f, at %s", what, o.Limit, o.Worst, o.Bound, o.At.Format(minuteLayout))
	case o.To.IsZero():
		return what + ": held so far"
	}
	return what + ": held"
}

// bound is one limit in force.
type bound struct {
	of    conditions.Quantity
	least bool
	at    float64
}

// watch is one pass under judgement.
type watch struct {
	coat    *coat
	applied []bound // until the pass is down
	kept    []bound // until it is protected
	excess  float64
	Outcome
}

// scorer holds every pass against the truth.
type scorer struct {
	yard    config.Yard
	watched []*watch
	done    []Outcome
}

// begin starts to judge a pass.
func (s *scorer) begin(w *world, key planner.Key, pass int, c *coat) {
	place := w.boats[key.Boat].place
	rules := s.inForce(c.card, place)
	kept := c.card.Protected
	if kept == (config.Limits{}) {
		kept = config.Limits{Margin: rules.Margin, SurfaceMin: rules.SurfaceMin, SurfaceMax: rules.SurfaceMax}
	}
	p := &watch{
		coat: c, applied: boundsOf(rules), kept: boundsOf(kept),
		Outcome: Outcome{Key: key, Pass: pass, Place: place, From: w.now, Held: true},
	}
	s.watched = append(s.watched, p)
	if m, here := w.moment(key.Boat); here {
		p.hold(m)
	}
}

// inForce are the card's limits, its profile's where it is silent, then the
// yard's and the place's where those are narrower.
func (s *scorer) inForce(card config.Card, place string) config.Limits {
	l := card.Limits
	profile := card.Profile
	if profile == "" {
		profile = s.yard.Profile
	}
	if p, ok := s.yard.ProfileNamed(profile); ok {
		l = fillIn(l, p.Limits)
	}
	l = narrower(l, s.yard.Limits)
	if p, ok := s.yard.Place(place); ok {
		l = narrower(l, p.Limits)
	}
	return l
}

func fillIn(l, from config.Limits) config.Limits {
	l.Margin, l.WindMax, l.RainMax = cmp.Or(l.Margin, from.Margin), cmp.Or(l.WindMax, from.WindMax), cmp.Or(l.RainMax, from.RainMax)
	l.HumidityMin, l.HumidityMax = cmp.Or(l.HumidityMin, from.HumidityMin), cmp.Or(l.HumidityMax, from.HumidityMax)
	l.AirMin, l.AirMax = cmp.Or(l.AirMin, from.AirMin), cmp.Or(l.AirMax, from.AirMax)
	l.SurfaceMin, l.SurfaceMax = cmp.Or(l.SurfaceMin, from.SurfaceMin), cmp.Or(l.SurfaceMax, from.SurfaceMax)
	return l
}

func narrower(l, by config.Limits) config.Limits {
	l.Margin, l.HumidityMin = higher(l.Margin, by.Margin), higher(l.HumidityMin, by.HumidityMin)
	l.AirMin, l.SurfaceMin = higher(l.AirMin, by.AirMin), higher(l.SurfaceMin, by.SurfaceMin)
	l.HumidityMax, l.AirMax = lower(l.HumidityMax, by.HumidityMax), lower(l.AirMax, by.AirMax)
	l.SurfaceMax, l.WindMax = lower(l.SurfaceMax, by.SurfaceMax), lower(l.WindMax, by.WindMax)
	l.RainMax = lower(l.RainMax, by.RainMax)
	return l
}

func higher[T ~float64](a, b *unit.Written[T]) *unit.Written[T] {
	if a == nil || b != nil && b.SI > a.SI {
		return b
	}
	return a
}

func lower[T ~float64](a, b *unit.Written[T]) *unit.Written[T] {
	if a == nil || b != nil && b.SI < a.SI {
		return b
	}
	return a
}

// boundsOf lists the limits that are set. A chance of rain is not one of the
// truth's limits: it rains or it does not.
func boundsOf(l config.Limits) []bound {
	var all []bound
	all = appendBound(all, conditions.OfMargin, true, l.Margin)
	all = appendBound(all, conditions.OfHumidity, true, l.HumidityMin)
	all = appendBound(all, conditions.OfHumidity, false, l.HumidityMax)
	all = appendBound(all, conditions.OfAir, true, l.AirMin)
	all = appendBound(all, conditions.OfAir, false, l.AirMax)
	all = appendBound(all, conditions.OfSurface, true, l.SurfaceMin)
	all = appendBound(all, conditions.OfSurface, false, l.SurfaceMax)
	return appendBound(all, conditions.OfWind, false, l.WindMax)
}

func appendBound[T ~float64](all []bound, of conditions.Quantity, least bool, w *unit.Written[T]) []bound {
	if w == nil {
		return all
	}
	return append(all, bound{of, least, float64(w.SI)})
}

// matters is how much of each quantity counts as one unit of excess.
var matters = map[conditions.Quantity]float64{
	conditions.OfMargin: 1, conditions.OfHumidity: 2, conditions.OfAir: 1, conditions.OfSurface: 1, conditions.OfWind: 1, conditions.OfRain: 1,
}

// sample holds every watched pass against the present truth.
func (s *scorer) sample(w *world) {
	s.watched = slices.DeleteFunc(s.watched, func(p *watch) bool {
		m, here := w.moment(p.Key.Boat)
		if !here {
			s.done = append(s.done, p.Outcome)
			return true
		}
		p.hold(m)
		if p.coat.protected < 1 {
			return false
		}
		p.To = w.now
		s.done = append(s.done, p.Outcome)
		return true
	})
	w.coats = slices.DeleteFunc(w.coats, func(c *coat) bool { return c.protected >= 1 || w.boats[c.boat] == nil })
}

// hold judges a pass by what is true now: by the limits for application while it
// is laid, by those for protection after that, and never wet by rain.
func (p *watch) hold(m conditions.Moment) {
	bounds := p.kept
	if p.coat.ended.IsZero() {
		bounds = p.applied
	}
	for _, b := range bounds {
		p.judge(m, b)
	}
	if m.Rain > 0 {
		p.excessOf(m.At, bound{of: conditions.OfRain}, float64(m.Rain), float64(m.Rain))
	}
}

// judge takes the worse of coldest and warmest for limits on the surface.
func (p *watch) judge(m conditions.Moment, b bound) {
	value := 0.0
	switch b.of {
	case conditions.OfMargin:
		value = float64(m.Coldest - m.DewPoint)
	case conditions.OfHumidity:
		value = humidityOf(float64(m.Air), float64(m.DewPoint))
	case conditions.OfAir:
		value = float64(m.Air)
	case conditions.OfSurface:
		value = float64(m.Warmest)
		if b.least {
			value = float64(m.Coldest)
		}
	case conditions.OfWind:
		value = math.Max(float64(m.Wind), float64(m.Gust))
	}
	over := value - b.at
	if b.least {
		over = -over
	}
	if over > 0 {
		p.excessOf(m.At, b, value, over)
	}
}

func (p *watch) excessOf(at time.Time, b bound, value, over float64) {
	p.Held = false
	if over /= matters[b.of]; over > p.excess {
		p.excess, p.Limit, p.Bound, p.Worst, p.At = over, b.of, b.at, value, at
	}
}

// outcomes are all passes, in the order of their first drop.
func (s *scorer) outcomes() []Outcome {
	all := slices.Clone(s.done)
	for _, p := range s.watched {
		all = append(all, p.Outcome)
	}
	slices.SortStableFunc(all, func(a, b Outcome) int {
		return cmp.Or(a.From.Compare(b.From), cmp.Compare(a.Key.Boat, b.Key.Boat), cmp.Compare(a.Key.Area, b.Key.Area), cmp.Compare(a.Pass, b.Pass))
	})
	return all
}
