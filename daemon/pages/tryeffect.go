package pages

import (
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"math"
	"slices"
	"time"

	"fairwindow/planner"
)

// effectView is what a press would do, in figures.
type effectView struct {
	What     string
	Starts   string // as it would be planned; empty if it would not
	Refused  string // why it can't start then
	Nearest  []link
	Against  bool // it makes the plan cost more: a reason is wanted
	Sum      string
	Launches []launchPair
	Same     int // launches as before
	Waits    []pairLine
	Costs    []pairLine
	Lists    []keyList
	Moved    []change
	Moves    int // all of them
	More     int // those that are not listed
	Crews    int // stages that only another crew does
	Form     tryForm
}

// launchPair is one boat's launch before and after.
type launchPair struct {
	Boat                    link
	Promised, Before, After string
	By                      string
	Late, Changed, Good     bool // Good: it is sooner
}

// keyList names stages that became something, or no longer are.
type keyList struct {
	Title  string
	Stages []link
}

// mostMoves are listed of the stages that would move; the board tells the rest.
const mostMoves = 25

// costsMore reports whether a press makes the plan cost more, by the yard's own weights.
func costsMore(t planner.Tried) bool {
	return t.Difference.Gained() < 0 || len(newKeys(t.Difference.NoStart)) > 0
}

// effect is what a person was shown a press would do, so short that a form carries it.
func effect(t planner.Tried) string {
	sum := sha256.New()
	fmt.Fprint(sum, t.Refused, t.Stage.Start.Unix(), t.Stage.Place)
	for _, l := range t.Difference.Launches {
		fmt.Fprint(sum, "\n", l.Boat, l.After.Likely.Unix())
	}
	for _, keys := range [][]planner.Key{t.Difference.NoStart.After, t.AtRisk.After, t.Repairs.After} {
		fmt.Fprint(sum, "\n", keys)
	}
	return base64.RawURLEncoding.EncodeToString(sum.Sum(nil)[:12])
}

// effectOf words a trial of a plan that looks so far.
func effectOf(t planner.Tried, ends time.Time, c clock) effectView {
	d, p := t.Difference, t.Press
	v := effectView{What: tryWords(p, c), Against: costsMore(t)}
	if !t.Stage.Start.IsZero() {
		v.Starts = standing(t.Stage, c)
	}
	if t.Refused {
		v.Refused = "It can't start"
		if !p.Until.IsZero() {
			v.Refused += " " + c.moment(p.Until)
		}
		if p.Place != "" {
			v.Refused += " in " + p.Place
		}
		if t.Why.Cause != "" {
			v.Refused += ": " + c.cause(own(p.Key, t.Why))
		}
		v.Refused += ". A pin is no leave to go outside a limit, so there is nothing to keep."
		for i, start := range []time.Time{t.Earlier, t.Later} {
			if !start.IsZero() {
				name := [2]string{"before", "after"}[i]
				v.Nearest = append(v.Nearest, link{"Nearest allowed start " + name + ": " + c.moment(start), pinLink(p.Key, start, p.Place, c)})
			}
		}
		return v
	}
	switch gained := d.Gained(); {
	case gained > 0:
		v.Sum = fmt.Sprintf("By the yard's weights the plan costs %d cost-minutes less.", gained)
	case gained < 0:
		v.Sum = fmt.Sprintf("By the yard's weights the plan costs %d cost-minutes more.", -gained)
	default:
		v.Sum = "By the yard's weights the plan costs the same."
	}
	v.Launches, v.Same = launchPairs(d, ends, c)
	v.Waits, v.Costs = waitRows(d), costRows(d)
	v.list("Coats newly at risk", newKeys(t.AtRisk))
	v.list("Coats no longer at risk", newKeys(planner.KeyPair{Before: t.AtRisk.After, After: t.AtRisk.Before}))
	v.list("Repairs put in", newKeys(t.Repairs))
	v.list("Repairs no longer needed", newKeys(planner.KeyPair{Before: t.Repairs.After, After: t.Repairs.Before}))
	v.listAreas("Left without a start", newKeys(d.NoStart))
	v.listAreas("With a start again", newKeys(planner.KeyPair{Before: d.NoStart.After, After: d.NoStart.Before}))
	for _, m := range d.Moved {
		if m.Before.Start.Equal(m.After.Start) && m.Before.Place == m.After.Place {
			v.Crews++
			continue
		}
		if v.Moves++; len(v.Moved) == mostMoves {
			v.More++
			continue
		}
		was, is := planner.Planned{Start: m.Before.Start, Place: m.Before.Place}, planner.Planned{Start: m.After.Start, Place: m.After.Place}
		v.Moved = append(v.Moved, change{What: key(m.Key), Link: stageLink(m.Key), Told: standing(was, c), Draft: standing(is, c), Moved: moved(was, is)})
	}
	return v
}

// tryWords say what would be pressed.
func tryWords(p planner.Press, c clock) string {
	switch p.Kind {
	case planner.Pinned:
		return "Pin " + key(p.Key) + pinnedWords(p.Until, p.Place, c)
	case planner.Held:
		return "Hold back " + key(p.Key)
	case planner.Freed:
		return "Free " + key(p.Key)
	case planner.Unpinned:
		return "Unpin " + key(p.Key)
	case planner.ComesAfter:
		return capital(key(p.Key)) + " goes after " + key(p.Other)
	case planner.AnyOrder:
		return capital(key(p.Key)) + " goes in any order again"
	}
	return string(p.Kind)
}

// launchPairs are the launches that change, of plans that look so far, then in a yard of
// few boats the others too.
func launchPairs(d planner.Difference, ends time.Time, c clock) (all []launchPair, same int) {
	const few = 12
	word := func(l planner.Launch) string { return launchWords(l.Likely, ends, c.moment, c) }
	var rest []launchPair
	for _, l := range d.Launches {
		one := launchPair{
			Boat: link{l.Boat, boatLink(l.Boat)}, Promised: c.day(l.Before.Promised), Before: word(l.Before), After: word(l.After), Changed: !l.Before.Likely.Equal(l.After.Likely),
		}
		_, one.Late = offBy(l.After, planner.Plan{Until: ends})
		switch sooner, ok := l.Sooner(); {
		case !one.Changed:
			one.By = "as before"
		case !ok && l.After.Likely.IsZero():
			one.By = "later than the plan looks"
		case !ok:
			one.By = "within the plan again"
		case sooner > 0:
			one.By, one.Good = length(sooner)+" sooner", true
		default:
			one.By = length(-sooner) + " later"
		}
		if one.Changed {
			all = append(all, one)
		} else {
			rest = append(rest, one)
		}
	}
	if len(d.Launches) <= few {
		return append(all, rest...), 0
	}
	return all, len(rest)
}

// waitRows are the causes whose hours change, those that follow from others left out.
func waitRows(d planner.Difference) (all []pairLine) {
	for _, w := range d.Waits {
		if w.Again() || math.Abs(w.After-w.Before) < .05 {
			continue
		}
		name := string(w.Cause)
		if w.Of != "" {
			name += ": " + quantity(w.Of)
		}
		all = append(all, pairLine{name, number(w.Before, 1) + " h", number(w.After, 1) + " h", withSign(w.After-w.Before, 1, " h")})
	}
	return all
}

func costRows(d planner.Difference) (all []pairLine) {
	for i, t := range d.Cost {
		if t.Before != t.After || i == len(d.Cost)-1 {
			all = append(all, pairLine{t.Name, number(float64(t.Before), 0), number(float64(t.After), 0), withSign(float64(t.After-t.Before), 0, "")})
		}
	}
	return all
}

func newKeys(p planner.KeyPair) (all []planner.Key) {
	for _, k := range p.After {
		if !slices.Contains(p.Before, k) {
			all = append(all, k)
		}
	}
	return all
}

func (v *effectView) list(title string, keys []planner.Key) {
	if len(keys) == 0 {
		return
	}
	l := keyList{Title: title}
	for _, k := range keys {
		l.Stages = append(l.Stages, link{key(k), stageLink(k)})
	}
	v.Lists = append(v.Lists, l)
}

// listAreas names the first stage of each area, and how many follow: what comes after a
// stage without a start has none either.
func (v *effectView) listAreas(title string, keys []planner.Key) {
	var first []planner.Key
	more := map[planner.Key]int{}
	for _, k := range keys {
		i := slices.IndexFunc(first, func(f planner.Key) bool { return f.Boat == k.Boat && f.Area == k.Area })
		if i < 0 {
			first = append(first, k)
			continue
		}
		more[first[i]]++
	}
	v.list(title, first)
	for i, k := range first {
		if n := more[k]; n > 0 {
			v.Lists[len(v.Lists)-1].Stages[i].Name += " and " + howMany(n, "stage", "stages") + " after it"
		}
	}
}
