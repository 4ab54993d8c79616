package pages

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/planner"
)

// launch is one boat's launch as a plan has it.
type launch struct {
	Boat     link
	Promised string
	Likely   string
	Cautious string
	Off      string
	Late     bool
}

// outlook is what comes of all launches, in few words; without launches both are empty.
type outlook struct {
	Late string // which are late, and by how much
	Rest string // how it stands with the others
}

// notKnown is how far off its promise a launch is that the plan does not reach.
const notKnown = "not known yet"

// mostLate are named in the outlook; the table below has the others.
const mostLate = 3

// launches are those that are late first, the latest of them at the top, then the others
// in the order in which they were promised.
func launches(plan planner.Plan, c clock) []launch {
	var all []launch
	due := slices.Clone(plan.Launches)
	slices.SortStableFunc(due, func(a, b planner.Launch) int {
		return cmp.Or(cmp.Compare(lateness(b, plan), lateness(a, plan)), a.Promised.Compare(b.Promised))
	})
	for _, l := range due {
		off, late := offBy(l, plan)
		all = append(all, launch{
			Boat: link{l.Boat, boatLink(l.Boat)}, Promised: c.day(l.Promised),
			Likely: launchWords(l.Likely, plan.Until, c.moment, c), Cautious: launchWords(l.Cautious, plan.Until, c.day, c), Off: off, Late: late,
		})
	}
	return all
}

// launchWords are when a launch is; a plan that ends before it knows only that.
func launchWords(at, ends time.Time, word func(time.Time) string, c clock) string {
	if at.IsZero() {
		return "after " + c.day(ends)
	}
	return word(at)
}

// offBy is how far a launch is from its promise, and whether it is late. What was promised
// for a day behind the end of the plan is not known to be late.
func offBy(l planner.Launch, plan planner.Plan) (string, bool) {
	late := l.Likely.Sub(l.Promised)
	switch {
	case l.Likely.IsZero() && l.Promised.After(plan.Until):
		return notKnown, false
	case l.Likely.IsZero():
		return "more than " + length(plan.Until.Sub(l.Promised)) + " late", true
	case late > 0:
		return length(late) + " late", true
	case late == 0:
		return "to the minute", false
	}
	return length(-late) + " to spare", false
}

// lateness is how late a launch is, 0 of one that is not; what is late and behind the end
// of the plan is latest.
func lateness(l planner.Launch, plan planner.Plan) time.Duration {
	switch _, late := offBy(l, plan); {
	case !late:
		return 0
	case l.Likely.IsZero():
		return math.MaxInt64
	}
	return l.Likely.Sub(l.Promised)
}

// outlookOf is the first thing that a scheduler asks of a plan.
func outlookOf(all []launch) (o outlook) {
	var late []string
	kept, open := 0, 0
	for _, l := range all {
		switch {
		case l.Late:
			late = append(late, l.Boat.Name+" by "+strings.TrimSuffix(l.Off, " late"))
		case l.Off == notKnown:
			open++
		default:
			kept++
		}
	}
	if n := len(late); n > 0 {
		o.Late = howMany(n, "launch is", "launches are") + " likely late: " + strings.Join(late[:min(n, mostLate)], ", ")
		if n > mostLate {
			o.Late += " and " + strconv.Itoa(n-mostLate) + " more"
		}
		o.Late += "."
	}
	var rest []string
	switch {
	case kept > 0 && kept == len(all):
		rest = append(rest, "Every launch is likely kept.")
	case kept > 0 && len(late) > 0:
		rest = append(rest, howMany(kept, "other is", "others are")+" likely kept.")
	case kept > 0:
		rest = append(rest, howMany(kept, "launch is", "launches are")+" likely kept.")
	}
	if open > 0 {
		rest = append(rest, howMany(open, "is", "are")+" promised for later than this plan looks, and not known yet.")
	}
	o.Rest = strings.Join(rest, " ")
	return o
}

// unplacedBoat is a boat of which stages found no start, with what stands before the first
// of them: what waits for that one says nothing of its own.
type unplacedBoat struct {
	Boat   link
	First  link
	Why    string
	Stages int
}

// unplaced are the boats of which stages found no start, as the plan has them.
func unplaced(plan planner.Plan, c clock) (all []unplacedBoat) {
	at := map[string]int{}
	cause := map[string]planner.Cause{}
	for _, s := range plan.Stages {
		if !s.Start.IsZero() {
			continue
		}
		i, known := at[s.Key.Boat]
		if !known {
			i = len(all)
			at[s.Key.Boat] = i
			all = append(all, unplacedBoat{Boat: link{s.Key.Boat, boatLink(s.Key.Boat)}})
		}
		one := &all[i]
		one.Stages++
		var why planner.Wait
		if n := len(s.Waits); n > 0 {
			why = s.Waits[n-1]
		}
		if !known || cause[s.Key.Boat] == planner.EarlierMoved && why.Cause != planner.EarlierMoved {
			cause[s.Key.Boat] = why.Cause
			one.First, one.Why = link{s.Key.Area + ": " + s.Key.Stage, stageLink(s.Key)}, ""
			if why.Cause != "" {
				one.Why = c.cause(own(s.Key, why))
			}
		}
	}
	return all
}
