package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"slices"

	"fairwindow/config"
	"fairwindow/planner"
)

// tryView is one stage, what a person may try with it, and what that would do.
type tryView struct {
	Name    string
	Link    string
	Planned string
	Facts   []string
	Form    tryForm
	Places  []choiceOf
	After   []choiceOf // other boats' last stages in the same place
	Before  []choiceOf // and their first
	Undo    []choiceOf // of what people said before
	Effect  *effectView
}

// choiceOf is one choice of a list.
type choiceOf struct {
	Value, Name string
	Chosen      bool
}

func (p *pages) tryView(r *http.Request, form tryForm, c clock) (tryView, error) {
	draft, _, err := p.Plans.Draft(r.Context())
	if err != nil {
		return tryView{}, fmt.Errorf("draft: %w", err)
	}
	work, err := p.Plans.Work(r.Context())
	if err != nil {
		return tryView{}, fmt.Errorf("work: %w", err)
	}
	planned, isPlanned := starts(draft)[form.Key]
	progress, known := work.Stage(form.Key)
	if !known && !isPlanned {
		return tryView{}, missing(fmt.Sprintf("There is no open stage %s in this yard.", key(form.Key)))
	}
	v := tryView{Name: key(form.Key), Link: stageLink(form.Key), Form: form, Facts: facts(progress, c), Planned: "not planned yet"}
	if isPlanned {
		v.Planned = plannedWords(planned, c)
		if n := len(planned.Waits); n > 0 {
			v.Facts = append(v.Facts, "why not earlier: "+c.why(own(form.Key, planned.Waits[n-1])))
		}
	}
	if v.Form.Until == "" && !planned.Start.IsZero() {
		v.Form.Until = c.field(planned.Start)
	}
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return tryView{}, fmt.Errorf("boats: %w", err)
	}
	at := slices.IndexFunc(boats, func(b config.Boat) bool { return b.Name == form.Key.Boat })
	for _, place := range p.Plans.Yard().Places {
		kinds := planned.Stage.Places
		if len(kinds) > 0 && !slices.Contains(kinds, place.Kind) || at >= 0 && !place.Fits(boats[at]) {
			continue
		}
		v.Places = append(v.Places, choiceOf{place.Name, place.Name, place.Name == form.Place})
	}
	v.others(draft, planned, form)
	undo := func(is bool, kind planner.PressKind, name string) {
		if is {
			v.Undo = append(v.Undo, choiceOf{Value: string(kind), Name: name})
		}
	}
	undo(progress.Held != "", planner.Freed, "Free it")
	undo(!progress.Pinned.IsZero() || progress.PinnedTo != "", planner.Unpinned, "Unpin it")
	undo(progress.After != (planner.Key{}), planner.AnyOrder, "In any order again")
	return v, nil
}

// others offers the boats that are worked at in the same place, by their last and their
// first stage there; where there is none, those with a stage of the same name.
func (v *tryView) others(draft planner.Plan, planned planner.Planned, form tryForm) {
	first, last := map[string]planner.Planned{}, map[string]planner.Planned{}
	gather := func(is func(planner.Planned) bool) {
		for _, s := range draft.Stages {
			if s.Key.Boat == form.Key.Boat || s.Stage.Skill == "" || !is(s) {
				continue
			}
			if o, ok := first[s.Key.Boat]; !ok || s.Start.Before(o.Start) {
				first[s.Key.Boat] = s
			}
			if o, ok := last[s.Key.Boat]; !ok || s.Start.After(o.Start) {
				last[s.Key.Boat] = s
			}
		}
	}
	gather(func(s planner.Planned) bool {
		return planned.Place != "" && s.Place == planned.Place && !s.Start.IsZero()
	})
	if len(first) == 0 {
		gather(func(s planner.Planned) bool { return s.Key.Stage == form.Key.Stage })
	}
	choices := func(of map[string]planner.Planned) (all []choiceOf) {
		for _, s := range of {
			all = append(all, choiceOf{keyText(s.Key), s.Key.Boat + ": " + s.Key.Stage, keyText(s.Key) == form.Other})
		}
		slices.SortFunc(all, func(a, b choiceOf) int { return cmp.Compare(a.Name, b.Name) })
		return all
	}
	v.After, v.Before = choices(last), choices(first)
}
