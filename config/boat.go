package config

import "fairwindow/conditions/unit"

// Boat is one order. Boats live in the store; files only carry them in and out.
type Boat struct {
	Name   string                    `yaml:"boat" json:"boat"`
	Owner  string                    `yaml:"owner,omitempty" json:"owner,omitempty"`
	Length unit.Written[unit.Length] `yaml:"length" json:"length"`
	Beam   unit.Written[unit.Length] `yaml:"beam" json:"beam"`
	Height unit.Written[unit.Length] `yaml:"height,omitempty" json:"height,omitempty"` // on its stands
	Weight unit.Written[unit.Mass]   `yaml:"weight,omitempty" json:"weight,omitempty"`
	Build  string                    `yaml:"build,omitempty" json:"build,omitempty"`   // laminate, cored, aluminium, steel, wood
	Colour string                    `yaml:"colour,omitempty" json:"colour,omitempty"` // white, light, medium, dark
	// Skin is its layers, outermost first; without it those usual for its build.
	Skin []Layer `yaml:"skin,omitempty" json:"skin,omitempty"`
	// Behind is what is behind the skin of its sides: cabin, tank, keel or open.
	Behind string `yaml:"behind,omitempty" json:"behind,omitempty"`
	// Arrives and Promised are days or times in the yard's zone: 2026-04-03 or 2026-04-03 08:00.
	Arrives  string `yaml:"arrives" json:"arrives"`
	Promised string `yaml:"promised" json:"promised"` // launch
	// Warranty is its last day, 2029-06-30, or forever; empty: the yard's, from the launch on.
	Warranty string `yaml:"warranty,omitempty" json:"warranty,omitempty"`
	Place    string `yaml:"place,omitempty" json:"place,omitempty"` // where it is put on arrival
	Areas    []Area `yaml:"areas" json:"areas"`
}

// Area is a part of a boat with its own system.
type Area struct {
	Name   string                  `yaml:"area" json:"area"` // topsides, house, deck, boot stripe, loose parts
	System string                  `yaml:"system" json:"system"`
	Size   unit.Written[unit.Area] `yaml:"size" json:"size"`
	// Done names the last stage finished before the boat came into this program; empty for none.
	Done   string `yaml:"done,omitempty" json:"done,omitempty"`
	DoneAt string `yaml:"done_at,omitempty" json:"done_at,omitempty"` // when, yard time
	// After names an area of the same boat that is finished first.
	After string `yaml:"after,omitempty" json:"after,omitempty"`
}
