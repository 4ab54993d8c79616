package pages

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// stageNow is a stage with what was done of it and what is planned.
type stageNow struct {
	planner.Progress
	plan    planner.Planned
	planned bool
	told    planner.Planned
	wasTold bool
}

// scene is one boat with all that is known of its work.
type scene struct {
	boat config.Boat
	work planner.Work
	plan planner.Plan
	told planner.Plan
}

// stages are an area's stages in order, repairs that are only planned among
// them: before the first stage that is planned no earlier.
func (s scene) stages(area config.Area) []stageNow {
	planned, told := starts(s.plan), starts(s.told)
	var all []stageNow
	known := map[planner.Key]bool{}
	for _, progress := range s.work.Stages(s.boat.Name, area.Name) {
		one := stageNow{Progress: progress}
		one.plan, one.planned = planned[progress.Key]
		one.told, one.wasTold = told[progress.Key]
		known[progress.Key] = true
		all = append(all, one)
	}
	for _, pl := range s.plan.Stages {
		if pl.Key.Boat != s.boat.Name || pl.Key.Area != area.Name || known[pl.Key] {
			continue
		}
		one := stageNow{plan: pl, planned: true}
		one.Progress = planner.Progress{Key: pl.Key, Stage: config.Stage{Name: pl.Key.Stage, Kind: pl.Kind}, Repair: true}
		one.told, one.wasTold = told[pl.Key]
		i := slices.IndexFunc(all, func(o stageNow) bool {
			return o.planned && !o.plan.Start.IsZero() && !o.plan.Start.Before(pl.Start)
		})
		if i < 0 {
			i = len(all)
		}
		all = slices.Insert(all, i, one)
	}
	return all
}

// atHand are the stages to show buttons for: the one asked for, what runs, and
// the first that is not done. Of an area that is finished it is the last, which may be rejected.
func atHand(stages []stageNow, asked planner.Key) []stageNow {
	var some []stageNow
	first := true
	for i, s := range stages {
		next := first && !s.Done
		first = first && s.Done
		last := first && i == len(stages)-1
		if s.Key == asked || s.Running || next || last {
			some = append(some, s)
		}
	}
	return some
}

// plannedWords is when, where and by whom a stage is planned.
func plannedWords(pl planner.Planned, c clock) string {
	if pl.Start.IsZero() {
		return "without a start within the days that the plan looks ahead"
	}
	words := c.span(pl.Start, pl.End)
	if pl.Place != "" {
		words += " in " + pl.Place
	}
	if pl.Crew != "" {
		words += fmt.Sprintf(", %s (%d)", pl.Crew, max(pl.People, 1))
	}
	if pl.Kind == config.Coat && pl.Chance > 0 {
		words += ", chance that its limits hold " + chance(pl.Chance)
	}
	if pl.Risk != "" {
		words += ", at risk: " + pl.Risk
	}
	if f := pl.Fallback; f != nil {
		words += "; " + fallbackWords(*f, c)
	}
	return words
}

// fallbackWords is when a coat could go on instead.
func fallbackWords(f planner.Fallback, c clock) string {
	words := "if missed, next " + c.moment(f.Start)
	if f.Lapsed {
		words += ", by when the coat under it must be abraded"
	}
	return words
}

// facts are what people reported of a stage.
func facts(s planner.Progress, c clock) []string {
	var all []string
	add := func(there bool, format string, parts ...any) {
		if there {
			all = append(all, fmt.Sprintf(format, parts...))
		}
	}
	add(!s.Started.IsZero() && !s.Done, "started %s by %s", c.moment(s.Started), cmp.Or(s.By, "somebody"))
	add(s.Running && s.Stage.Kind == config.Coat, "%d of %d passes done", len(s.Passes), max(s.Stage.Passes, 1))
	add(s.Done && !s.Ended.IsZero(), "finished %s", c.moment(s.Ended))
	add(s.Held != "", "held by %s: %s", s.Held, s.HeldWhy)
	add(!s.Pinned.IsZero() || s.PinnedTo != "", "pinned%s by %s", pinnedWords(s.Pinned, s.PinnedTo, c), s.PinnedBy)
	add(s.After != (planner.Key{}), "goes after %s, by the word of %s", key(s.After), s.AfterBy)
	add(s.Cant != "", "could not be done %s (%s): %s", c.moment(s.CantAt), s.CantBy, s.Cant)
	add(s.Rejected != "", "rejected: %s", s.Rejected)
	add(s.Override != "", "started outside its limits by decision of %s: %s", s.OverBy, s.Override)
	return all
}

// pinnedWords is what a stage is pinned to: a time, a place, or both.
func pinnedWords(until time.Time, place string, c clock) string {
	words := ""
	if !until.IsZero() {
		words = " to " + c.moment(until)
	}
	if place != "" {
		words += " in " + place
	}
	return words
}

// stateOf is how far a stage is, in a word.
func stateOf(s stageNow) (word, class string) {
	switch {
	case s.Done:
		return "done", "done"
	case s.Held != "":
		return "held", "unconfirmed"
	case s.Paused:
		return "paused", "unconfirmed"
	case s.Running:
		return "running", "running"
	case s.planned:
		return string(s.plan.State), stateClass(s.plan.State)
	}
	return "not planned yet", "unplaced"
}
