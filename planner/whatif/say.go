package whatif

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// described is a change as a part of a sentence that begins with "With".
func described(c planner.Change, y config.Yard) string {
	switch c.Kind {
	case planner.Heat:
		parts := []string{c.Place}
		if !c.SetPoint.IsZero() {
			parts = append(parts, "at "+c.SetPoint.String())
		}
		if !c.Heater.IsZero() {
			parts = append(parts, "heated by "+c.Heater.String())
		}
		return strings.Join(parts, " ")
	case planner.Dry:
		return "a dehumidifier in " + c.Place
	case planner.Cover:
		return "a tent over " + c.Place
	case planner.Staff:
		n, more := fmt.Sprint(max(c.People, -c.People)), "more"
		if c.People < 0 {
			more = "fewer"
		}
		if n == "1" {
			n = "one"
		}
		if _, ok := y.Crew(c.Crew); ok {
			return fmt.Sprintf("%s %s in crew %s", n, more, c.Crew)
		}
		return fmt.Sprintf("%s %s %s", n, more, c.Crew)
	case planner.WorkOn:
		return fmt.Sprintf("%s shifts for %s", c.Weekday, c.Crew)
	case planner.Promise:
		return fmt.Sprintf("%s promised for %s", c.Boat, c.Day)
	case planner.SwapPlaces:
		return fmt.Sprintf("%s and %s in each other's place", c.Boat, c.Other)
	case planner.SwapTurns:
		return fmt.Sprintf("%s and %s in each other's turn", c.Boat, c.Other)
	case planner.PutOff:
		if c.Day != "" {
			return fmt.Sprintf("%s put off to %s", c.Boat, c.Day)
		}
		return fmt.Sprintf("%s put off by %s", c.Boat, c.By)
	}
	return c.Boat + " taken out"
}

// assumed is what a change takes for granted, one sentence each.
func assumed(c planner.Change, was, is planner.Problem) []string {
	var all []string
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	switch c.Kind {
	case planner.Dry:
		for _, p := range is.Yard.Places {
			if !strings.EqualFold(p.Name, c.Place) {
				continue
			}
			if d := p.Dehumidifier; d != nil {
				say("the dehumidifier takes %s out of the air and runs all the time, also while coats go on; its own warmth is left out", d.Takes)
				how := ""
				if c.Leaks.IsZero() {
					changes := float64(d.Leaks.SI) / float64(p.Length.SI*p.Width.SI*p.Height.SI)
					how = fmt.Sprintf(", air changes an hour: %.0f (our judgement; \"leaking %s\" says another)", math.Round(changes), d.Leaks)
				}
				say("with its sides and doors shut %s lets in %s of outdoor air%s", p.Name, d.Leaks, how)
			} else if p.Booth != nil {
				say("the dehumidifier takes %s and runs while %s cures; while it sprays all air is from outdoors", p.Booth.Dehumid, p.Name)
			}
		}
	case planner.Cover:
		say("the tent stands from now to the end of the plan, and what may be done only on a slip can't be done there")
	case planner.Staff:
		if c.People > 0 {
			say("whoever comes can do all that the crew does, from now on in its shifts")
		}
	case planner.WorkOn:
		if c.Starts == "" || c.Length == 0 {
			say("what is not said of the hours is as on the crew's other days")
		}
	case planner.SwapTurns:
		say("each boat has the other's promise and, where both are still to come, its day of arrival")
	case planner.PutOff:
		say("the launch stays promised as it is")
	}
	if len(is.Measured) < len(was.Measured) {
		say("it counts from now on, so what the instruments in %s read before does not", c.Place)
	}
	return all
}

// onlyGives reports whether a plan without the changes could still be carried out
// with them.
func onlyGives(changes []planner.Change) bool {
	return !slices.ContainsFunc(changes, func(c planner.Change) bool {
		return c.Kind != planner.WorkOn && (c.Kind != planner.Staff || c.People < 0)
	})
}

// What is too little to be told of. Our judgement.
const (
	littleTime = time.Hour // of a launch
	littleWait = 0.5       // h, of all waiting
	littleRisk = 0.005     // coats
)

// Sentence is the difference as one sentence for whoever pays for the change.
func Sentence(d planner.Difference, w config.Weights, said []string, gives bool) string {
	if len(said) == 0 {
		return "Nothing in the yard changes, so the plan stays as it is."
	}
	with := "With " + strings.Join(said, " and ")
	if len(d.Moved) == 0 && d.Gained() == 0 && len(d.NoStart.Before) == len(d.NoStart.After) && !slices.ContainsFunc(d.Launches, moves) {
		return with + " the plan stays as it is: nothing in it waits for that."
	}
	parts := []string{kept(d.Launches), launched(d)}
	if more, fewer := without(d.NoStart.After, d.NoStart.Before), without(d.NoStart.Before, d.NoStart.After); more+fewer > 0 {
		switch {
		case more == 0:
			parts = append(parts, Counted(fewer, "stage")+" that had no start "+one(fewer, "has", "have")+" one")
		case fewer == 0:
			parts = append(parts, Counted(more, "stage")+" that had a start "+one(more, "has", "have")+" none")
		default:
			parts = append(parts, fmt.Sprintf("%s lose their start and %d find one", Counted(more, "stage"), fewer))
		}
	}
	parts = append(parts, waiting(d), spoilt(d.Spoiling))
	worth := "costs the same"
	if g := d.Gained(); g > 0 {
		worth = "is better by " + costs(g, w)
	} else if g < 0 {
		worth = "is worse by " + costs(-g, w)
	}
	if parts[0][0] >= '0' && parts[0][0] <= '9' {
		with += ","
	}
	out := with + " " + strings.Join(parts, "; ") + "; by the yard's weights the plan " + worth + "."
	if gives && d.Gained() < 0 {
		out += " The old plan could still be carried out: that the new one is worse is the search's doing, not the change's."
	}
	return out
}

// moves reports whether a launch is at another time, be it by minutes.
func moves(l planner.LaunchPair) bool { return !l.Before.Likely.Equal(l.After.Likely) }

// without is how many of some keys are not among others.
func without(some, others []planner.Key) int {
	n := 0
	for _, k := range some {
		if !slices.Contains(others, k) {
			n++
		}
	}
	return n
}

// costs words cost-minutes by the delay of one launch that costs as much: what a minute of
// the yard's weights is nobody knows.
func costs(minutes int64, w config.Weights) string {
	if w.Lateness <= 0 {
		return Counted(int(minutes), "cost-minute")
	}
	late := time.Duration(float64(minutes) / w.Lateness * float64(time.Minute))
	if late < littleTime {
		return "less than an hour of one launch's delay"
	}
	return "as much as " + Lasts(late) + " of one launch's delay"
}

// kept words whether launches keep their promises.
func kept(launches []planner.LaunchPair) string {
	var before, after int
	late := func(l planner.Launch) int {
		if !l.Promised.IsZero() && (l.Likely.IsZero() || l.Likely.After(l.Promised)) {
			return 1
		}
		return 0
	}
	for _, l := range launches {
		before += late(l.Before)
		after += late(l.After)
	}
	switch {
	case after == 0 && before == 0:
		return "every launch is kept as promised, as it is without"
	case after == 0:
		return fmt.Sprintf("every launch is kept as promised, while %s late without", Counted(before, "is", "are"))
	case after == before:
		return fmt.Sprintf("%s late, as many as without", Counted(after, "launch is", "launches are"))
	}
	return fmt.Sprintf("%s late and not %d", Counted(after, "launch is", "launches are"), before)
}

// Counted is a number with its noun, and its plural where that is not by an s.
func Counted(n int, noun string, plural ...string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %s", n, append(plural, noun+"s")[0])
}

func one(n int, single, several string) string {
	if n == 1 {
		return single
	}
	return several
}

// launched words the launches that move, those that move most first.
func launched(d planner.Difference) string {
	type shift struct {
		boat string
		by   time.Duration
	}
	var shifts []shift
	var parts []string
	for _, l := range d.Launches {
		by, ok := l.Sooner()
		switch {
		case l.After.Promised.IsZero():
			continue
		case !ok && l.Before.Likely.IsZero() && !l.After.Likely.IsZero():
			parts = append(parts, l.Boat+" is launched within the plan")
		case !ok && !l.Before.Likely.IsZero():
			parts = append(parts, l.Boat+" is no longer launched within the plan")
		case by.Abs() >= littleTime:
			shifts = append(shifts, shift{l.Boat, by})
		}
	}
	slices.SortStableFunc(shifts, func(a, b shift) int { return cmp.Compare(b.by.Abs(), a.by.Abs()) })
	for i, s := range shifts {
		if i == 3 && len(shifts) > 4 {
			others, later := len(shifts)-i, 0
			for _, rest := range shifts[i:] {
				if rest.by < 0 {
					later++
				}
			}
			switch later { // a launch made later must not hide among those made sooner
			case 0:
				parts = append(parts, fmt.Sprintf("%d others sooner by less", others))
			case others:
				parts = append(parts, fmt.Sprintf("%d others later by less", others))
			default:
				parts = append(parts, fmt.Sprintf("%d others by less, %d of them later", others, later))
			}
			break
		}
		way := "sooner"
		if s.by < 0 {
			way = "later"
		}
		is := ""
		if i == 0 {
			is = "is launched "
		}
		parts = append(parts, fmt.Sprintf("%s %s%s %s", s.boat, is, Lasts(s.by.Abs()), way))
	}
	switch n := len(parts); n {
	case 0:
		if slices.ContainsFunc(d.Launches, moves) {
			return "no launch moves by as much as an hour"
		}
		return "no launch moves"
	case 1:
		return parts[0]
	default:
		return strings.Join(parts[:n-1], ", ") + " and " + parts[n-1]
	}
}

// Lasts words a span as people do: 5 hours, 2.5 days.
func Lasts(d time.Duration) string {
	if hours := math.Round(d.Hours()); hours < 24 {
		return Counted(int(hours), "hour")
	}
	if days := strings.TrimSuffix(fmt.Sprintf("%.1f", d.Hours()/24), ".0"); days != "1" {
		return days + " days"
	}
	return "1 day"
}

func waiting(d planner.Difference) string {
	waits := slices.DeleteFunc(slices.Clone(d.Waits), planner.WaitPair.Again)
	sum := 0.0
	for _, w := range waits {
		sum += w.After - w.Before
	}
	out := "stages wait as long as before"
	if math.Abs(sum) >= littleWait {
		out = "stages wait " + hours(sum) + " in all"
	}
	var parts []string // those that differ most come first
	for _, w := range waits[:min(len(waits), 2)] {
		if by := w.After - w.Before; math.Abs(by) >= littleWait {
			parts = append(parts, WaitWords(w)+" "+hours(by))
		}
	}
	if len(parts) > 0 {
		out += " (" + strings.Join(parts, ", ") + ")"
	}
	return out
}

func hours(more float64) string {
	if more < 0 {
		return fmt.Sprintf("%.0f h less", -more)
	}
	return fmt.Sprintf("%.0f h more", more)
}

func spoilt(s planner.Spoiling) string {
	if by := s.After - s.Before; math.Abs(by) >= littleRisk {
		return fmt.Sprintf("of %s %.2f are likely to be spoilt instead of %.2f", Counted(s.Coats, "coat"), s.After, s.Before)
	}
	return "coats are as likely to be spoilt as before"
}

// WaitWords names a cause of waiting; pages words single waits with their evidence.
func WaitWords(w planner.WaitPair) string {
	switch {
	case w.Cause != planner.OutOfLimits:
		return string(w.Cause)
	case w.Of == "":
		return "conditions not known"
	case w.Of == conditions.OfMargin:
		return "too near the dew point"
	}
	return strings.ReplaceAll(string(w.Of), "_", " ") + " outside its limits"
}

// Percent is a chance for people: never 100 % that is none.
func Percent(chance float64) string {
	share := unit.Share(chance)
	if share < 1 && share > 0.995 {
		return "> 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*float64(share))
}
