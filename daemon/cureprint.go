package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/daemon/pages"
)

// cureAnswer is what `cure --json` prints.
type cureAnswer struct {
	Card       string         `json:"card"`
	Made       bool           `json:"illustrative"`
	Coated     time.Time      `json:"coated"`
	At         time.Time      `json:"at"`
	Surfaces   []surfaceNow   `json:"surfaces"`
	Milestones []milestoneRow `json:"milestones"`
	Recoat     recoat         `json:"recoat"`
	Gaps       []span         `json:"gaps"`
	Uncounted  []uncounted    `json:"uncounted"`
	Notes      []string       `json:"notes"`
}

// surfaceNow is a side's surface as last measured.
type surfaceNow struct {
	Facet   string           `json:"facet"`
	Surface unit.Temperature `json:"surface"`
}

func (r *cureRun) answer() cureAnswer {
	a := cureAnswer{
		Card: r.card.Title(), Made: r.card.Illustrative, Coated: r.coated.In(r.zone), At: r.now.In(r.zone),
		Gaps: r.gaps(), Uncounted: r.uncounted(), Notes: append([]string{}, r.notes...),
	}
	for _, f := range r.facets {
		a.Surfaces = append(a.Surfaces, surfaceNow{f.name, f.last.Coldest})
	}
	for _, m := range config.Milestones() {
		if given(r.card.Cure, m) {
			a.Milestones = append(a.Milestones, r.row(m))
		}
	}
	a.Recoat = r.recoat(a.Milestones)
	if len(a.Gaps) > 0 {
		a.Notes = append(a.Notes, fmt.Sprintf("readings more than %s apart leave a gap", lasting(r.gap)))
	}
	return a
}

func printCure(w io.Writer, a cureAnswer, zone *time.Location) {
	made := ""
	if a.Made {
		made = " (illustrative: made-up figures, not a maker's)"
	}
	fmt.Fprintf(w, "%s%s\n", a.Card, made)
	when := func(t time.Time) string { return t.In(zone).Format("Mon 2 Jan 15:04") }
	asOf := "foreseen"
	if a.At.After(a.Coated) {
		asOf = fmt.Sprintf("as of %s, %s on", when(a.At), lasting(a.At.Sub(a.Coated)))
	}
	fmt.Fprintf(w, "coated %s; %s; surface %s\n", when(a.Coated), asOf, surfaces(a.Surfaces))
	for _, line := range a.Notes {
		fmt.Fprintln(w, "note:", line)
	}
	fmt.Fprintln(w)
	printMilestones(w, a, zone)
	for _, line := range uncountedLines(a, zone) {
		fmt.Fprintln(w, line)
	}
	fmt.Fprintln(w)
	if a.Recoat.Bands != nil {
		fmt.Fprintln(w, bandLine(a.Recoat, a))
	}
	fmt.Fprintln(w, recoatSentence(a.Recoat, a.At, zone))
	fmt.Fprintln(w, "By the cure alone: air and surface have limits of their own, and the maker's instructions decide.")
}

func surfaces(all []surfaceNow) string {
	var words []string
	for _, s := range all {
		word := "not measured"
		if unit.Known(s.Surface) {
			word = bothDegrees(s.Surface)
		}
		if len(all) > 1 {
			word = s.Facet + " " + word
		}
		words = append(words, word)
	}
	return strings.Join(words, ", ")
}

func printMilestones(w io.Writer, a cureAnswer, zone *time.Location) {
	several := len(a.Surfaces) > 1
	rows := [][]string{{"milestone", "", "slowest side", "", "fastest side"}}
	if !several {
		rows[0] = []string{"milestone", "", ""}
	}
	for _, m := range a.Milestones {
		slowest, fastest := reachWords(m.Slowest, zone, several), reachWords(m.Fastest, zone, several)
		row := append([]string{pages.Milestone(m.Milestone)}, slowest...)
		if several {
			row = append(row, fastest...)
		}
		rows = append(rows, row)
	}
	leftAligned(w, rows)
	if several {
		fmt.Fprintln(w, "what opens goes by the slowest side, last recoat and last reactivation by the fastest")
	}
}

// reachWords are how far a side is, and when.
func reachWords(r reach, zone *time.Location, named bool) []string {
	far := fmt.Sprintf("%3.0f %%", 100*min(r.Progress, 0.994)) // 100 % is for what is reached
	when := "expected "
	switch {
	case r.Reached:
		far, when = "done", "reached "
	case r.At == nil:
		when = "stands still"
	}
	if r.At != nil {
		when += r.At.In(zone).Format("Mon 2 Jan 15:04")
	}
	if named {
		when += ", " + r.Facet
	}
	return []string{far, when}
}

// leftAligned sets rows in columns, all to the left.
func leftAligned(w io.Writer, rows [][]string) {
	wide := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			wide[i] = max(wide[i], len([]rune(cell)))
		}
	}
	for _, row := range rows {
		var line strings.Builder
		for i, cell := range row {
			fmt.Fprintf(&line, "%-*s  ", wide[i], cell)
		}
		fmt.Fprintln(w, strings.TrimRight(line.String(), " "))
	}
}

// uncountedLines say what time did not count, and why.
func uncountedLines(a cureAnswer, zone *time.Location) []string {
	var all []string
	if len(a.Gaps) > 0 {
		all = append(all, "Not measured: "+gapsListed(a.Gaps, zone, len(a.Surfaces) > 1)+". Meanwhile what opens stands still, and what closes goes on at the card's fastest.")
	}
	for _, u := range a.Uncounted {
		beyond := u.Silent - min(u.Silent, u.NotMeasured)
		if beyond.Std() < time.Minute {
			continue
		}
		side := ""
		if len(a.Surfaces) > 1 {
			side = " on " + u.Facet
		}
		said := fmt.Sprintf("Not counted%s: %s beyond the card's figures, so none of it towards what was still to come", side, lasting(beyond.Std()))
		if u.Waiting > 0 {
			said += fmt.Sprintf("; the recoat window opens %s later for that", lasting(u.Waiting.Std()))
		}
		all = append(all, said+".")
	}
	return all
}

func gapsListed(gaps []span, zone *time.Location, sides bool) string {
	plain := make([]span, len(gaps))
	copy(plain, gaps)
	said := listed(plain, zone, false)
	if sides && len(gaps) == 1 {
		said += " on " + strings.Join(gaps[0].Facets, ", ")
	}
	return said
}

// bandLine says by which temperatures the two ends of the window go.
func bandLine(w recoat, a cureAnswer) string {
	b := *w.Bands
	on := func(facet string) string {
		if len(a.Surfaces) < 2 {
			return ""
		}
		return " on " + facet
	}
	opens := fmt.Sprintf("opens %s after the coat, by the coolest surface, %s%s", lasting(b.Opens.Std()), bothDegrees(b.Coolest), on(b.CoolestFacet))
	switch {
	case w.State == windowStill:
		opens = fmt.Sprintf("does not open while the coolest surface stays as it is, %s%s", bothDegrees(b.Coolest), on(b.CoolestFacet))
	case w.Opens != nil && !w.Opens.After(a.At):
		opens = fmt.Sprintf("opened %s after the coat", lasting(w.Opens.Sub(a.Coated)))
	}
	closes := fmt.Sprintf("closes %s after it", lasting(b.Closes.Std()))
	if b.Closes <= 0 {
		closes = "no window is left: it was hotter than all bands"
	}
	switch {
	case !unit.Known(b.Hottest):
		closes += ", by the surface so far, for no hour is over yet"
	case b.Assumed:
		closes += fmt.Sprintf(", as at %s, the end of the card's hottest band, for an hour or more was not measured%s", bothDegrees(b.Hottest), on(b.HottestFacet))
	default:
		closes += fmt.Sprintf(", by the hottest hour, %s%s", bothDegrees(b.Hottest), on(b.HottestFacet))
	}
	return fmt.Sprintf("By bands: %s;\n%s.\nA hot hour brings the closing nearer once it is measured; it opens nothing sooner.", opens, closes)
}

// recoatSentence is what the painter may do, and until when.
func recoatSentence(w recoat, now time.Time, zone *time.Location) string {
	when := func(t *time.Time) string { return t.In(zone).Format("Mon 2 Jan 15:04") }
	then := "after that abrade"
	if w.Reactivate != nil {
		then = fmt.Sprintf("then reactivate until %s; after that abrade", when(w.Reactivate))
	}
	switch w.State {
	case windowNone:
		return "The card gives no recoat window."
	case windowStill:
		if w.Closes != nil {
			return fmt.Sprintf("MAY NOT BE RECOATED, and it stays so while the surface does: the card says nothing there. It closes on %s all the same; %s.", when(w.Closes), then)
		}
		return "MAY NOT BE RECOATED, and it stays so while the surface does: the card says nothing there."
	case windowToCome:
		if w.Closes == nil {
			return fmt.Sprintf("NOT YET: may be recoated from %s; the card gives no end.", when(w.Opens))
		}
		return fmt.Sprintf("NOT YET: may be recoated from %s until %s; %s.", when(w.Opens), when(w.Closes), then)
	case windowOpen:
		if w.Closes == nil {
			return fmt.Sprintf("MAY BE RECOATED since %s; the card gives no end.", when(w.Opens))
		}
		return fmt.Sprintf("MAY BE RECOATED since %s, until %s; %s.", when(w.Opens), when(w.Closes), then)
	}
	said := fmt.Sprintf("TOO LATE to recoat as it is: the window closed on %s", when(w.Closes))
	if w.State == windowMissed {
		said = fmt.Sprintf("NO WINDOW: it closes on %s, before every side has opened", when(w.Closes))
	}
	if w.Reactivate != nil && w.Reactivate.After(now) {
		return said + fmt.Sprintf("; reactivate until %s, after that abrade.", when(w.Reactivate))
	}
	return said + "; abrade before the next coat."
}
