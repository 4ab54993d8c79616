package pages

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// recordLine is one thing that was done or said, with the conditions measured at it.
type recordLine struct {
	When    string
	Entered string // when it was entered, if that was later
	What    string
	Area    string
	Place   string
	By      string
	Note    string
	Air     string // of a pass; "not measured" where there was nothing
	Pass    bool
	Struck  string // by whom, when and why it was struck through
	Correct string // where it can be struck
}

// enteredLate is how long after the fact an entry is worth a word.
const enteredLate = 15 * time.Minute

// around is how far from a pass a reading still tells of it.
const around = 15 * time.Minute

// record is what was reported of a boat, the latest first. A pass that was rejected
// later stays, and what was struck through stays, struck.
func (p *pages) record(ctx context.Context, s scene, c clock, u units) ([]recordLine, error) {
	presses, err := p.Plans.Presses(ctx, s.boat.Name)
	if err != nil {
		return nil, fmt.Errorf("presses of %s: %w", s.boat.Name, err)
	}
	place := ""
	struck := map[int64]planner.Press{}
	for _, press := range presses {
		if press.Kind == planner.Struck {
			struck[press.Strikes] = press
		}
	}
	since := map[planner.Key]time.Time{}
	var lines []recordLine
	for _, press := range presses {
		strike, isStruck := struck[press.ID]
		isStruck = isStruck && press.ID != 0
		if ofBoat(press.Kind) && press.Place != "" && !isStruck {
			place = press.Place
		}
		a, ok := actionOf(press.Kind)
		if !ok {
			continue
		}
		l := recordLine{
			When: c.moment(press.Happened), What: a.Name, Area: press.Key.Area, Place: place, By: press.By, Note: press.Note,
		}
		if late := press.Entered.Sub(press.Happened); late > enteredLate {
			l.Entered = c.moment(press.Entered)
		}
		if press.Key.Stage != "" {
			l.What = press.Key.Stage + ": " + a.Name
		}
		if press.Pass > 0 && press.Kind == planner.PassDone {
			l.What = fmt.Sprintf("%s: pass %d", press.Key.Stage, press.Pass)
		}
		if isStruck {
			l.Struck = "Struck through by " + strike.By + " " + c.moment(strike.Entered) + ": " + strike.Note
			lines = append(lines, l)
			continue
		}
		l.Correct = correctLink(s.boat.Name, press.ID)
		progress, _ := s.work.Stage(press.Key)
		coat := progress.Stage.Kind == config.Coat
		switch press.Kind {
		case planner.Started, planner.Override, planner.Resumed:
			since[press.Key] = press.Happened
		case planner.Pinned:
			l.What += pinnedWords(press.Until, press.Place, c)
		case planner.ComesAfter:
			l.What += " " + key(press.Other)
		case planner.PassDone, planner.StoppedAt, planner.Finished:
			l.Pass = coat
		}
		if l.Pass {
			from, begun := since[press.Key]
			if !begun {
				from = press.Happened
			}
			l.When = c.span(from, press.Happened)
			if l.Air, err = p.during(ctx, place, from, press.Happened, u); err != nil {
				return nil, err
			}
			since[press.Key] = press.Happened
		}
		lines = append(lines, l)
	}
	slices.Reverse(lines)
	return lines, nil
}

const notMeasured = "not measured"

// during words the conditions measured in a place over a span.
func (p *pages) during(ctx context.Context, place string, from, to time.Time, u units) (string, error) {
	if place == "" {
		return notMeasured, nil
	}
	moments, err := p.Air.Past(ctx, place, from.Add(-around), to.Add(around))
	if err != nil {
		return "", fmt.Errorf("past air of %s: %w", place, err)
	}
	moments = slices.DeleteFunc(slices.Clone(moments), func(m conditions.Moment) bool { return m.Sure != conditions.Measured })
	if len(moments) == 0 {
		return notMeasured, nil
	}
	over := func(at func(conditions.Moment) float64, sign string) string {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, m := range moments {
			if v := at(m); unit.Known(v) {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
		if lo > hi {
			return notMeasured
		}
		low, high := number(lo, 1), number(hi, 1)
		if low == high {
			return low + " " + sign
		}
		return low + " to " + high + " " + sign
	}
	return fmt.Sprintf("air %s; hull %s; dew point %s; margin %s; humidity %s",
		over(func(m conditions.Moment) float64 { return u.temperature(m.Air) }, u.tempSign()),
		over(func(m conditions.Moment) float64 { return u.temperature(m.Coldest) }, u.tempSign()),
		over(func(m conditions.Moment) float64 { return u.temperature(m.DewPoint) }, u.tempSign()),
		over(func(m conditions.Moment) float64 { return u.difference(margin(m)) }, u.diffSign()),
		over(humidity, "%"),
	), nil
}
