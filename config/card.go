package config

import (
	"fmt"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Limits are bounds on the air and the surface; see conditions.Limits.
type Limits = conditions.Limits

// PotLife is how long mixed paint lasts; see conditions.PotLife.
type PotLife = conditions.PotLife

// Induction is the standing time of a mix; see conditions.Induction.
type Induction = conditions.Induction

// Profile is a named set of limits from a published document.
type Profile struct {
	Name   string `yaml:"name" json:"name"`
	Source string `yaml:"source" json:"source"` // document and section
	Limits Limits `yaml:"limits" json:"limits"`
}

// Card is one coating material as the yard entered it from the maker's instructions.
type Card struct {
	Name         string `yaml:"name" json:"name"`
	Revision     int    `yaml:"revision" json:"revision"`
	Illustrative bool   `yaml:"illustrative,omitempty" json:"illustrative,omitempty"` // made up, not a maker's figures
	Material     string `yaml:"material" json:"material"`                             // epoxy primer, polyurethane topcoat, …
	Profile      string `yaml:"profile,omitempty" json:"profile,omitempty"`           // where this card is silent; default the yard's

	Limits Limits          `yaml:"limits,omitempty" json:"limits,omitempty"`
	Cure   conditions.Cure `yaml:"cure" json:"cure"`
	// ProtectUntil is the milestone up to which a coat must be kept within its limits
	// and dry; default the last one of Protection, else Protected.
	ProtectUntil conditions.Milestone `yaml:"protect_until" json:"protect_until"`
	// Protected are the limits that hold from the last drop to ProtectUntil; default margin and surface of Limits.
	Protected Limits `yaml:"protected,omitempty" json:"protected,omitempty"`
	// Protection are limits after the last drop that end at milestones of their own,
	// in place of that default: no rain until touch-dry, no dew until protected.
	Protection []Protect `yaml:"protection,omitempty" json:"protection,omitempty"`

	FlashOff Interval      `yaml:"flash_off" json:"flash_off"` // between two passes of one coat
	WetEdge  unit.Duration `yaml:"wet_edge,omitempty" json:"wet_edge,omitempty"`
	Mix      Mix           `yaml:"mix" json:"mix"`
	Variants []Variant     `yaml:"variants,omitempty" json:"variants,omitempty"`
	Spread   Spread        `yaml:"spread" json:"spread"`
	PotLife  PotLife       `yaml:"pot_life" json:"pot_life"`
	Induct   []Induction   `yaml:"induction,omitempty" json:"induction,omitempty"`
	Cautions []string      `yaml:"cautions,omitempty" json:"cautions,omitempty"`
}

// Title names the card as verdicts and records do: "card Topcoat rev 2".
func (c Card) Title() string { return fmt.Sprintf("card %s rev %d", c.Name, c.Revision) }

// Protect is limits that hold from the last drop until a milestone.
type Protect struct {
	Until  conditions.Milestone `yaml:"until" json:"until"`
	Limits Limits               `yaml:"limits" json:"limits"`
}

// Interval is a least and a greatest duration; no greatest is zero.
type Interval struct {
	Least    unit.Duration `yaml:"least" json:"least"`
	Greatest unit.Duration `yaml:"greatest,omitempty" json:"greatest,omitempty"`
}

// Mix is the parts by volume. Reducer is a share of the mixed base and hardener.
type Mix struct {
	Base     float64                  `yaml:"base" json:"base"`
	Hardener float64                  `yaml:"hardener" json:"hardener"`
	Reducer  unit.Written[unit.Share] `yaml:"reducer,omitempty" json:"reducer,omitempty"`
	// Kit is what one kit holds, where the maker says that only whole kits are mixed.
	Kit Kit `yaml:"kit,omitempty" json:"kit,omitzero"`
	// Density is what each weighs, where it is mixed by weight too.
	Density Density `yaml:"density,omitempty" json:"density,omitzero"`
}

// Kit is the volumes of base and hardener that come together.
type Kit struct {
	Base     unit.Written[unit.Volume] `yaml:"base" json:"base"`
	Hardener unit.Written[unit.Volume] `yaml:"hardener,omitempty" json:"hardener,omitempty"`
}

// Density is what a volume of each part weighs.
type Density struct {
	Base     unit.Written[unit.Density] `yaml:"base,omitempty" json:"base,omitempty"`
	Hardener unit.Written[unit.Density] `yaml:"hardener,omitempty" json:"hardener,omitempty"`
	Reducer  unit.Written[unit.Density] `yaml:"reducer,omitempty" json:"reducer,omitempty"`
}

// Variant is the card with one hardener and reducer, for hulls within a range.
type Variant struct {
	Name     string                         `yaml:"name" json:"name"`
	Hardener string                         `yaml:"hardener,omitempty" json:"hardener,omitempty"`
	Reducer  string                         `yaml:"reducer,omitempty" json:"reducer,omitempty"`
	From     unit.Written[unit.Temperature] `yaml:"from" json:"from"` // of the surface
	To       unit.Written[unit.Temperature] `yaml:"to" json:"to"`
	Method   string                         `yaml:"method,omitempty" json:"method,omitempty"` // spray, brush, roll; default spray
}

// Spread is how far the paint goes.
type Spread struct {
	Solids unit.Written[unit.Share] `yaml:"solids" json:"solids"` // by volume, of the mixed paint before reducer
	Dry    unit.Written[unit.Film]  `yaml:"dry_film" json:"dry_film"`
	Loss   unit.Written[unit.Share] `yaml:"loss" json:"loss"` // overspray and what stays in the pot
}
