package conditions

import (
	"cmp"
	"slices"

	"fairwindow/conditions/unit"
)

// Limits are the bounds a card, a profile or a yard sets; an empty one is not set.
type Limits struct {
	Margin      *unit.Written[unit.TempDiff]    `yaml:"margin,omitempty" json:"margin,omitempty"` // least, of surface over dew point
	HumidityMin *unit.Written[unit.Humidity]    `yaml:"humidity_min,omitempty" json:"humidity_min,omitempty"`
	HumidityMax *unit.Written[unit.Humidity]    `yaml:"humidity_max,omitempty" json:"humidity_max,omitempty"`
	AirMin      *unit.Written[unit.Temperature] `yaml:"air_min,omitempty" json:"air_min,omitempty"`
	AirMax      *unit.Written[unit.Temperature] `yaml:"air_max,omitempty" json:"air_max,omitempty"`
	SurfaceMin  *unit.Written[unit.Temperature] `yaml:"surface_min,omitempty" json:"surface_min,omitempty"`
	SurfaceMax  *unit.Written[unit.Temperature] `yaml:"surface_max,omitempty" json:"surface_max,omitempty"`
	WindMax     *unit.Written[unit.Speed]       `yaml:"wind_max,omitempty" json:"wind_max,omitempty"` // mean wind and gusts
	RainMax     *unit.Written[unit.Share]       `yaml:"rain_max,omitempty" json:"rain_max,omitempty"` // chance of rain, without a roof
}

// Quantity is what a bound bounds.
type Quantity string

// Quantities, named as people read them.
const (
	OfMargin   Quantity = "margin"
	OfHumidity Quantity = "humidity"
	OfAir      Quantity = "air"
	OfSurface  Quantity = "surface"
	OfWind     Quantity = "wind"
	OfRain     Quantity = "rain"
)

// Bound is one limit with its owner.
type Bound struct {
	Of      Quantity `json:"of"`
	Least   bool     `json:"least"`   // a least value, else a greatest
	At      float64  `json:"at"`      // K, %, °C, m/s, part of one
	Written string   `json:"written"` // as the owner wrote it: 5 F
	Owner   string   `json:"owner"`   // card Topcoat rev 3, profile X, the yard, booth 2
}

// Rules are the bounds in force for one stage in one place.
type Rules []Bound

// Owned is a set of limits with whose it is, in words for people.
type Owned struct {
	Owner  string
	Limits Limits
}

// Strictest gathers the bounds of all sets: each applies, so the strictest of a
// quantity decides, and a verdict can still show the others. The fallback (a
// profile; nil is none) fills only those quantities, by direction, of which no
// set says anything. The order is by quantity, least before greatest, the
// strictest first, then as given; so the same sets give the same rules.
func Strictest(fallback *Owned, sets ...Owned) Rules {
	var rules Rules
	for _, set := range sets {
		rules = append(rules, set.bounds()...)
	}
	if fallback != nil {
		silent := func(b Bound) bool {
			return !slices.ContainsFunc(rules, func(r Bound) bool { return r.Of == b.Of && r.Least == b.Least })
		}
		var filled Rules
		for _, b := range fallback.bounds() {
			if silent(b) {
				filled = append(filled, b)
			}
		}
		rules = append(rules, filled...)
	}
	slices.SortStableFunc(rules, func(a, b Bound) int {
		strict := cmp.Compare(a.At, b.At)
		if a.Least {
			strict = -strict
		}
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), strict)
	})
	return rules
}

// rank orders bounds by quantity, least before greatest.
func (b Bound) rank() int {
	order := []Quantity{OfMargin, OfHumidity, OfAir, OfSurface, OfWind, OfRain}
	rank := 2 * slices.Index(order, b.Of)
	if !b.Least {
		rank++
	}
	return rank
}

// bounds are the limits that are set, as bounds of their owner.
func (o Owned) bounds() Rules {
	var rules Rules
	l := o.Limits
	bind(&rules, o.Owner, OfMargin, true, l.Margin)
	bind(&rules, o.Owner, OfHumidity, true, l.HumidityMin)
	bind(&rules, o.Owner, OfHumidity, false, l.HumidityMax)
	bind(&rules, o.Owner, OfAir, true, l.AirMin)
	bind(&rules, o.Owner, OfAir, false, l.AirMax)
	bind(&rules, o.Owner, OfSurface, true, l.SurfaceMin)
	bind(&rules, o.Owner, OfSurface, false, l.SurfaceMax)
	bind(&rules, o.Owner, OfWind, false, l.WindMax)
	bind(&rules, o.Owner, OfRain, false, l.RainMax)
	return rules
}

func bind[T ~float64](rules *Rules, owner string, of Quantity, least bool, w *unit.Written[T]) {
	if w != nil && !w.IsZero() {
		*rules = append(*rules, Bound{Of: of, Least: least, At: float64(w.SI), Written: w.String(), Owner: owner})
	}
}
