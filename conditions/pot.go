package conditions

import (
	"math"
	"time"

	"fairwindow/conditions/unit"
)

// PotLife is how long mixed paint lasts in a pot of one temperature. It halves
// with each 10 °C more and doubles with each 10 °C less (UFGS 09971, 3.7.1.3,
// there from 21 °C and 50 % of humidity; damp air shortens a urethane's, by how
// much no public document says).
type PotLife struct {
	Lasts unit.Duration                  `yaml:"lasts" json:"lasts"`
	At    unit.Written[unit.Temperature] `yaml:"at" json:"at"`
}

// Induction is the standing time after mixing for a mix between two temperatures.
type Induction struct {
	From   unit.Written[unit.Temperature] `yaml:"from" json:"from"`
	To     unit.Written[unit.Temperature] `yaml:"to" json:"to"`
	Stands unit.Duration                  `yaml:"stands" json:"stands"`
}

// Stood is a stretch of one temperature of the pot, from the end of the one before it.
type Stood struct {
	Until time.Time        `json:"until"`
	At    unit.Temperature `json:"at"`
}

// LastsAt is how long a pot lasts at a steady temperature, from mixing. At an
// unknown one it is as long as the card says; zero if the card gives none.
func (p PotLife) LastsAt(pot unit.Temperature) time.Duration {
	if p.At.IsZero() || !unit.Known(pot) {
		return p.Lasts.Std()
	}
	// No pot is waited for longer than ten doublings, nor than a hundred years; it
	// keeps the cold from overflowing.
	doublings := math.Min(float64(p.At.SI.Over(pot))/10, 10)
	lasts := math.Min(float64(p.Lasts)*math.Exp2(doublings), 100*365*24*float64(time.Hour))
	if lasts > 0 {
		lasts = math.Max(lasts, float64(time.Second)) // zero would be a card that gives none
	}
	return time.Duration(lasts).Round(time.Second)
}

// Warmest is the temperature that a pot's clock goes by while it stands: the warmer of
// the air and the hull of each moment, the warmest of all. A pot that has once been hot
// is never trusted for longer since it cooled. NaN where nothing was measured.
func Warmest(stood ...Moment) unit.Temperature {
	warmest := unit.NaN[unit.Temperature]()
	for _, m := range stood {
		for _, t := range []unit.Temperature{m.Air, m.Coldest} {
			if unit.Known(t) && !(t <= warmest) {
				warmest = t
			}
		}
	}
	return warmest
}

// Ends is when a pot mixed at a time is over, to the second: its life is used up
// at the rate of each temperature it stood at, as a cure is. After the last of
// them it is taken to keep that temperature. It is mixed itself if the card gives
// no pot life.
func (p PotLife) Ends(mixed time.Time, pot []Stood) time.Time {
	at, left, temp := mixed, 1.0, unit.NaN[unit.Temperature]()
	for _, s := range pot {
		temp = s.At
		lasts := p.LastsAt(temp)
		if !s.Until.After(at) || lasts <= 0 {
			continue
		}
		used := float64(s.Until.Sub(at)) / float64(lasts)
		if used >= left {
			break
		}
		at, left = s.Until, left-used
	}
	return at.Add(max(0, time.Duration(left*float64(p.LastsAt(temp))).Round(time.Second)))
}

// Stands is how long a mix at a temperature must stand before use; beyond the
// ranges it is that of the nearest, where two meet the longer, and at an unknown
// temperature the longest of all. Zero if there are none.
func Stands(ranges []Induction, mix unit.Temperature) time.Duration {
	var stands time.Duration
	nearest := math.Inf(1)
	for _, r := range ranges {
		off := 0.0
		if unit.Known(mix) {
			off = math.Max(0, math.Max(float64(r.From.SI-mix), float64(mix-r.To.SI)))
		}
		if off < nearest || (off == nearest && r.Stands.Std() > stands) {
			stands, nearest = r.Stands.Std(), off
		}
	}
	return stands
}
