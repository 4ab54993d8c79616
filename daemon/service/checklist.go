package service

import (
	"slices"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// answered refuses a start before the yard's go / no-go list for it was answered, every
// point of it with go. An override is a person's decision and needs no list; what was
// answered comes with it.
func (f *facts) answered(p planner.Press) error {
	for _, one := range p.Checks {
		if !one.Go && one.Why == "" {
			return refuse("%q is no-go: say what is not as it should be", one.Words)
		}
	}
	if p.Kind != planner.Started {
		return nil
	}
	stage, _ := f.work.Stage(p.Key)
	asked := f.yard.Checklist[stage.Stage.Kind]
	if len(asked) == 0 {
		return nil
	}
	if !slices.EqualFunc(asked, p.Checks, func(a config.CheckPoint, b planner.Point) bool { return a.Words == b.Words }) {
		return refuse("answer the yard's go / no-go list for a %s first, every point of it: it is on the Shift page", stage.Stage.Kind)
	}
	for _, one := range p.Checks {
		if !one.Go {
			return refuse("%q is no-go (%s): put it right or press can't; to start all the same is for the scheduler or the manager to decide, with a reason", one.Words, one.Why)
		}
	}
	return nil
}

// checked are the answers that came with a press, as a record takes them.
func checked(p planner.Press) []record.Checked {
	var all []record.Checked
	for _, one := range p.Checks {
		is := record.Checked{Key: p.Key, Press: p.ID, Check: record.Check{At: p.Happened.UTC(), By: p.By, For: p.For, Ask: one.Words, Answer: "go", Note: one.Why}}
		if !one.Go {
			is.Answer = "no-go"
		}
		all = append(all, is)
	}
	return all
}
