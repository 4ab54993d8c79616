package config

import (
	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// System is the ordered stages that take an area from old paint to a finished one.
type System struct {
	Name   string  `yaml:"name" json:"name"`
	Stages []Stage `yaml:"stages" json:"stages"`
}

// StageKind is what is done.
type StageKind string

// The kinds of stage.
const (
	Wash    StageKind = "wash"
	Mask    StageKind = "mask"
	Fair    StageKind = "fair"
	Sand    StageKind = "sand"
	Wipe    StageKind = "wipe"
	Coat    StageKind = "coat"
	Unmask  StageKind = "unmask"
	Inspect StageKind = "inspect"
	Hold    StageKind = "hold"
)

// Stage is one step of a system.
type Stage struct {
	Name  string    `yaml:"name" json:"name"` // once per system
	Kind  StageKind `yaml:"kind" json:"kind"`
	Skill string    `yaml:"skill,omitempty" json:"skill,omitempty"` // none: nobody works, as in a cure
	// Rate is the surface one person does in an hour; a coat's, for one pass.
	Rate   unit.Written[unit.WorkRate] `yaml:"rate,omitempty" json:"rate,omitempty"`
	Takes  unit.Duration               `yaml:"takes,omitempty" json:"takes,omitempty"`   // instead of a rate, whatever the area
	People int                         `yaml:"people,omitempty" json:"people,omitempty"` // who work at it; default 1
	Places []PlaceKind                 `yaml:"places,omitempty" json:"places,omitempty"` // kinds it may be done in
	// Uses names the equipment that is taken while people are at this stage, or while
	// it lasts if nobody works at it; twice for two of a kind.
	Uses []string `yaml:"uses,omitempty" json:"uses,omitempty"`
	// Block groups consecutive stages that are done in one place without moving the boat.
	Block string `yaml:"block,omitempty" json:"block,omitempty"`

	Grit   int    `yaml:"grit,omitempty" json:"grit,omitempty"`
	Card   string `yaml:"card,omitempty" json:"card,omitempty"`
	Passes int    `yaml:"passes,omitempty" json:"passes,omitempty"`
	// After is the milestone of the last coat that must be reached first. Default by
	// kind: sand and fair sandable, coat recoat, unmask and mask taped, others none.
	After conditions.Milestone `yaml:"after,omitempty" json:"after,omitempty"`
	// Until is the milestone of the last coat at which a hold ends.
	Until conditions.Milestone `yaml:"until,omitempty" json:"until,omitempty"`
	// Life is how long this stage's result lasts before the next coat must follow
	// (wipe, sand, mask). Zero: until the next stage, however long.
	Life   unit.Duration `yaml:"life,omitempty" json:"life,omitempty"`
	Limits Limits        `yaml:"limits,omitempty" json:"limits,omitempty"` // for stages that are not coats
}

// Interruptible reports whether a stage may pause at the end of a shift.
func (s Stage) Interruptible() bool {
	return s.Kind == Fair || s.Kind == Sand || s.Kind == Mask || s.Kind == Wash || s.Kind == Unmask
}

// Dusty reports whether a stage raises dust.
func (s Stage) Dusty() bool { return s.Kind == Sand || s.Kind == Fair }

// Needs is the milestone of the last coat that this stage waits for; empty for none.
func (s Stage) Needs() conditions.Milestone {
	if s.After != "" {
		return s.After
	}
	switch s.Kind {
	case Sand, Fair:
		return conditions.Sandable
	case Coat:
		return conditions.Recoat
	case Mask, Unmask:
		return conditions.Taped
	case Hold:
		return s.Until
	}
	return ""
}
