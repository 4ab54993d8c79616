package config

import "fairwindow/conditions/unit"

// Modbus says where an instrument with Modbus TCP is, or the gateway to it.
type Modbus struct {
	Address string        `yaml:"address" json:"address"`                 // host:port
	Unit    *int          `yaml:"unit,omitempty" json:"unit,omitempty"`   // behind a gateway; default 1
	Every   unit.Duration `yaml:"every,omitempty" json:"every,omitempty"` // how often it is asked; default 1 min
}

// UnitID is the unit that is asked.
func (m Modbus) UnitID() int {
	if m.Unit == nil {
		return 1
	}
	return *m.Unit
}

// The words of a value that stands in registers.
const (
	Int16   = "int16" // the default
	Uint16  = "uint16"
	Int32   = "int32"
	Uint32  = "uint32"
	Float32 = "float32"

	HoldingRegister = "holding" // the default
	InputRegister   = "input"

	HighFirst = "high first" // the default
	LowFirst  = "low first"
)

// Registers is how many registers a value takes.
func (f Field) Registers() int {
	switch f.Type {
	case Int32, Uint32, Float32:
		return 2
	}
	return 1
}
