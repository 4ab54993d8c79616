package pages

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// cureView is how far an area's last coat has cured, and when the next may go on.
type cureView struct {
	Area  string
	Coat  string   // which it is, and since when
	Next  string   // when it may be overcoated, until when, and what then
	Way   []string // what it has reached, then each milestone to come
	Rests string   // what the times to come rest on
	Lacks string   // what time did not count
}

// steady is how long the surface is taken to stay as it is: longer than any card's cure.
const steady = 400 * 24 * time.Hour

// curing is a coat with its clock, and the surface as it is now.
type curing struct {
	cure    conditions.Cure
	clock   conditions.Clock
	surface conditions.Exposure
	now     time.Time
}

// cure words the last coat of one area; nil where it has none.
func (p *pages) cure(ctx context.Context, s scene, area string, c clock, u units) (*cureView, error) {
	coat, ok := s.work.LastCoat(s.boat.Name, area)
	if !ok {
		return nil, nil
	}
	is, surface, closes, err := p.Plans.Coat(ctx, s.boat.Name, area)
	if err != nil {
		return nil, fmt.Errorf("cure of %s on %s: %w", area, s.boat.Name, err)
	}
	v := &cureView{Area: area, Coat: coat.Card}
	if !coat.Ended.IsZero() {
		v.Coat += ", coated " + c.moment(coat.Ended)
	}
	card, ok := p.Plans.Yard().Card(coat.Card)
	switch {
	case coat.Ended.IsZero():
		v.Next = "When its last pass ended was not reported: its cure is not known."
		return v, nil
	case !ok || is.Key != coat.Key:
		v.Next = "No clock runs for it yet: its cure is not known."
		return v, nil
	}
	k := curing{cure: card.Cure, clock: is.Clock, surface: surface, now: c.now}
	switch next, follows := toCome(s.work.Stages(s.boat.Name, area)); {
	case !follows:
		v.Next = "No coat is to follow it."
	case coat.Sanded:
		v.Next = "Sanded since: its recoat window counts no more."
	default:
		v.Next = k.overcoat(closes, c)
		if next.Kind == config.Sand || next.Kind == config.Fair {
			v.Next += " First comes " + next.Name + ", which renews the surface: then no window is missed."
		}
	}
	v.Way, v.Rests = k.way(c), k.supposes(u)
	if lost := k.clock.Silent; lost >= time.Minute {
		v.Lacks = length(lost) + " did not count towards what was still to come: not measured, or beyond the card's figures."
	}
	return v, nil
}

// exact is how finely people are told a time that is still to come: an end is rounded
// down to it, a beginning up.
const exact = 5 * time.Minute

// toCome is the first open stage that is of the next coat or renews the surface before
// it, and whether another coat is to follow at all.
func toCome(stages []planner.Progress) (next config.Stage, follows bool) {
	for _, s := range stages {
		kind := s.Stage.Kind
		if s.Done || kind != config.Coat && kind != config.Sand && kind != config.Fair {
			continue
		}
		if next.Kind == "" {
			next = s.Stage
		}
		follows = follows || kind == config.Coat
	}
	return next, follows
}

// when a milestone is reached if the surface stays as it is, and whether it is by now.
func (k curing) when(m conditions.Milestone) (at time.Time, reached, ok bool) {
	if k.cure.Reached(k.clock, m) {
		return k.clock.At, true, true
	}
	at, ok = k.cure.When(k.clock, m, []conditions.Spell{{Until: k.now.Add(steady), Exposure: k.surface}})
	reached = ok && !at.After(k.now)
	if m != conditions.LastRecoat && m != conditions.Reactivate {
		at = at.Add(exact - 1)
	}
	return at.Truncate(exact), reached, ok
}

// gives reports whether the card says anything of a milestone.
func (k curing) gives(m conditions.Milestone) bool {
	return len(k.cure.Of(m)) > 0 || len(k.cure.Bands) > 0 && (m == conditions.Recoat || m == conditions.LastRecoat)
}

// overcoat says when the next coat may go on this one. What opens goes by the slowest
// side, what closes by the fastest; the plan's outlook is named where it says otherwise.
func (k curing) overcoat(foreseen time.Time, c clock) string {
	if !k.gives(conditions.Recoat) {
		return "The card gives no recoat window."
	}
	opens, open, opensOnce := k.when(conditions.Recoat)
	closes, closed, closesOnce := k.when(conditions.LastRecoat)
	after := k.afterwards(c)
	if closed {
		return "May no longer be overcoated as it is: " + after + "."
	}
	end := "the card gives no end"
	if closesOnce {
		end = "until " + c.moment(closes) + " (fastest side" + elsewise(closes, foreseen, c) + "); then " + after
	}
	switch {
	case open:
		return "May be overcoated now, " + end + "."
	case closesOnce && opensOnce && !opens.Before(closes):
		return "Has no recoat window if the hull stays as it is: it closes " + c.moment(closes) + " (fastest side) before the slowest side opens; then " + after + "."
	case opensOnce:
		return "May be overcoated from " + c.moment(opens) + " (slowest side), " + end + "."
	case !unit.Known(k.surface.Coldest):
		return "May not be overcoated yet, and when is not known: the hull is neither measured nor worked out. " + shuts(closes, closesOnce, after, c)
	}
	return "May not be overcoated while the hull stays as it is: the card says nothing there. " + shuts(closes, closesOnce, after, c)
}

// shuts says that a window closes though nobody can tell when it opens.
func shuts(closes time.Time, ever bool, after string, c clock) string {
	if !ever {
		return "The card gives no end."
	}
	return "It closes " + c.moment(closes) + " (fastest side) all the same; then " + after + "."
}

// elsewise names the end by the plan's outlook where it is another.
func elsewise(closes, foreseen time.Time, c clock) string {
	if foreseen.IsZero() || foreseen.Sub(closes).Abs() < 15*time.Minute {
		return ""
	}
	return "; by the outlook " + c.moment(foreseen)
}

// afterwards is what is to be done once the window has closed.
func (k curing) afterwards(c clock) string {
	if at, over, ok := k.when(conditions.Reactivate); k.gives(conditions.Reactivate) && ok && !over {
		return "reactivate until " + c.moment(at) + ", then abrade"
	}
	return "abrade before the next coat"
}

// way is what the coat has reached, and what is still to come and when.
func (k curing) way(c clock) []string {
	var done, ahead []string
	for _, m := range config.Milestones() {
		if m == conditions.Recoat || m == conditions.LastRecoat || m == conditions.Reactivate || !k.gives(m) {
			continue
		}
		at, reached, ok := k.when(m)
		if reached {
			done = append(done, Milestone(m))
			continue
		}
		when := "stands still"
		if ok {
			when = c.moment(at)
		}
		// 100 % is for what is reached.
		ahead = append(ahead, Milestone(m)+": "+when+" ("+percent(min(k.clock.Slow[m], 0.994))+")")
	}
	if len(done) == 0 {
		return ahead
	}
	return slices.Insert(ahead, 0, "reached: "+strings.Join(done, ", "))
}

// supposes is what all that is still to come rests on.
func (k curing) supposes(u units) string {
	if !unit.Known(k.surface.Coldest) {
		return "The hull is neither measured nor worked out now: what opens stands still, what closes goes on at the card's fastest."
	}
	line := "If the hull stays at " + unbroken(u.rangeText(k.surface.Coldest, k.surface.Warmest))
	if len(k.cure.Humidity) > 0 && unit.Known(k.surface.Humidity) {
		line += " and the air at " + text(float64(k.surface.Humidity), 0, "%")
	}
	return line + ". By the cure alone: air and surface have limits of their own."
}

// Milestone is a milestone as a painter would say it.
func Milestone(m conditions.Milestone) string {
	switch m {
	case conditions.Protected:
		return "dew no longer marks it"
	case conditions.Taped:
		return "may be taped"
	case conditions.Recoat:
		return "may be recoated"
	case conditions.LastRecoat:
		return "last recoat"
	case conditions.Reactivate:
		return "last reactivation"
	}
	return strings.ReplaceAll(string(m), "_", "-")
}

// cures are those of all areas of a boat.
func (p *pages) cures(ctx context.Context, s scene, c clock, u units) ([]cureView, error) {
	var all []cureView
	for _, area := range s.boat.Areas {
		v, err := p.cure(ctx, s, area.Name, c, u)
		if err != nil {
			return nil, err
		}
		if v != nil {
			all = append(all, *v)
		}
	}
	return all, nil
}
