package main

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// hullAnswer is what `hull --json` prints. Facets have two temperatures where sky
// or sun are not known.
type hullAnswer struct {
	Hull    string          `json:"hull"`
	Place   string          `json:"place"`
	Heading float64         `json:"heading"`
	Mode    conditions.Mode `json:"mode"`
	Assumed []string        `json:"assumed"`
	Faults  []string        `json:"faults"`
	Hours   []hullHour      `json:"hours"`
	Coldest *spot           `json:"coldest"`
	Warmest *spot           `json:"warmest"`
	// Wet is when any facet is, Holds when the margin does on all of them and none is wet.
	Wet       []span           `json:"wet"`
	Margin    conditions.Bound `json:"margin"`
	Holds     []span           `json:"holds"`
	BroughtIn *broughtIn       `json:"brought_in,omitempty"`

	alike []int // for each facet the earlier one that it is the same as, or -1
}

// hullHour is one line of the table.
type hullHour struct {
	At       time.Time        `json:"at"`
	Air      unit.Temperature `json:"air"`
	DewPoint unit.Temperature `json:"dew_point"`
	Facets   []facetNow       `json:"facets"`
	Margin   unit.TempDiff    `json:"margin_K"`
}

// facetNow is one facet's surface.
type facetNow struct {
	Name    string           `json:"name"`
	Coldest unit.Temperature `json:"coldest"`
	Warmest unit.Temperature `json:"warmest"`
	Wet     bool             `json:"wet"`
}

func (r hullRun) answer(rule conditions.Bound, every time.Duration) hullAnswer {
	a := hullAnswer{Wet: r.wetSpans(), Margin: rule, BroughtIn: r.arrival(rule)}
	a.Coldest, a.Warmest = r.extremes()
	a.Holds = r.spans(func(s hullSlot) bool { return s.known() && !s.anyWet() && holds(s, rule) })
	for k := range r.hull {
		a.alike = append(a.alike, r.same(k))
	}
	for i, s := range r.slots {
		if i%int(every/hullStep) != 0 {
			continue
		}
		h := hullHour{At: s.at.In(r.known.zone), Air: s.air, DewPoint: s.dew, Margin: s.margin()}
		for k, f := range r.hull {
			h.Facets = append(h.Facets, facetNow{f.Name, s.cold[k], s.warm[k], s.wet[k]})
		}
		a.Hours = append(a.Hours, h)
	}
	return a
}

// brief are the facets' names as a table's heads have room for.
var brief = map[string]string{
	"port topside": "port", "starboard topside": "stbd", "transom": "transom", "house, port side": "house p",
	"house, starboard side": "house s", "deck": "deck",
}

func printHull(w io.Writer, a hullAnswer, units string, zone *time.Location) {
	fmt.Fprintf(w, "%s; in %s, bow at %.0f°, %s\n", a.Hull, a.Place, a.Heading, a.Mode)
	for _, line := range a.Assumed {
		fmt.Fprintln(w, "assumed:", line)
	}
	for i, line := range a.Faults {
		if i == fewFaults {
			fmt.Fprintf(w, "weather file: and %d more kinds of fault\n", len(a.Faults)-i)
			break
		}
		fmt.Fprintln(w, "weather file:", line)
	}
	fmt.Fprintln(w)
	if len(a.Hours) > 0 {
		printHours(w, a, units, zone)
		fmt.Fprintln(w)
	}
	for _, sentence := range sentences(a, zone) {
		fmt.Fprintln(w, sentence)
	}
}

// printHours is the table. Times stand at its left, the day once.
func printHours(w io.Writer, a hullAnswer, units string, zone *time.Location) {
	sign := temperatureUnit(units)
	rows := [][]string{{fmt.Sprintf("%s, °%s", a.Hours[0].At.In(zone).Format("2006"), sign), "air", "dew pt"}}
	words := []string{"margin: the coldest side over the dew point"}
	for k, f := range a.Hours[0].Facets {
		if j := a.alike[k]; j >= 0 {
			words = append(words, fmt.Sprintf("%s as %s", brief[f.Name], brief[a.Hours[0].Facets[j].Name]))
			continue
		}
		rows[0] = append(rows[0], fmt.Sprintf("%c %s ", letters[f.Name], brief[f.Name]))
	}
	rows[0] = append(rows[0], "margin")
	anyWet, gap := false, false
	before := ""
	for _, h := range a.Hours {
		at := h.At.In(zone)
		when := at.Format("Mon 2 Jan")
		if when == before {
			when = ""
		}
		before = at.Format("Mon 2 Jan")
		row := []string{fmt.Sprintf("%-10s %s", when, at.Format("15:04")), degree(h.Air, sign), degree(h.DewPoint, sign)}
		for k, f := range h.Facets {
			if a.alike[k] >= 0 {
				continue
			}
			cell := degree(f.Coldest, sign)
			if warm := degree(f.Warmest, sign); warm != cell {
				cell += "/" + warm
			}
			gap = gap || !unit.Known(f.Coldest)
			if f.Wet {
				cell, anyWet = cell+"*", true
			} else {
				cell += " "
			}
			row = append(row, cell)
		}
		margin := "?"
		if unit.Known(h.Margin) {
			margin = fmt.Sprintf("%+.1f", unit.In(h.Margin, sign))
		}
		rows = append(rows, append(row, margin))
	}
	aligned(w, rows)
	if anyWet {
		words = append(words, "* wet")
	}
	if gap {
		words = append(words, "? not known")
	}
	fmt.Fprintln(w, strings.Join(words, "; "))
}

// aligned sets rows in columns, the first to the left, the others to the right.
func aligned(w io.Writer, rows [][]string) {
	var wide []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(wide) {
				wide = append(wide, 0)
			}
			wide[i] = max(wide[i], len([]rune(cell)))
		}
	}
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			if i == 0 {
				fmt.Fprintf(&line, "%-*s", wide[i], cell)
			} else {
				fmt.Fprintf(&line, " %*s", wide[i], cell)
			}
		}
		fmt.Fprintln(w, strings.TrimRight(line.String(), " "))
	}
}

func degree(t unit.Temperature, sign string) string {
	if !unit.Known(t) {
		return "?"
	}
	return fmt.Sprintf("%.1f", unit.In(t, sign)+0)
}

// sentences are what a painter wants to know of the hours.
func sentences(a hullAnswer, zone *time.Location) []string {
	var all []string
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	when := func(t time.Time) string { return t.In(zone).Format("Mon 2 Jan 15:04") }
	if a.Coldest == nil {
		return []string{"Nothing is known of this hull in these hours."}
	}
	say("Coldest: the %s, %s on %s, %s.", a.Coldest.Facet, bothDegrees(a.Coldest.Surface), when(a.Coldest.At), besideAir(a.Coldest.OverAir))
	say("Warmest: the %s, %s on %s, %s.", a.Warmest.Facet, bothDegrees(a.Warmest.Surface), when(a.Warmest.At), besideAir(a.Warmest.OverAir))
	if b := a.BroughtIn; b != nil {
		all = append(all, arrivalSentence(*b, a, zone))
	}
	if len(a.Wet) == 0 {
		say("No side is wet in these hours.")
	} else {
		say("Wet for %s in all: %s.", lasting(total(a.Wet)), listed(a.Wet, zone, true))
	}
	rule := fmt.Sprintf("a margin of %s (%s)", a.Margin.Written, a.Margin.Owner)
	if len(a.Holds) == 0 {
		say("No time in which every side is dry and has %s.", rule)
	} else {
		say("Every side dry and with %s: %s.", rule, listed(a.Holds, zone, false))
	}
	return all
}

func arrivalSentence(b broughtIn, a hullAnswer, zone *time.Location) string {
	after := func(t *time.Time) string {
		return fmt.Sprintf("%s, after %s", t.In(zone).Format("15:04"), lasting(t.Sub(b.At)))
	}
	said := fmt.Sprintf("Brought in at %s: ", bothDegrees(b.From))
	switch {
	case b.Sweats == nil:
		return said + fmt.Sprintf("the %s stays below the dew point through all of these hours.", b.Slowest)
	case b.Sweats.Equal(b.At):
		said += "never below the dew point"
	default:
		said += "below the dew point until " + after(b.Sweats)
		if !b.Wet {
			said += ", with no more water on it than a breath (0.01 mm)"
		}
	}
	switch {
	case b.Wet && b.Dry != nil:
		said += "; wet, and dry at " + after(b.Dry)
	case b.Wet:
		said += "; still wet at the end"
	}
	if b.Holds == nil {
		return said + fmt.Sprintf("; the margin of %s is not reached in these hours, for the %s.", a.Margin.Written, b.Slowest)
	}
	if b.Holds.Equal(b.At) {
		return said + fmt.Sprintf("; the margin of %s is there from the start.", a.Margin.Written)
	}
	return said + fmt.Sprintf("; dew point + %s reached at %s; the %s is the last.", a.Margin.Written, after(b.Holds), b.Slowest)
}

// fewSpans is how many stretches a sentence names.
const fewSpans = 4

// listed names stretches of time: from when till when, for how long, where.
func listed(spans []span, zone *time.Location, facets bool) string {
	var words []string
	for i, s := range spans {
		if i == fewSpans {
			words = append(words, fmt.Sprintf("and %d more", len(spans)-i))
			break
		}
		from, to := s.From.In(zone), s.To.In(zone)
		layout := "Mon 2 Jan 15:04"
		if from.Format("2 Jan") == to.Format("2 Jan") {
			layout = "15:04"
		}
		word := fmt.Sprintf("%s to %s", from.Format("Mon 2 Jan 15:04"), to.Format(layout))
		if facets {
			word += " (" + strings.Join(shortNames(s.Facets), ", ") + ")"
		} else {
			word += fmt.Sprintf(" (%s)", lasting(s.To.Sub(s.From)))
		}
		words = append(words, word)
	}
	return strings.Join(words, "; ")
}

// shortNames are facets as the table names them; all of them are one word.
func shortNames(facets []string) []string {
	if len(facets) == len(letters) {
		return []string{"every side"}
	}
	short := slices.Clone(facets)
	for i := range short {
		short[i] = brief[short[i]]
	}
	return short
}

func total(spans []span) (sum time.Duration) {
	for _, s := range spans {
		sum += s.To.Sub(s.From)
	}
	return sum
}

// lasting is a duration in whole minutes: 7 h 15 min.
func lasting(d time.Duration) string {
	d = d.Round(time.Minute)
	switch h, m := int(d/time.Hour), int(d%time.Hour/time.Minute); {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}

func bothDegrees(t unit.Temperature) string {
	return fmt.Sprintf("%.1f °C (%.1f °F)", float64(t), unit.In(t, "F"))
}

func besideAir(d unit.TempDiff) string {
	side := "over"
	if d < 0 {
		d, side = -d, "below"
	}
	if d < 0.05 {
		return "as the air"
	}
	return fmt.Sprintf("%.1f °C (%.1f °F) %s the air", float64(d), unit.In(d, "F"), side)
}
