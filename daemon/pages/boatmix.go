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

// mix adds the mix sheet of the next coat, for the hull as measured. Without a
// measurement there is none: which hardener and how long the pot lasts hang on it.
func (v *boatView) mix(coat stageNow, boat config.Boat, yard config.Yard, air placeAirNow, u units) {
	card, ok := yard.Card(coat.Stage.Card)
	if !ok {
		return
	}
	var size unit.Written[unit.Area]
	for _, a := range boat.Areas {
		if a.Name == coat.Key.Area {
			size = a.Size
		}
	}
	v.MixFor = coat.Key.Stage + " on " + coat.Key.Area
	v.MixLink = "/mix?" + url.Values{"card": {card.Name}, "area": {size.String()}}.Encode()
	if air.moment == nil || !unit.Known(air.moment.Coldest) {
		v.MixNote = "The hull has not been measured, so hardener and pot life cannot be named. Measure it, or type a temperature."
		return
	}
	sheet, err := card.Sheet(size.SI, air.moment.Coldest)
	if err != nil {
		v.MixNote = capital(err.Error()) + "."
		return
	}
	s := sheetOf(sheet, u)
	s.Basis = fmt.Sprintf("for a hull of %s as measured in %s", u.tempText(air.moment.Coldest), air.place.Name)
	if people := max(coat.plan.People, coat.Stage.People, 1); coat.Stage.Rate.SI > 0 {
		hours := float64(size.SI) / float64(coat.Stage.Rate.SI) / float64(people)
		s.pots(sheet, time.Duration(hours*float64(time.Hour)), u)
	}
	v.Mix = &s
}
