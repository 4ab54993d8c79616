package config

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Sheet is what a painter mixes and lays for one pass.
type Sheet struct {
	Card         string           `json:"card"`
	Revision     int              `json:"revision"`
	Illustrative bool             `json:"illustrative"` // the card's figures are made up
	Variant      string           `json:"variant,omitempty"`
	Hardener     string           `json:"hardener,omitempty"`
	Reducer      string           `json:"reducer,omitempty"`
	Method       string           `json:"method"`
	Area         unit.Area        `json:"area"`    // m²
	Surface      unit.Temperature `json:"surface"` // °C; the pot is taken to be as warm
	Dry          unit.Film        `json:"dry"`     // µm
	Wet          unit.Film        `json:"wet"`     // µm, with reducer
	Covers       float64          `json:"covers"`  // m²/L of mixed paint, without loss or reducer
	Loss         unit.Share       `json:"loss"`
	Litres       Parts            `json:"litres"`
	PotLife      time.Duration    `json:"pot_life"` // from mixing
	Stands       time.Duration    `json:"stands"`   // after mixing, before use
	Cautions     []string         `json:"cautions,omitempty"`
}

// Parts are volumes to measure out, L.
type Parts struct {
	Base     unit.Volume `json:"base"`
	Hardener unit.Volume `json:"hardener"`
	Reducer  unit.Volume `json:"reducer"`
}

// Pot is one mixing of a sheet that takes longer to lay than its pot lives.
type Pot struct {
	Mix    time.Duration `json:"mix"` // after the first drop; before it if negative
	Use    time.Duration `json:"use"` // first drop from this pot
	Until  time.Duration `json:"until"`
	Litres Parts         `json:"litres"`
	Kits   int           `json:"kits,omitempty"` // whole ones in it; 0 where the card says nothing of kits
}

// Sheet is the mix for one pass over an area at a surface temperature.
//
// Paint, mixed and without reducer, covers 10 × solids in % / dry film in µm
// m²/L, less the loss [TSR]; the wet film is dry film / solids × (1 + reducer).
// It is an error if the card's figures are not enough, or if no variant is for
// that temperature.
func (c Card) Sheet(area unit.Area, surface unit.Temperature) (Sheet, error) {
	solids, loss, film := c.Spread.Solids.SI, c.Spread.Loss.SI, c.Spread.Dry.SI
	switch {
	case !(area > 0) || math.IsInf(float64(area), 0):
		return Sheet{}, errors.New("no area to coat; give one above 0 m2")
	case !unit.Known(surface):
		return Sheet{}, errors.New("the surface temperature is not known; measure it first")
	case !(solids > 0 && solids <= 1) || !(film > 0) || !(loss >= 0 && loss < 1):
		return Sheet{}, fmt.Errorf("%s: the spread needs solids above 0 %%, a dry film and a loss below 100 %%", c.Title())
	case !(c.Mix.Base > 0) || !(c.Mix.Hardener >= 0):
		return Sheet{}, fmt.Errorf("%s: the mix needs parts of base above 0", c.Title())
	}
	variant, err := c.variant(surface)
	if err != nil {
		return Sheet{}, err
	}
	reducer := c.Mix.Reducer.SI
	covers := 1000 * float64(solids) / float64(film)
	mixed := float64(area) / covers / (1 - float64(loss))
	parts := c.Mix.Base + c.Mix.Hardener
	s := Sheet{
		Card: c.Name, Revision: c.Revision, Illustrative: c.Illustrative,
		Variant: variant.Name, Hardener: variant.Hardener, Reducer: variant.Reducer, Method: variant.Method,
		Area: area, Surface: surface, Dry: film, Loss: loss, Covers: covers,
		Wet: film / unit.Film(solids) * (1 + unit.Film(reducer)),
		Litres: Parts{
			Base:     unit.Volume(mixed * c.Mix.Base / parts),
			Hardener: unit.Volume(mixed * c.Mix.Hardener / parts),
			Reducer:  unit.Volume(mixed * float64(reducer)),
		},
		PotLife: c.PotLife.LastsAt(surface), Stands: conditions.Stands(c.Induct, surface),
		Cautions: append([]string(nil), c.Cautions...),
	}
	if s.Method == "" {
		s.Method = Spray
	}
	return s, nil
}

// Methods of laying a coat.
const (
	Spray = "spray"
	Brush = "brush"
	Roll  = "roll"
)

// variant is the first variant for a surface temperature; a card without
// variants has one for all. A range holds both its ends, so that ranges which
// meet leave no gap, and the cooler one has the common end.
func (c Card) variant(surface unit.Temperature) (Variant, error) {
	var ranges []string
	for _, v := range c.Variants {
		if v.From.SI <= surface && surface <= v.To.SI {
			return v, nil
		}
		ranges = append(ranges, fmt.Sprintf("%s %s to %s", v.Name, v.From, v.To))
	}
	if len(c.Variants) == 0 {
		return Variant{}, nil
	}
	return Variant{}, fmt.Errorf("%s: no variant is for a surface of %s; there are %s",
		c.Title(), unit.Of(unit.Temperature(math.Round(float64(surface)*10)/10)), strings.Join(ranges, ", "))
}

// Pots parts the sheet into as many equal pots as its pot life asks for, when
// laying the pass takes so long. Each pot is mixed so that it has stood when its
// turn comes. It is an error if a pot does not outlive its standing.
func (s Sheet) Pots(takes time.Duration) ([]Pot, error) {
	n := time.Duration(1)
	if s.PotLife > 0 {
		useful := s.PotLife - s.Stands
		if useful < 5*time.Minute {
			return nil, fmt.Errorf("a pot of %s lasts %s and stands %s first: nothing is left to lay it in", s.Card, s.PotLife, s.Stands)
		}
		n = max(1, (takes+useful-1)/useful)
	}
	pots := make([]Pot, n)
	for i := range pots {
		use := takes * time.Duration(i) / n
		pots[i] = Pot{
			Mix: use - s.Stands, Use: use, Until: takes * time.Duration(i+1) / n,
			Litres: Parts{
				Base: s.Litres.Base / unit.Volume(n), Hardener: s.Litres.Hardener / unit.Volume(n), Reducer: s.Litres.Reducer / unit.Volume(n),
			},
		}
	}
	return pots, nil
}
