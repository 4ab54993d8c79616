package skin

import (
	"errors"
	"fmt"

	"fairwindow/conditions/unit"
)

// Layer is one material of a skin.
type Layer struct {
	Thick    unit.Length // m
	Conducts float64     // thermal conductivity, W/(m K)
	Density  float64     // kg/m³
	Heat     float64     // specific heat capacity, J/(kg K)
}

// Backing is what the inner face of a skin gives its heat to. Without a Mass
// that is the air given as Exposure.Inside; with one it is the mass, which
// itself follows that air. The zero Backing is insulated.
type Backing struct {
	Convects float64 // from the inner face, with its radiation, W/(m² K)
	Mass     float64 // heat capacity behind each m² of skin, J/(m² K): water, ballast, a cabin with what is in it
	Couples  float64 // from that mass to the air given as Inside, W/(m² K)
}

// Skin is one facet of a hull.
type Skin struct {
	Layers  []Layer // outermost first
	Absorbs float64 // part of the sunlight taken up, 0 to 1: Absorptance
	Emits   float64 // long wave emissivity, 0 to 1: of paints of any colour about 0.9
	Behind  Backing
}

// check says every mistake in a skin, by layer counted from outside.
func (s Skin) check() error {
	var wrong []error
	say := func(format string, args ...any) { wrong = append(wrong, fmt.Errorf(format, args...)) }
	room := nodes - 1
	if s.Behind.Mass > 0 {
		room--
	}
	if n := len(s.Layers); n == 0 {
		say("the skin has no layer: give at least one, outermost first")
	} else if n > room {
		say("the skin has %d layers: at most %d can be told apart, so put thin neighbours together", n, room)
	}
	for i, l := range s.Layers {
		for _, p := range []struct {
			name, unit, like string
			value            float64
		}{
			{"thickness", "m", "0.008", float64(l.Thick)},
			{"conductivity", "W/(m K)", "0.3", l.Conducts},
			{"density", "kg/m³", "1600", l.Density},
			{"heat capacity", "J/(kg K)", "1200", l.Heat},
		} {
			if !(p.value > 0) || !unit.Known(p.value) {
				say("layer %d from outside: %s is %v %s: it must be more than 0, like %s for a laminate", i+1, p.name, p.value, p.unit, p.like)
			}
		}
	}
	for _, p := range []struct {
		name  string
		value float64
	}{{"absorptance", s.Absorbs}, {"emissivity", s.Emits}} {
		if !(p.value >= 0 && p.value <= 1) {
			say("%s is %v: it is a part of the whole, 0 to 1, like 0.9 for a dark paint", p.name, p.value)
		}
	}
	b := s.Behind
	for _, p := range []struct {
		name, unit string
		value      float64
	}{
		{"convection", "W/(m² K)", b.Convects}, {"mass", "J/(m² K)", b.Mass}, {"coupling", "W/(m² K)", b.Couples},
	} {
		if !(p.value >= 0) || !unit.Known(p.value) {
			say("behind the skin: %s is %v %s: it must be 0 or more", p.name, p.value, p.unit)
		}
	}
	if b.Mass > 0 && b.Convects == 0 {
		say("behind the skin: a mass of %v J/(m² K) that no heat reaches: give the convection from the inner face, like 8 W/(m² K) to air", b.Mass)
	}
	if b.Mass == 0 && b.Couples > 0 {
		say("behind the skin: a coupling of %v W/(m² K) of no mass: give the mass in J/(m² K), or no coupling", b.Couples)
	}
	return errors.Join(wrong...)
}
