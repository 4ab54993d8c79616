package config

import (
	"fmt"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/skin"
	"fairwindow/conditions/sky"
	"fairwindow/conditions/unit"
)

// Layer is one layer of a boat's skin, of a material that package skin knows.
type Layer struct {
	Of    string                    `yaml:"of" json:"of"`
	Thick unit.Written[unit.Length] `yaml:"thick" json:"thick"`
}

// What a boat is taken for until its owner says more: the commonest of each.
const (
	usualBuild  = "laminate"
	usualColour = "light"
	usualBehind = "cabin"
)

// Part is the part of the boat that an area lies on: as its name says, else the sides.
func (a Area) Part() conditions.Part {
	name := strings.ToLower(a.Name)
	for _, word := range []struct {
		part  string
		means conditions.Part
	}{{"deck", conditions.Deck}, {"house", conditions.House}, {"cabin", conditions.House}, {"superstructure", conditions.House}} {
		if strings.Contains(name, word.part) {
			return word.means
		}
	}
	return conditions.Sides
}

// Hull is the boat's facets: of its layers as written, else of those usual for its
// build, in its colour. What is behind counts for the sides; house and deck have
// the cabin behind them. Its errors name the layer.
func (b Boat) Hull() (conditions.Hull, error) {
	layers, err := b.layers()
	if err != nil {
		return nil, err
	}
	absorbs, ok := skin.Absorptance(orUsual(b.Colour, usualColour))
	if !ok {
		return nil, fmt.Errorf("the colour %q is not known; use %s", b.Colour, either(colours))
	}
	made := map[string]*skin.Model{}
	for _, behind := range []string{usualBehind, orUsual(b.Behind, usualBehind)} {
		backing, ok := skin.Behind(behind)
		if !ok {
			return nil, fmt.Errorf("behind: %q is not known; use %s", behind, either(backings))
		}
		if made[behind], err = skin.New(skin.Skin{Layers: layers, Absorbs: absorbs, Emits: paintEmits, Behind: backing}); err != nil {
			return nil, err
		}
	}
	cabin := made[usualBehind]
	return conditions.NewHull(made[orUsual(b.Behind, usualBehind)], cabin, cabin), nil
}

// paintEmits is the emissivity of paints of any colour: about 0.9, open literature.
const paintEmits = 0.9

func (b Boat) layers() ([]skin.Layer, error) {
	if len(b.Skin) == 0 {
		layers, ok := skin.Build(orUsual(b.Build, usualBuild))
		if !ok {
			return nil, fmt.Errorf("the build %q is not known; use %s", b.Build, either(builds))
		}
		return layers, nil
	}
	var layers []skin.Layer
	for i, l := range b.Skin {
		layer, ok := skin.Material(l.Of)
		if !ok {
			return nil, fmt.Errorf("skin, layer %d: no figures are known of %q; use %s", i+1, l.Of, either(skin.Materials()))
		}
		layer.Thick = l.Thick.SI
		layers = append(layers, layer)
	}
	return layers, nil
}

func orUsual(word, usual string) string {
	if word == "" {
		return usual
	}
	return word
}

// filmPasses is the part of the sun that comes through a tent's film, where the
// yard has not said. Our judgement, no source: white film passes less, clear more.
const filmPasses = 0.3

// Stand is the place as a hull in it meets sun and sky. An unwritten heading is
// north.
func (y Yard) Stand(p Place) conditions.Stand {
	s := conditions.Stand{
		Enclosure: y.Enclosure(p),
		Site:      sky.Site{Latitude: y.Latitude, Longitude: y.Longitude},
		Heading:   p.Heading,
		Film:      p.Kind == Tent,
	}
	switch {
	case p.Sun != nil:
		s.Sun = float64(p.Sun.SI)
	case p.Kind == Tent:
		s.Sun = filmPasses
	case !p.Roofed():
		s.Sun = 1
	}
	return s
}
