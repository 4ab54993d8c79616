package pages

import (
	"slices"
	"time"

	"fairwindow/planner"
)

// dayList is what starts on one day, in the order of the clock.
type dayList struct {
	Day    string
	Stages []listed
}

// listed is a stage as a line.
type listed struct {
	Start, End string
	What       string
	Link       string
	Boat       string
	Place      string
	Crew       string
	State      string
	Class      string
	Chance     string
	Why        string // the last cause of waiting
}

// list is the plan as crews read it, day by day.
func list(plan planner.Plan, ax axis, c clock) (days []dayList) {
	stages := slices.Clone(plan.Stages)
	slices.SortStableFunc(stages, func(a, b planner.Planned) int { return a.Start.Compare(b.Start) })
	for _, s := range stages {
		from := s.Start
		if from.Before(ax.from) && s.End.After(ax.from) {
			from = ax.from // what goes on is listed on the first day
		}
		if s.Start.IsZero() || from.Before(ax.from) || !from.Before(ax.to) {
			continue
		}
		if day := c.day(from); len(days) == 0 || days[len(days)-1].Day != day {
			days = append(days, dayList{Day: day})
		}
		last := &days[len(days)-1]
		last.Stages = append(last.Stages, line(s, c))
	}
	return days
}

func line(s planner.Planned, c clock) listed {
	l := listed{
		What: s.Key.Area + ": " + s.Key.Stage, Boat: s.Key.Boat, Link: stageLink(s.Key), Place: s.Place, Crew: s.Crew,
		State: string(s.State), Class: stateClass(s.State),
	}
	if !s.Start.IsZero() {
		l.Start, l.End = c.hour(s.Start), c.hour(s.End)
		if c.day(s.Start) != c.day(s.End) {
			l.End = s.End.In(c.zone).Format("Mon ") + c.hour(s.End)
		}
		if s.Start.Before(c.midnight(c.now, 0)) {
			l.Start = s.Start.In(c.zone).Format("Mon ") + c.hour(s.Start)
		}
	}
	if s.Chance > 0 && !s.Protected.IsZero() {
		l.Chance = chance(s.Chance)
	}
	if n := len(s.Waits); n > 0 {
		l.Why = c.why(own(s.Key, s.Waits[n-1]))
	}
	return l
}

// own takes a stage's own boat and area out of a cause's words: they go without saying beside it.
func own(k planner.Key, w planner.Wait) planner.Wait {
	if o := w.Evidence.Other; o.Boat == k.Boat && o.Area == k.Area && o.Stage != "" {
		w.Evidence.Other = planner.Key{Stage: o.Stage}
	}
	return w
}

// starts indexes a plan by stage.
func starts(plan planner.Plan) map[planner.Key]planner.Planned {
	all := make(map[planner.Key]planner.Planned, len(plan.Stages))
	for _, s := range plan.Stages {
		all[s.Key] = s
	}
	return all
}

// shift words how far a start moved.
func shift(from, to time.Time) string {
	switch d := to.Sub(from); {
	case d > 0:
		return length(d) + " later"
	case d < 0:
		return length(-d) + " earlier"
	}
	return ""
}
