package pages

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// pattern is one way of being shut, for the legend and the shading.
type pattern struct{ ID, Words string }

// patterns in the order of the legend; each has a shape of its own besides its colour.
var patterns = []pattern{
	{"margin", "margin: the hull too near the dew point"},
	{"humid", "humidity outside its limits"},
	{"cold", "too cold"},
	{"hot", "too hot"},
	{"wind", "too windy"},
	{"rain", "rain likely"},
	{"unknown", "unknown: not measured or foretold, stale or doubtful"},
}

// shutPattern is what shuts a verdict; "" for a yes.
func shutPattern(v conditions.Verdict) string {
	if v.Answer == conditions.Yes {
		return ""
	}
	if v.Answer != conditions.No || v.Binding < 0 || v.Binding >= len(v.Margins) {
		return "unknown"
	}
	switch b := v.Margins[v.Binding].Bound; b.Of {
	case conditions.OfMargin, conditions.OfRise, conditions.OfDrip:
		return "margin"
	case conditions.OfHumidity:
		return "humid"
	case conditions.OfWind, conditions.OfMeanWind, conditions.OfGust:
		return "wind"
	case conditions.OfAboveAir:
		return "hot"
	case conditions.OfBelowAir, conditions.OfFall, conditions.OfPaint:
		return "cold"
	case conditions.OfRain:
		return "rain"
	case conditions.OfAir, conditions.OfSurface:
		if b.Least {
			return "cold"
		}
		return "hot"
	}
	return "unknown"
}

// shutGroup is all spans shut by one thing.
type shutGroup struct {
	Pattern string
	Words   string
	Spans   []shutSpan
}

// shutSpan is one run of hours. Broken is the chance that the limit is broken in the worst
// of them; 0 where they are measured, or nothing is known.
type shutSpan struct {
	X, W     share
	From, To time.Time
	Broken   float64
}

// shutSpans joins hourly verdicts that are shut by the same thing.
func shutSpans(verdicts []conditions.Verdict, ax axis) []shutGroup {
	groups := make([]shutGroup, len(patterns))
	for i, p := range patterns {
		groups[i].Pattern, groups[i].Words = p.ID, p.Words
	}
	var worst float64
	add := func(id string, from, to time.Time) {
		i := slices.IndexFunc(patterns, func(p pattern) bool { return p.ID == id })
		if x, w, ok := ax.cut(from, to); ok && i >= 0 {
			groups[i].Spans = append(groups[i].Spans, shutSpan{x, w, from, to, worst})
		}
	}
	var id string
	from, to := ax.from, ax.from
	// Hours of which there is no verdict are not open: nobody knows of them.
	gap := func(until time.Time) {
		if until.Sub(to) < time.Hour {
			return
		}
		add(id, from, to)
		worst = 0
		add("unknown", to, until)
		id, from, to = "", until, until
	}
	for _, v := range verdicts {
		gap(v.At)
		now := shutPattern(v)
		if now != id || v.At.After(to) {
			add(id, from, to)
			id, from, worst = now, v.At, 0
		}
		worst = max(worst, broken(v))
		to = v.At.Add(time.Hour)
	}
	gap(ax.to)
	add(id, from, to)
	return slices.DeleteFunc(groups, func(g shutGroup) bool { return len(g.Spans) == 0 })
}

// verdictView is a verdict as a person reads it.
type verdictView struct {
	Class    string // yes, no, unknown
	Stop     string // what forbids to go on besides the limits
	Sentence string
	Margins  []marginView
	Remedies []string
}

// marginView is one limit with where the value stands.
type marginView struct {
	Limit string
	Value string
	By    string
	Owner string
	Class string
	Binds bool
}

// verdictOf words a judged moment. The moment is the one measured now; nil says
// that there is none.
func verdictOf(m *conditions.Moment, rules conditions.Rules, whose string, u units) verdictView {
	whose = cmp.Or(whose, "the card")
	if m == nil {
		return verdictView{Class: "unknown", Sentence: "Unknown: not measured, so not within the limits of " + whose + ". Measure now."}
	}
	if len(rules) == 0 {
		return verdictView{Class: "unknown", Sentence: "Unknown: nobody has set limits here. Enter the card from the maker's instructions."}
	}
	v := conditions.Judge(*m, rules)
	view := verdictView{Class: "unknown"}
	for i, margin := range v.Margins {
		view.Margins = append(view.Margins, marginWords(margin, i == v.Binding))
	}
	switch v.Answer {
	case conditions.Yes:
		view.Class, view.Sentence = "yes", "Within the limits of "+whose
	case conditions.No:
		owner := whose
		if v.Binding >= 0 {
			owner = cmp.Or(v.Margins[v.Binding].Owner, whose)
		}
		view.Class, view.Sentence = "no", "Outside the limits of "+owner
	default:
		view.Sentence = "Unknown, so not within the limits of " + whose + ": " + v.Why
	}
	if v.Binding >= 0 {
		view.Sentence += ": " + against(v.Margins[v.Binding].Bound, v.Margins[v.Binding].Value)
	}
	view.Sentence += "."
	if v.Wet {
		view.Sentence += " Water stands on the coldest spot: neither wipe, sand nor coat it."
	}
	for _, change := range conditions.Remedies(*m, rules, unit.NaN[unit.Pressure]()) {
		view.Remedies = append(view.Remedies, remedy(change, u))
	}
	return view
}

func marginWords(m conditions.Margin, binds bool) marginView {
	sign := unitOf(m.Bound)
	v := marginView{Limit: bound(m.Bound), Value: "not known", By: "–", Owner: m.Owner, Class: "unknown", Binds: binds}
	if math.IsNaN(m.Value) {
		return v
	}
	v.Value = number(inUnit(m.Of, m.Value, sign), 1) + " " + signOf(m.Of, sign)
	// A distance has no offset: it is the difference of two values in that unit.
	apart := printed(sign)
	if sign == "C" {
		apart = "K"
	}
	v.By = number(math.Abs(inUnit(m.Of, m.At, sign)-inUnit(m.Of, m.Value, sign)), 1) + " " + apart
	if m.By >= 0 {
		v.Class, v.By = "yes", v.By+" inside"
	} else {
		v.Class, v.By = "no", v.By+" outside"
	}
	return v
}

// bound words a limit as its owner wrote it: surface over dew point ≥ 3 K.
func bound(b conditions.Bound) string {
	sign := " ≤ "
	if b.Least {
		sign = " ≥ "
	}
	return quantity(b.Of) + sign + written(b)
}

func ruleWords(rules conditions.Rules) []string {
	var all []string
	for _, b := range rules {
		all = append(all, bound(b)+" ("+b.Owner+")")
	}
	return all
}

// remedy words the smallest change that would bring a place within its limits.
func remedy(c conditions.Change, u units) string {
	more := func(up, down string) string {
		if c.By < 0 {
			return down
		}
		return up
	}
	by := text(math.Abs(u.difference(unit.TempDiff(c.By))), 1, u.diffSign())
	to := u.tempText(unit.Temperature(c.To))
	switch c.Of {
	case conditions.TheSurface:
		return fmt.Sprintf("hull %s %s, to %s", by, more("warmer", "cooler"), to)
	case conditions.TheWater:
		return fmt.Sprintf("air %s: dew point %s %s, to %s", more("moister", "drier"), by, more("higher", "lower"), to)
	case conditions.TheAir:
		return fmt.Sprintf("air %s %s, to %s", by, more("warmer", "cooler"), to)
	case conditions.ThePlace:
		return fmt.Sprintf("air and hull together %s %s, the air to %s", by, more("warmer", "cooler"), to)
	case conditions.TheWind:
		return "wind down to " + u.windText(unit.Speed(c.To)) + ", or shelter"
	case conditions.TheRain:
		return "chance of rain down to " + text(100*c.To, 0, "%") + ", or cover"
	case conditions.ThePaint:
		return fmt.Sprintf("paint %s warmer, to %s", by, to)
	}
	return strings.ReplaceAll(string(c.Of), "_", " ")
}

// humidity is the air's, from its temperature and dew point, %.
func humidity(m conditions.Moment) float64 {
	return float64(conditions.RelativeHumidity(m.Air, m.DewPoint))
}
