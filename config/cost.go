package config

import (
	"fmt"

	"fairwindow/conditions/unit"
)

// Rates are what waiting costs the yard. Without them nothing is said of money.
type Rates struct {
	Currency string  `yaml:"currency" json:"currency"`                     // as it is written behind an amount: EUR
	Painter  float64 `yaml:"painter,omitempty" json:"painter,omitempty"`   // an hour of one person who had no work
	Booth    float64 `yaml:"booth,omitempty" json:"booth,omitempty"`       // an hour of a booth in which a boat waited
	BoatDay  float64 `yaml:"boat_day,omitempty" json:"boat_day,omitempty"` // a day by which a launch was put off
}

// LostDay is when a day counts as lost to the weather. The usual clauses of construction
// contracts, which yards take over, ask that half of the working day is lost, on the critical
// path, and that the crew could not be sent to other work (ER 415-1-15 of 1989, its half day
// from memory; the same half in published clauses).
type LostDay struct {
	// Part of the crew's shift that has to be lost; default 50 %.
	Part unit.Written[unit.Share] `yaml:"part,omitempty" json:"part,omitempty"`
	// AnyStage counts days also on stages that the launch does not hang on.
	AnyStage bool `yaml:"any_stage,omitempty" json:"any_stage,omitempty"`
	// OtherWork counts days also on which the crew had other work.
	OtherWork bool `yaml:"other_work,omitempty" json:"other_work,omitempty"`
}

// usualPart of a shift, where the yard's rule names none.
const usualPart = 0.5

// Least is the part of the shift that has to be lost.
func (l LostDay) Least() float64 {
	if l.Part.IsZero() {
		return usualPart
	}
	return float64(l.Part.SI)
}

func (c *checker) costs() {
	if r := c.y.Rates; r != nil {
		if r.Currency == "" {
			c.fault("rates.currency", "the rates have no currency", "write it as it stands behind an amount, like EUR")
		}
		for _, one := range []struct {
			key  string
			rate float64
		}{{"painter", r.Painter}, {"booth", r.Booth}, {"boat_day", r.BoatDay}} {
			if !(one.rate >= 0 && one.rate <= 1e9) {
				c.fault("rates."+one.key, fmt.Sprintf("%g is no rate", one.rate), "write an amount of money from 0 on, without its currency")
			}
		}
	}
	if l := c.y.LostDay; l != nil && !l.Part.IsZero() && !(l.Part.SI > 0 && l.Part.SI <= 1) {
		c.fault("lost_day.part", fmt.Sprintf("%s is no part of a shift", l.Part), "write more than 0 % and at most 100 %, like 50 %")
	}
}
