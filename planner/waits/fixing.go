package waits

import (
	"time"

	"fairwindow/planner"
)

// fixing are the stages that a boat's launch hangs on: the one that lets it go last, and
// back from it each stage that made the next one ready. Over a night the chain goes
// on to the stage before. Where anything else fixed a start, what came before could have
// been later without anybody launching later.
func fixing(plan planner.Plan) map[planner.Key]bool {
	by := map[planner.Key]*planner.Planned{}
	last := map[string]*planner.Planned{}
	for i := range plan.Stages {
		s := &plan.Stages[i]
		by[s.Key] = s
		if was := last[s.Key.Boat]; was == nil || over(s).After(over(was)) {
			last[s.Key.Boat] = s
		}
	}
	fixes := map[planner.Key]bool{}
	for _, s := range last {
		for s != nil && !fixes[s.Key] {
			fixes[s.Key] = true
			switch s.Binds {
			case "ready":
				s = by[s.BindsOn.Other]
			case string(planner.NoShift):
				s = before(plan, s)
			default:
				s = nil
			}
		}
	}
	return fixes
}

// before is the stage that ended last before another of its area.
func before(plan planner.Plan, s *planner.Planned) *planner.Planned {
	var last *planner.Planned
	for i := range plan.Stages {
		one := &plan.Stages[i]
		if one.Key.Boat != s.Key.Boat || one.Key.Area != s.Key.Area || one.Start.IsZero() || one.Key == s.Key || one.End.After(s.Start) {
			continue
		}
		if last == nil || one.End.After(last.End) {
			last = one
		}
	}
	return last
}

// over is when a stage lets its boat go; one without a start does so after all others.
func over(s *planner.Planned) time.Time {
	if s.Start.IsZero() {
		return time.Unix(1<<40, 0)
	}
	if s.Protected.After(s.End) {
		return s.Protected
	}
	return s.End
}
