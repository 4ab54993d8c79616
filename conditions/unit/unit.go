// Package unit answers one question: in which unit is this number? A
// temperature is not a temperature difference, so 5 °F is 2.78 K as a margin
// and −15 °C on a thermometer; the compiler keeps the two apart.
//
// A plain type (Temperature, TempDiff, …) holds the SI value and is what
// formulas use. Written keeps a quantity as a person wrote it, so that a rule
// of 5 °F is still called 5 °F when it decides.
package unit

import (
	"fmt"
	"math"
	"strconv"
)

type (
	// Temperature is a point on the Celsius scale, °C.
	Temperature float64
	// TempDiff is a difference between two temperatures, K.
	TempDiff float64
	// Humidity is relative humidity over liquid water, % (0 to 100).
	Humidity float64
	// Pressure is absolute air pressure, Pa.
	Pressure float64
	// Speed is a wind speed, m/s.
	Speed float64
	// RainRate is precipitation, mm/h.
	RainRate float64
	// Length is a length on a boat or a site, m.
	Length float64
	// Film is a paint film's thickness, µm.
	Film float64
	// Area is a surface, m².
	Area float64
	// Volume is a volume of paint, L.
	Volume float64
	// Share is a part of a whole, 0 to 1.
	Share float64
	// Power is a heater's power, kW.
	Power float64
	// Flow is an air flow, m³/h.
	Flow float64
	// WaterRate is water taken out of air, kg/h.
	WaterRate float64
	// Mass is a boat's weight, t.
	Mass float64
	// WorkRate is surface worked by one person, m²/h.
	WorkRate float64
	// Conductance is heat lost for each kelvin, W/K.
	Conductance float64
	// Density is what a litre of paint weighs, kg/L.
	Density float64
	// Rate is how fast a temperature, or a difference of two, changes, K/h.
	Rate float64
)

// NaN stands for a value that is not known. It is JSON's null.
func NaN[T ~float64]() T { return T(math.NaN()) }

// Known reports whether a value is known and finite.
func Known[T ~float64](v T) bool { return !math.IsNaN(float64(v)) && !math.IsInf(float64(v), 0) }

// Over is how far the temperature lies above another.
func (t Temperature) Over(other Temperature) TempDiff { return TempDiff(t - other) }

// Plus shifts a temperature by a difference.
func (t Temperature) Plus(d TempDiff) Temperature { return t + Temperature(d) }

func marshal[T ~float64](v T) ([]byte, error) {
	if !Known(v) {
		return []byte("null"), nil
	}
	// Nine digits: more than any instrument resolves, and the same text on every machine.
	return strconv.AppendFloat(nil, float64(v), 'g', 9, 64), nil
}

func unmarshal[T ~float64](v *T, text []byte) error {
	if string(text) == "null" {
		*v = NaN[T]()
		return nil
	}
	f, err := strconv.ParseFloat(string(text), 64)
	if err != nil {
		return fmt.Errorf("%s is not a number; write one, or null for a value that is not known", text)
	}
	*v = T(f)
	return nil
}

// MarshalJSON writes °C, or null when unknown.
func (t Temperature) MarshalJSON() ([]byte, error) { return marshal(t) }

// UnmarshalJSON reads °C or null.
func (t *Temperature) UnmarshalJSON(b []byte) error { return unmarshal(t, b) }

// MarshalJSON writes K, or null when unknown.
func (d TempDiff) MarshalJSON() ([]byte, error) { return marshal(d) }

// UnmarshalJSON reads K or null.
func (d *TempDiff) UnmarshalJSON(b []byte) error { return unmarshal(d, b) }

// MarshalJSON writes %, or null when unknown.
func (h Humidity) MarshalJSON() ([]byte, error) { return marshal(h) }

// UnmarshalJSON reads % or null.
func (h *Humidity) UnmarshalJSON(b []byte) error { return unmarshal(h, b) }

// MarshalJSON writes m/s, or null when unknown.
func (s Speed) MarshalJSON() ([]byte, error) { return marshal(s) }

// UnmarshalJSON reads m/s or null.
func (s *Speed) UnmarshalJSON(b []byte) error { return unmarshal(s, b) }

// MarshalJSON writes mm/h, or null when unknown.
func (r RainRate) MarshalJSON() ([]byte, error) { return marshal(r) }

// UnmarshalJSON reads mm/h or null.
func (r *RainRate) UnmarshalJSON(b []byte) error { return unmarshal(r, b) }

// MarshalJSON writes a part of one, or null when unknown.
func (s Share) MarshalJSON() ([]byte, error) { return marshal(s) }

// UnmarshalJSON reads a part of one or null.
func (s *Share) UnmarshalJSON(b []byte) error { return unmarshal(s, b) }

// MarshalJSON writes K/h, or null when unknown.
func (r Rate) MarshalJSON() ([]byte, error) { return marshal(r) }

// UnmarshalJSON reads K/h or null.
func (r *Rate) UnmarshalJSON(b []byte) error { return unmarshal(r, b) }
