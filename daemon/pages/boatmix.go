package pages

import (
	"fmt"
	"net/url"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// nextCoat is an area's first coat that is not done; nil if there is none.
func nextCoat(stages []stageNow) *stageNow {
	for i := range stages {
		if s := &stages[i]; s.Stage.Kind == config.Coat && !s.Done {
			return s
		}
	}
	return nil
}

// sooner is the coat that runs or is planned first.
func sooner(a, b *stageNow) *stageNow {
	switch {
	case a == nil:
		return b
	case b == nil || a.Running:
		return a
	case b.Running:
		return b
	case !b.planned || b.plan.Start.IsZero():
		return a
	case !a.planned || a.plan.Start.IsZero() || b.plan.Start.Before(a.plan.Start):
		return b
	}
	return a
}

// mixView is the mix sheet of one coat.
type mixView struct {
	For   string
	Link  string // another temperature or area
	Note  string // why there is no sheet
	Sheet *sheetView
}

// mixFor is the mix sheet of a coat, for the hull as measured. Without a measurement
// there is none: which hardener and how long the pot lasts hang on it.
func mixFor(coat stageNow, boat config.Boat, yard config.Yard, air placeAirNow, u units) mixView {
	card, ok := yard.Card(coat.Stage.Card)
	if !ok {
		return mixView{}
	}
	size := sizeOf(boat, coat.Key.Area)
	v := mixView{
		For:  coat.Key.Stage + " on " + coat.Key.Area,
		Link: "/mix?" + url.Values{"card": {card.Name}, "area": {size.String()}}.Encode(),
	}
	if air.moment == nil || !unit.Known(air.moment.Coldest) {
		v.Note = "The hull has not been measured, so hardener, reducer and pot life cannot be named. Measure it, or type a temperature."
		return v
	}
	sheet, err := card.Sheet(size.SI, air.moment.Coldest)
	if err != nil {
		v.Note = capital(err.Error()) + "."
		return v
	}
	s := sheetOf(card, sheet, u)
	s.Basis = fmt.Sprintf("for a hull of %s as measured in %s", u.tempText(air.moment.Coldest), air.place.Name)
	if takes := passTakes(coat, size.SI); takes > 0 {
		s.pots(card, sheet, takes, u)
	}
	v.Sheet = &s
	return v
}

// passTakes is how long the people at a coat take for one pass; nothing if the system gives no rate.
func passTakes(coat stageNow, size unit.Area) time.Duration {
	if !(coat.Stage.Rate.SI > 0) {
		return 0
	}
	people := max(coat.plan.People, coat.Stage.People, 1)
	return time.Duration(float64(size) / float64(coat.Stage.Rate.SI) / float64(people) * float64(time.Hour))
}

func sizeOf(boat config.Boat, area string) unit.Written[unit.Area] {
	for _, a := range boat.Areas {
		if a.Name == area {
			return a.Size
		}
	}
	return unit.Written[unit.Area]{}
}
