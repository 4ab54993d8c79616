package conditions

import (
	"math"

	"fairwindow/conditions/unit"
)

// Milestone is a point in a coat's cure.
type Milestone string

// Milestones, in the order in which a coat meets them.
const (
	DustFree   Milestone = "dust_free"
	TouchDry   Milestone = "touch_dry"
	Protected  Milestone = "protected" // dew and rain no longer mark it
	Taped      Milestone = "taped"     // may be taped over, tape may be pulled
	Recoat     Milestone = "recoat"    // may be overcoated
	Sandable   Milestone = "sandable"
	Movable    Milestone = "movable"
	LastRecoat Milestone = "last_recoat" // may no longer be overcoated as it is
	Reactivate Milestone = "reactivate"  // may no longer be reactivated by wiping
	Launch     Milestone = "launch"
)

// Cure is a card's table of times at temperatures. Between the points the rate
// follows Arrhenius; beyond them there is none: the card is silent there.
type Cure struct {
	DustFree   Table `yaml:"dust_free,omitempty" json:"dust_free,omitempty"`
	TouchDry   Table `yaml:"touch_dry,omitempty" json:"touch_dry,omitempty"`
	Protected  Table `yaml:"protected,omitempty" json:"protected,omitempty"`
	Taped      Table `yaml:"taped,omitempty" json:"taped,omitempty"`
	Recoat     Table `yaml:"recoat,omitempty" json:"recoat,omitempty"`
	Sandable   Table `yaml:"sandable,omitempty" json:"sandable,omitempty"`
	Movable    Table `yaml:"movable,omitempty" json:"movable,omitempty"`
	LastRecoat Table `yaml:"last_recoat,omitempty" json:"last_recoat,omitempty"`
	Reactivate Table `yaml:"reactivate,omitempty" json:"reactivate,omitempty"`
	Launch     Table `yaml:"launch,omitempty" json:"launch,omitempty"`
	// Bands replace Recoat and LastRecoat by the rule of the hottest hour: the
	// band is chosen by the highest surface temperature held for an hour since
	// the coat (UFGS 09971). They rise and do not overlap.
	Bands []Band `yaml:"bands,omitempty" json:"bands,omitempty"`
	// Humidity is what the air's humidity makes of every table's rate, rising in
	// humidity; without it the card's cure does not mind. It leaves Bands alone.
	Humidity []HumidityPoint `yaml:"humidity,omitempty" json:"humidity,omitempty"`
}

// Table is the time a milestone takes at each of a few steady temperatures, rising.
type Table []Point

// Point is one entry of a Table.
type Point struct {
	At    unit.Written[unit.Temperature] `yaml:"at" json:"at"`
	Takes unit.Duration                  `yaml:"takes" json:"takes"`
}

// HumidityPoint is the factor on the rate at one humidity: 1 is the tables' own
// rate, 0.5 takes twice as long. Between two points it is linear; beyond them the
// card is silent.
type HumidityPoint struct {
	At     unit.Written[unit.Humidity] `yaml:"at" json:"at"`
	Factor float64                     `yaml:"factor" json:"factor"`
}

// Band is the recoat window for a range of surface temperatures.
type Band struct {
	From   unit.Written[unit.Temperature] `yaml:"from" json:"from"`
	To     unit.Written[unit.Temperature] `yaml:"to" json:"to"`
	Opens  unit.Duration                  `yaml:"opens" json:"opens"`
	Closes unit.Duration                  `yaml:"closes" json:"closes"`
}

// Of is the table of a milestone; empty if the card gives none.
func (c Cure) Of(m Milestone) Table {
	switch m {
	case DustFree:
		return c.DustFree
	case TouchDry:
		return c.TouchDry
	case Protected:
		return c.Protected
	case Taped:
		return c.Taped
	case Recoat:
		return c.Recoat
	case Sandable:
		return c.Sandable
	case Movable:
		return c.Movable
	case LastRecoat:
		return c.LastRecoat
	case Reactivate:
		return c.Reactivate
	case Launch:
		return c.Launch
	}
	return nil
}

// Cautious is the table of a milestone at a humidity that nobody knows: an
// opening as late and a closing as early as any humidity of the card makes it.
func (c Cure) Cautious(m Milestone) Table {
	t := c.Of(m)
	if len(c.Humidity) == 0 || len(t) == 0 {
		return t
	}
	factor, _ := c.slowing(unit.NaN[unit.Humidity]())
	if m.Closes() {
		factor = c.hastening(unit.NaN[unit.Humidity]())
	}
	scaled := make(Table, len(t))
	for i, p := range t {
		p.Takes = unit.Duration(min(float64(p.Takes)/factor, math.MaxInt64/2))
		scaled[i] = p
	}
	return scaled
}
