package notify

import (
	"strconv"
	"strings"
	"time"
)

// why words the cause: within or outside whose limits, the figures, how they are known.
func (w wording) why() string {
	c := w.n.Cause
	switch {
	case c.Limit == "" && c.Text == "":
		return w.bare()
	case c.Limit == "" && c.Sure == Unknown && c.Signal == "" && w.n.Kind != MeasureNow: // which asks for what is not known
		return "conditions unknown, " + strings.TrimRight(c.Text, ". ")
	case c.Limit == "":
		return join(", ", strings.TrimRight(c.Text, ". "), w.known())
	case c.Sure == Unknown:
		return join(", ", limitName(c.Limit)+" unknown", c.Text, w.whose("so not within the limits of "))
	}
	figures := join(", ", w.figures(), c.Text, w.known())
	if c.Whose == "" {
		return figures
	}
	switch {
	case c.kept() && c.Sure != Measured && (w.n.Kind.trait().shut || w.ends()):
		return "too near a limit of " + c.Whose + " to count on (" + figures + ")"
	case c.kept():
		return "within the limits of " + c.Whose + " (" + figures + ")"
	}
	return "outside the limits of " + c.Whose + " (" + figures + ")"
}

// ends reports whether the cause is of the end that an offer was given. What is foretold within
// a limit, and yet ends it, is too near to count on: its chance is too small.
func (w wording) ends() bool {
	switch w.n.Kind {
	case WindowOpens, WindowClosing, WindowShortened:
		return !w.n.Until.IsZero()
	}
	return false
}

// then puts the cause of an announced end behind the news: what is measured within its limits
// holds now, all else comes with the end.
func (w wording) then(why string) string {
	c := w.n.Cause
	if why == "" || c.Limit == "" || c.Sure == Unknown || c.kept() && (c.Sure == Measured || !w.ends()) {
		return why
	}
	return "after that " + why
}

// bare words a cause that only names whose limits are kept.
func (w wording) bare() string {
	switch sure := w.n.Cause.Sure; {
	case sure == "", sure == Unknown && w.n.Kind.trait().source: // of a source the news has said it
		return ""
	case sure == Unknown:
		return "conditions unknown"
	}
	return join(", ", w.whose("within the limits of "), w.known())
}

func (w wording) whose(before string) string {
	if w.n.Cause.Whose == "" {
		return ""
	}
	return before + w.n.Cause.Whose
}

// figures words a limit's value and bound in the reader's units. Where the rule was written in
// another unit, its own figure follows: 3 °C and 5 °F are two rules.
func (w wording) figures() string {
	c := w.n.Cause
	difference := c.difference()
	value, bound := w.s.amount(c.Value, c.Unit, difference), w.s.amount(c.Bound, c.Unit, difference)
	var v, b string
	switch c.Unit {
	case "h", "min":
		unit := map[string]time.Duration{"h": time.Hour, "min": time.Minute}[c.Unit]
		v, b = span(time.Duration(c.Value*float64(unit))), span(time.Duration(c.Bound*float64(unit)))
	default:
		v, b = pair(value, bound)
		if c.Limit == "margin" && c.Value < 0 {
			v, _ = pair(amount{-value.value, ""}, bound)
		}
		v, b = spaced(v, value.sign), spaced(b, bound.sign)
		if written := w.s.sign(c.Unit); written != bound.sign {
			b += " (" + spaced(number(c.Bound, 2), written) + ")"
		}
	}
	ask := "at least " + b + " wanted"
	if c.side() == AtMost {
		ask = "at most " + b + " allowed"
	}
	if c.Limit == "age" {
		return "last reading " + v + " old, " + ask
	}
	if c.Limit != "margin" {
		return limitName(c.Limit) + " " + v + ", " + ask
	}
	if c.Value < 0 {
		return "surface " + v + " under dew point, " + ask
	}
	return "surface " + v + " over dew point, " + ask
}

// sign is how a unit is printed when nothing is converted.
func (s Style) sign(unit string) string {
	switch unit {
	case "C", "F", "C/h", "F/h":
		return "°" + unit
	}
	return unit
}

// known words how the cause is known.
func (w wording) known() string {
	c := w.n.Cause
	when := ""
	if !c.Issued.IsZero() {
		when = w.s.end(c.Issued, w.n.At)
	}
	switch c.Sure {
	case Measured:
		return join(" ", "measured", when)
	case Forecast:
		return join(" of ", "forecast", when)
	case Pencilled:
		return "pencilled from the season's record"
	}
	return "" // what is not known is said by the cause's text
}

// limitName is the trade's word for a limit.
func limitName(limit string) string {
	switch limit {
	case "margin":
		return "surface over dew point"
	case "air":
		return "air temperature"
	case "surface":
		return "surface temperature"
	case "dew_point":
		return "dew point"
	case "age":
		return "age of the reading"
	}
	return strings.ReplaceAll(limit, "_", " ")
}

// mix words what to mix.
func (w wording) mix() string {
	m := w.n.Mix
	if m == (Mix{}) {
		return ""
	}
	card := m.Card
	if m.Revision > 0 {
		card = join(" ", card, "rev "+strconv.Itoa(m.Revision))
	}
	card = join(" ", card, m.Variant)
	what := card
	if m.Volume > 0 {
		what = join(" of ", w.s.volume(m.Volume), card)
	}
	reducer, stands, pot := "", "", ""
	if m.Reducer != "" {
		reducer = "with " + m.Reducer
	}
	if m.Stands > 0 {
		stands = "let it stand " + span(m.Stands.Truncate(time.Minute))
	}
	if m.PotLife > 0 {
		pot = "pot life " + span(m.PotLife.Truncate(time.Minute))
	}
	return "mix " + join(", ", what, m.Parts, reducer, stands, pot)
}

// do words what to do: the notice's own, else what is usual for its kind.
func (w wording) do() string {
	switch w.n.Do {
	case "":
		return usual(w.n.Kind)
	case DoWait:
		return "wait for the next notice"
	case DoCover:
		return "close up or cover it"
	case DoReactivate:
		return "reactivate as the card says, then coat"
	case DoAbrade:
		return "abrade and wipe before the next coat"
	}
	return w.n.Do
}

// usual is what people are asked to do when a notice does not say.
//
// A pot is never stretched with thinner (UFGS 09971, 3.7.1.3); readings are taken on the coldest
// and the warmest spot (MIL-HDBK-1110, 9.6.6.2); heat goes off when an extract fan stops (WAC
// 296-24-370, as 29 CFR 1910.107(j)). The rest is common practice, no source.
func usual(k Kind) string {
	switch k {
	case WindowOpens:
		return "start when all before it is done"
	case WindowClosing:
		return "what is begun is finished"
	case WindowClosed:
		return "do not start, wait for the next notice"
	case WindowLapsed:
		return "do not start, wait for the next window"
	case WindowShortened:
		return "start only what will be done by then"
	case WetCoatAtRisk:
		return "close up or cover it, and call the booth owner about heat"
	case ReadyToSand:
		return "try a small patch first"
	case RecoatOpens:
		return "coat by then, once air and hull are within its limits too"
	case RecoatLastCall:
		return "after that reactivate or abrade as the card says"
	case RecoatLapsed:
		return "reactivate or abrade as the card says before the next coat"
	case WeekendCloses:
		return "coat before then or plan the repair"
	case StageMoved:
		return "go by the new time and place"
	case StagePutOff:
		return "leave it for now"
	case StageUnconfirmed:
		return "press started or can't"
	case PotLifeOver:
		return "use no more of it and do not thin it to stretch it"
	case MeasureNow:
		return "take air, humidity and surface, at the coldest and the warmest spot"
	case SourceSilent:
		return "check it, or measure by hand"
	case ForecastOld:
		return "check the connection, and measure before each start"
	case BoothStopped:
		return "stop spraying, heat off, call the booth owner"
	}
	return ""
}
