package config

import "fairwindow/conditions/unit"

// Room that a boat needs about it to be worked at. Common practice, no source.
const (
	aroundHull unit.Length = 0.5 // to each side and to each end
	aboveHull  unit.Length = 0.3
)

// Roofed reports whether the place keeps rain off.
func (p Place) Roofed() bool { return p.Kind == Booth || p.Kind == Shed || p.Kind == Tent }

// Fits reports whether a boat and the room about it fit in the place. A height
// that was not given, of the boat or of the place, does not count.
func (p Place) Fits(b Boat) bool {
	if b.Length.SI+2*aroundHull > p.Length.SI || b.Beam.SI+2*aroundHull > p.Width.SI {
		return false
	}
	return p.Height.IsZero() || b.Height.IsZero() || b.Height.SI+aboveHull <= p.Height.SI
}
