package conditions

import "fairwindow/conditions/skin"

// Part is a part of a boat whose surface is judged by itself: under a clear sky
// a deck dews while the sides beside it are dry.
type Part string

// The parts, as crews part the work.
const (
	Sides Part = "sides"
	House Part = "house"
	Deck  Part = "deck"
)

// Facet is one plane of a hull.
type Facet struct {
	Name string
	Part Part
	Tilt float64 // degrees from the level: 0 faces up, 90 is upright
	Turn float64 // degrees from the bow over starboard to the way it faces
	Skin *skin.Model
}

// Hull is a boat's facets, or those of one part of it.
type Hull []Facet

// NewHull is a hull of six facets: both topsides, the transom, both sides of the
// house and the deck. A round bilge is left out: nobody coats it with these.
func NewHull(sides, house, deck *skin.Model) Hull {
	return Hull{
		{Name: "port topside", Part: Sides, Tilt: 90, Turn: 270, Skin: sides},
		{Name: "starboard topside", Part: Sides, Tilt: 90, Turn: 90, Skin: sides},
		{Name: "transom", Part: Sides, Tilt: 90, Turn: 180, Skin: sides},
		{Name: "house, port side", Part: House, Tilt: 90, Turn: 270, Skin: house},
		{Name: "house, starboard side", Part: House, Tilt: 90, Turn: 90, Skin: house},
		{Name: "deck", Part: Deck, Tilt: 0, Skin: deck},
	}
}

// Of is the facets of one part.
func (h Hull) Of(p Part) Hull {
	var of Hull
	for _, f := range h {
		if f.Part == p {
			of = append(of, f)
		}
	}
	return of
}
