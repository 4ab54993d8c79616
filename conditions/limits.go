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
	// WindMax bounds mean wind and gusts, or the mean alone where GustMax is given.
	WindMax *unit.Written[unit.Speed] `yaml:"wind_max,omitempty" json:"wind_max,omitempty"`
	GustMax *unit.Written[unit.Speed] `yaml:"gust_max,omitempty" json:"gust_max,omitempty"`
	RainMax *unit.Written[unit.Share] `yaml:"rain_max,omitempty" json:"rain_max,omitempty"` // chance of rain, without a roof
	// AboveAir is the most by which the warmest surface may be warmer than the air,
	// BelowAir by which the coldest may be colder.
	AboveAir *unit.Written[unit.TempDiff] `yaml:"above_air,omitempty" json:"above_air,omitempty"`
	BelowAir *unit.Written[unit.TempDiff] `yaml:"below_air,omitempty" json:"below_air,omitempty"`
	// Falls is how fast the coldest surface may cool at most, Rising how fast its
	// margin must grow at least: 0 K/h is a margin that does not fall ("above the dew
	// point and rising", MIL-HDBK-1110, par. 9.6.6).
	Falls  *unit.Written[unit.Rate] `yaml:"falls,omitempty" json:"falls,omitempty"`
	Rising *unit.Written[unit.Rate] `yaml:"rising,omitempty" json:"rising,omitempty"`
	// PaintBelow is the most by which the paint may be colder than the warmest
	// surface: 0 K is paint at least as warm as it (MIL-HDBK-1110, par. 7.4.1).
	PaintBelow *unit.Written[unit.TempDiff] `yaml:"paint_below,omitempty" json:"paint_below,omitempty"`
}

// Quantity is what a bound bounds.
type Quantity string

// Quantities, named as people read them, with _ for a space.
const (
	OfMargin   Quantity = "margin"
	OfHumidity Quantity = "humidity"
	OfAir      Quantity = "air"
	OfSurface  Quantity = "surface"
	OfWind     Quantity = "wind" // the greater of mean and gust
	OfMeanWind Quantity = "mean_wind"
	OfGust     Quantity = "gust"
	OfRain     Quantity = "rain"
	OfAboveAir Quantity = "surface_above_air"
	OfBelowAir Quantity = "surface_below_air"
	OfFall     Quantity = "fall_of_the_surface"
	OfRise     Quantity = "rise_of_the_margin"
	OfPaint    Quantity = "paint_below_surface"
	OfDrip     Quantity = "cover_over_dew_point" // of a tent, which drips when it is wet
)

// quantities in the order in which rules are given; an array, which costs no memory.
func quantities() [14]Quantity {
	return [14]Quantity{
		OfMargin, OfRise, OfHumidity, OfAir, OfSurface, OfFall, OfAboveAir, OfBelowAir, OfPaint, OfDrip,
		OfWind, OfMeanWind, OfGust, OfRain,
	}
}

// Bound is one limit with its owner.
type Bound struct {
	Of      Quantity `json:"of"`
	Least   bool     `json:"least"`   // a least value, else a greatest
	At      float64  `json:"at"`      // K, %, °C, m/s, part of one, K/h
	Written string   `json:"written"` // as the owner wrote it: 5 F
	Owner   string   `json:"owner"`   // card Topcoat rev 3, profile X, the yard, booth 2
	// IfKnown is a bound that nobody wrote: it counts where its value is known, and
	// a value that nobody gives shuts nothing.
	IfKnown bool `json:"if_known,omitempty"`
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
// set says anything; where a set bounds wind and gusts as one it says something
// of both, and where one bounds the gusts the fallback's wind is left the mean.
// The order is by quantity, least before greatest, the strictest first, then as
// given; so the same sets give the same rules.
func Strictest(fallback *Owned, sets ...Owned) Rules {
	var rules Rules
	for _, set := range sets {
		rules = append(rules, set.bounds()...)
	}
	if fallback == nil {
		return rules.And(nil)
	}
	var filled Rules
	for _, b := range fallback.bounds() {
		if b.Of == OfWind && rules.bound(OfGust, false) {
			b.Of = OfMeanWind
		}
		gusty := (b.Of == OfMeanWind || b.Of == OfGust) && rules.bound(OfWind, false)
		if !gusty && !rules.bound(b.Of, b.Least) {
			filled = append(filled, b)
		}
	}
	return rules.And(filled)
}

// And is both sets of rules, in their order; of two that are as strict the
// first's comes first. Neither is changed.
func (r Rules) And(more Rules) Rules {
	rules := slices.Concat(r, more)
	slices.SortStableFunc(rules, func(a, b Bound) int {
		strict := cmp.Compare(a.At, b.At)
		if a.Least {
			strict = -strict
		}
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), strict)
	})
	return rules
}

// bound reports whether the rules bound a quantity in a direction.
func (r Rules) bound(of Quantity, least bool) bool {
	return slices.ContainsFunc(r, func(b Bound) bool { return b.Of == of && b.Least == least })
}

// OfSkin reports whether the bound is on a hull's surface, alone or against another.
func (b Bound) OfSkin() bool {
	switch b.Of {
	case OfMargin, OfRise, OfSurface, OfFall, OfAboveAir, OfBelowAir, OfPaint:
		return true
	}
	return false
}

// rank orders bounds by quantity, least before greatest.
func (b Bound) rank() int {
	order := quantities()
	rank := 2 * slices.Index(order[:], b.Of)
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
	wind := OfWind
	if l.GustMax != nil && !l.GustMax.IsZero() {
		wind = OfMeanWind
	}
	bind(&rules, o.Owner, wind, false, l.WindMax)
	bind(&rules, o.Owner, OfGust, false, l.GustMax)
	bind(&rules, o.Owner, OfRain, false, l.RainMax)
	bind(&rules, o.Owner, OfAboveAir, false, l.AboveAir)
	bind(&rules, o.Owner, OfBelowAir, false, l.BelowAir)
	bind(&rules, o.Owner, OfFall, false, l.Falls)
	bind(&rules, o.Owner, OfRise, true, l.Rising)
	bind(&rules, o.Owner, OfPaint, false, l.PaintBelow)
	return rules
}

func bind[T ~float64](rules *Rules, owner string, of Quantity, least bool, w *unit.Written[T]) {
	if w != nil && !w.IsZero() {
		*rules = append(*rules, Bound{Of: of, Least: least, At: float64(w.SI), Written: w.String(), Owner: owner})
	}
}
