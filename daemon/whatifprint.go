package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/planner/whatif"
)

// printWhatif prints the sentence first, then both plans side by side.
func printWhatif(w io.Writer, y config.Yard, a whatif.Answer) error {
	zone, err := y.Location()
	if err != nil {
		return err
	}
	fmt.Fprintln(w, a.Sentence)
	for _, text := range a.Idle {
		fmt.Fprintf(w, "%s.\n", text)
	}
	if len(a.Assumed) > 0 {
		fmt.Fprintln(w, "\nAssumed:")
	}
	for _, text := range a.Assumed {
		fmt.Fprintf(w, "  - %s\n", text)
	}
	d := a.Difference
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "\nLaunches\tpromised\tas it is\twith it\t\n")
	for _, l := range d.Launches {
		fmt.Fprintf(t, "  %s\t%s\t%s\t%s\t%s\n", l.Boat, promisedIn(l, zone), likelyIn(l.Before, zone), likelyIn(l.After, zone), sooner(l))
	}
	fmt.Fprintf(t, "\nHours waited\tas it is\twith it\t\n")
	var sum planner.WaitPair
	again := planner.WaitPair{}
	for _, p := range d.Waits {
		if p.Again() {
			again = p
			continue
		}
		sum.Before += p.Before
		sum.After += p.After
		if max(p.Before, p.After) >= 0.05 {
			printWait(t, whatif.WaitWords(p), p)
		}
	}
	printWait(t, "in all", sum)
	if again.Again() {
		printWait(t, "and for stages before them that moved", again)
	}
	s := d.Spoiling
	fmt.Fprintf(t, "\nChance of spoiling\tas it is\twith it\n")
	fmt.Fprintf(t, "  coats spoilt on average, of %d\t%.2f\t%.2f\n", s.Coats, s.Before, s.After)
	for _, b := range s.Boats {
		fmt.Fprintf(t, "  %s: none spoilt of %s\t%s\t%s\n", b.Boat, whatif.Counted(b.Coats, "coat"), whatif.Percent(b.Before), whatif.Percent(b.After))
	}
	fmt.Fprintf(t, "\nCost by the yard's weights, minutes\tas it is\twith it\t\n")
	for _, c := range d.Cost {
		fmt.Fprintf(t, "  %s\t%d\t%d\t%s\n", c.Name, c.Before, c.After, minutesMore(c))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w)
	printNoStart(w, "as it is", d.NoStart.Before)
	printNoStart(w, "with it", d.NoStart.After)
	fmt.Fprintf(w, "Hours and chances are of the %s with a start in both plans; %d of them in another place, by another crew or at another time.\n", whatif.Counted(d.Compared, "stage"), len(d.Moved))
	_, err = fmt.Fprintf(w, "Both plans are of %s, by the same search, which finds good plans and not always the best:\nsome of the difference may be its own. Nothing in the yard was changed.\n", a.Before.At.In(zone).Format("Mon 2 Jan 15:04"))
	return err
}

func printWait(w io.Writer, what string, p planner.WaitPair) {
	fmt.Fprintf(w, "  %s\t%.1f\t%.1f\t%s\n", what, p.Before, p.After, hoursMore(p))
}

// mostKeys is how many stages without a start are named.
const mostKeys = 6

func printNoStart(w io.Writer, when string, keys []planner.Key) {
	if len(keys) == 0 {
		fmt.Fprintf(w, "Every stage has a start %s.\n", when)
		return
	}
	var names []string
	for _, k := range keys[:min(len(keys), mostKeys)] {
		names = append(names, k.String())
	}
	more := ""
	if n := len(keys) - len(names); n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	fmt.Fprintf(w, "Without a start %s: %s%s.\n", when, strings.Join(names, "; "), more)
}

func dayOf(t time.Time, zone *time.Location) string { return t.In(zone).Format("Mon 2 Jan") }

// promisedIn is the promise, or both where the change is of it.
func promisedIn(l planner.LaunchPair, zone *time.Location) string {
	before, after := l.Before.Promised, l.After.Promised
	if before.Equal(after) || after.IsZero() {
		return dayOf(before, zone)
	}
	return dayOf(before, zone) + ", then " + dayOf(after, zone)
}

func likelyIn(l planner.Launch, zone *time.Location) string {
	switch {
	case l.Promised.IsZero():
		return "not in it"
	case l.Likely.IsZero():
		return "not within the plan"
	case l.Likely.After(l.Promised):
		return fmt.Sprintf("%s, %s late", l.Likely.In(zone).Format("Mon 2 Jan 15:04"), whatif.Lasts(l.Likely.Sub(l.Promised)))
	}
	return l.Likely.In(zone).Format("Mon 2 Jan 15:04")
}

func sooner(l planner.LaunchPair) string {
	by, ok := l.Sooner()
	switch {
	case !ok || by == 0:
		return ""
	case by < 0:
		return whatif.Lasts(-by) + " later"
	}
	return whatif.Lasts(by) + " sooner"
}

func hoursMore(p planner.WaitPair) string {
	if by := fmt.Sprintf("%+.1f", p.After-p.Before); by != "+0.0" && by != "-0.0" {
		return strings.Replace(by, "-", "−", 1)
	}
	return ""
}

func minutesMore(p planner.TermPair) string {
	if p.Before == p.After {
		return ""
	}
	return strings.Replace(fmt.Sprintf("%+d", p.After-p.Before), "-", "−", 1)
}
