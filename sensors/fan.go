package sensors

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// ByEye ends the source of what a person saw of a place. Whoever looks, it is one
// source: what the last one saw is so.
const ByEye = " by eye"

// fanRuns is whether a place's fans run at a time, by the latest word of each source in
// readings in the order of time: one that stands is enough. It is not known where all
// words are older than stale, nor where the last one that said so is doubtful.
func fanRuns(readings []Reading, at time.Time, stale time.Duration) (runs, known bool) {
	type word struct{ runs, known bool }
	by := map[string]word{}
	for _, r := range readings {
		x, said := r.Values[conditions.Fan]
		// An old word that comes again adds nothing, unless it may be the one that it stopped.
		if !said || x > 0 && !speaks(r, conditions.Fan) || r.Boat != "" || r.At.After(at.Add(ClockSlack)) || at.Sub(r.At) > stale {
			continue
		}
		source := r.Source
		if strings.HasSuffix(source, ByEye) {
			source = ByEye
		}
		if x, ok := r.Good(conditions.Fan); ok {
			by[source] = word{x > 0, true}
		} else if by[source].runs {
			by[source] = word{}
		}
	}
	for _, w := range by {
		if w.known && !w.runs {
			return false, true
		}
		runs, known = runs || w.runs, known || w.known
	}
	return runs, known
}

// signal is the latest good word of a place's own signal.
func signal(readings []Reading, v conditions.Variable, at time.Time, stale time.Duration) (x float64, known bool) {
	for _, r := range readings {
		if y, ok := r.Good(v); ok && r.Boat == "" && !r.At.After(at.Add(ClockSlack)) && at.Sub(r.At) <= stale {
			x, known = y, true
		}
	}
	return x, known
}

// Tells reports whether a sensor of the yard file says a variable of a place.
func Tells(y config.Yard, place string, v conditions.Variable) bool {
	for _, s := range y.Sensors {
		if _, ok := s.Values[v]; ok && s.Place == place {
			return true
		}
	}
	return false
}

// lasts is how long a word of a place's own signal counts: three intervals of the
// sensor that says it, at most as long as any reading.
func lasts(y config.Yard, place string, v conditions.Variable, stale time.Duration) time.Duration {
	for _, s := range y.Sensors {
		if _, ok := s.Values[v]; ok && s.Place == place && s.Every > 0 {
			stale = min(stale, silentAfter*s.Every.Std())
		}
	}
	return stale
}

// Stop is why a booth is not fit to spray in, by its own signals.
type Stop struct {
	Of    conditions.Variable
	Known bool   // measured; else a word that is missing: unknown is not on
	Text  string // what it is
	Do    string // what to do; empty: as usual for a booth that stopped
	// Value and Limit of filters, Pa.
	Value, Limit float64
}

// FanUnknown says that a booth which has a fan sensor is not known to be on.
func FanUnknown(y config.Yard, place string, readings []Reading, now time.Time, stale time.Duration) (Stop, bool) {
	if !Tells(y, place, conditions.Fan) {
		return Stop{}, false
	}
	if _, known := fanRuns(readings, now, lasts(y, place, conditions.Fan, stale)); known {
		return Stop{}, false
	}
	text := "whether its fan runs is not known"
	for i := len(readings) - 1; i >= 0; i-- {
		if _, ok := readings[i].Values[conditions.Fan]; ok && readings[i].Boat == "" {
			text += fmt.Sprintf(", the last word is %s old", elapsed(now.Sub(readings[i].At).Round(time.Minute)))
			break
		}
	}
	return Stop{Of: conditions.Fan, Text: text, Do: "look whether the fan runs; without it stop spraying, heat off"}, true
}

// Stopped is what must stop a coat that goes on in a booth, the gravest first: its fan
// stands (WAC 296-24-370, as 29 CFR 1910.107(j)) or is not known to run, its door is
// open while it sprays, its filters are clogged (29 CFR 1910.107(b)(5)(i) asks for a
// gauge or an alarm). A booth whose signals nobody sends is stopped by none.
func Stopped(y config.Yard, place config.Place, readings []Reading, now time.Time, stale time.Duration) (Stop, bool) {
	if place.Kind != config.Booth {
		return Stop{}, false
	}
	word := func(v conditions.Variable) (float64, bool) {
		return signal(readings, v, now, lasts(y, place.Name, v, stale))
	}
	if runs, known := fanRuns(readings, now, lasts(y, place.Name, conditions.Fan, stale)); known && !runs {
		text := "its fan stands"
		if heats, known := word(conditions.Heater); known && heats > 0 {
			text += " and its heater is on"
		}
		return Stop{Of: conditions.Fan, Known: true, Text: text}, true
	}
	if s, unknown := FanUnknown(y, place.Name, readings, now, stale); unknown {
		return s, true
	}
	mode, said := word(conditions.BoothMode)
	if open, known := word(conditions.Door); known && open > 0 && (!said || mode == 1) {
		return Stop{Of: conditions.Door, Known: true, Text: "its door is open", Do: "stop spraying until the door is shut"}, true
	}
	limit := math.Inf(1)
	if place.Booth != nil && !place.Booth.Filters.IsZero() {
		limit = float64(place.Booth.Filters.SI)
	}
	if p, known := word(conditions.FilterPressure); known && p > limit {
		return Stop{Of: conditions.FilterPressure, Known: true, Text: fmt.Sprintf("its filters stand at %.0f Pa, at most %s allowed", p, place.Booth.Filters),
			Do: "stop at a whole pass, the filters must be changed", Value: p, Limit: limit}, true
	}
	return Stop{}, false
}
