package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
)

// printFacts says why a stage has no start: one sentence for each fact of the
// smallest set.
func printFacts(w io.Writer, s planner.Planned, zone *time.Location) {
	switch n := len(s.Impossible); {
	case n == 0:
		return
	case n == 1:
		fmt.Fprintln(w, "  it can't be done as ordered, and this alone is why:")
	default:
		fmt.Fprintf(w, "  it can't be done as ordered, for these %d facts together; change any one of them:\n", n)
	}
	for _, f := range s.Impossible {
		fmt.Fprintf(w, "    %s\n", factSentence(f, zone))
	}
}

// factSentence words a fact and what it lacks.
func factSentence(f planner.Fact, zone *time.Location) string {
	lacks := amount(f.Lacks, f.Unit)
	switch f.Of {
	case planner.TooSmall:
		return fmt.Sprintf("%s is too %s for the boat: it lacks %s.", f.Name, f.Note, lacks)
	case planner.NoSuchPlace:
		return fmt.Sprintf("The yard has no %s, and it may be done nowhere else.", f.Name)
	case planner.NoSkill:
		return fmt.Sprintf("No crew has the skill %q: %s with it are wanted.", f.Name, lacks)
	case planner.TooFew:
		return fmt.Sprintf("Crew %s has %s: it lacks %s.", f.Name, amount(f.Wants, f.Unit), lacks)
	case planner.ShortShift:
		return fmt.Sprintf("Crew %s works %s at a time: it would have to go on for %s more.", f.Name, amount(f.Wants, f.Unit), lacks)
	case planner.Closed:
		return fmt.Sprintf("%s is closed when it could be done.", f.Name)
	case planner.OfLimit:
		return fmt.Sprintf("%s wants %s of %s %s: the nearest that any place comes to it, for long enough, is %s short of that.", upper(f.Name), quantityOf(f.Bound), bounded(f.Bound), f.Bound.Written, lacks)
	case planner.WetHull:
		return "The hull does not dry: rain or dew is on it whenever it could be done."
	case planner.CuresLate:
		return fmt.Sprintf("%s reaches %s too late: by %s.", upper(f.Name), milestone(f.Note), lacks)
	case planner.CardSilent:
		return fmt.Sprintf("%s gives no time to %s at the temperature the hull has: its table ends %s too soon.", upper(f.Name), milestone(f.Note), lacks)
	case planner.ClosesEarly:
		return fmt.Sprintf("%s may be overcoated for too short a time: it lacks %s.", upper(f.Name), lacks)
	case planner.ShortLife:
		return fmt.Sprintf("What %s does lasts %s, and the coat can't follow so soon: it lacks %s.", f.Name, amount(f.Wants, f.Unit), lacks)
	case planner.ArrivesLate:
		return fmt.Sprintf("%s arrives %s: that is %s too late for this plan.", f.Name, f.When.In(zone).Format("Mon 2 Jan 2006"), lacks)
	case planner.PersonsWord:
		if !f.When.IsZero() {
			return fmt.Sprintf("%s pinned it to %s.", f.Name, f.When.In(zone).Format("Mon 2 Jan 15:04"))
		}
		return fmt.Sprintf("%s holds it: %s.", f.Name, f.Note)
	case planner.PlanEnds:
		return fmt.Sprintf("The plan looks %s ahead: it would have to look %s further.", amount(f.Wants, f.Unit), lacks)
	case planner.OtherBoats:
		return fmt.Sprintf("The other boats leave it no room: alone in the yard it would start %s.", f.When.In(zone).Format("Mon 2 Jan 15:04"))
	}
	return strings.TrimSpace(string(f.Of)+" "+f.Name+" "+lacks) + "."
}

// amount is a figure with its unit, rounded up; hours of three days or more as days.
func amount(v float64, unit string) string {
	if unit == "h" && v >= 72 {
		v, unit = v/24, "days"
	}
	return strconv.FormatFloat(math.Ceil(v*100-1e-6)/100, 'f', -1, 64) + " " + unit
}

func bounded(b conditions.Bound) string {
	if b.Least {
		return "at least"
	}
	return "at most"
}

func quantityOf(b conditions.Bound) string {
	switch b.Of {
	case conditions.OfMargin:
		return "a surface over dew point"
	case conditions.OfHumidity:
		return "a relative humidity"
	case conditions.OfAir:
		return "an air temperature"
	case conditions.OfSurface:
		return "a surface temperature"
	case conditions.OfRain:
		return "a chance of rain"
	}
	return "a " + strings.ReplaceAll(string(b.Of), "_", " ")
}

func milestone(m string) string { return strings.ReplaceAll(m, "_", " ") }

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
