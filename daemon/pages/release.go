package pages

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"fairwindow/planner"
)

// releaseForm is the one button that tells people the draft, with what it changes.
type releaseForm struct {
	Offer   bool
	Plan    int64
	By      string
	Fault   string
	ByFault string
	First   string // of the first plan that people are told: how much it is
	Changes []change
	Bought  string // what they save
}

// change is one stage that the draft has elsewhere or at another time than people were told.
type change struct {
	Key   planner.Key
	What  string
	Link  string
	Told  string
	Draft string
	Moved string
	Why   string
}

// changes compares what people were told with the draft: moved, new, gone.
func changes(told, draft planner.Plan, c clock) []change {
	before, after := starts(told), starts(draft)
	why := map[planner.Key]planner.Wait{}
	for _, r := range draft.Retold {
		why[r.Key] = r.Why
	}
	var all []change
	for _, s := range draft.Stages {
		old, was := before[s.Key]
		if was && old.Start.Equal(s.Start) && old.Place == s.Place {
			continue
		}
		one := change{Key: s.Key, What: key(s.Key), Link: stageLink(s.Key), Told: "not told", Draft: standing(s, c), Moved: "new"}
		if was {
			one.Told = standing(old, c)
			one.Moved = moved(old, s)
		}
		// Why it can't be as told, if the plan says so; else what it waits for now.
		if w := why[s.Key]; w.Cause != "" {
			one.Why = c.cause(own(s.Key, w))
		} else if n := len(s.Waits); n > 0 {
			one.Why = c.cause(own(s.Key, s.Waits[n-1]))
		}
		all = append(all, one)
	}
	for _, s := range told.Stages {
		if _, still := after[s.Key]; !still {
			all = append(all, change{Key: s.Key, What: key(s.Key), Link: stageLink(s.Key), Told: standing(s, c), Draft: "done, or no longer asked for", Moved: "gone"})
		}
	}
	return all
}

// bought is what a draft saves against keeping to what was told as far as possible.
func bought(draft planner.Plan) string {
	var parts []string
	sum := int64(0)
	for _, t := range draft.Bought {
		if sum += t.Amount; t.Amount > 0 {
			parts = append(parts, fmt.Sprintf("%d less for %s", t.Amount, t.Name))
		}
	}
	if sum <= 0 {
		return ""
	}
	return fmt.Sprintf("Keeping to what was told as far as possible would cost %d cost-minutes more (%s).", sum, strings.Join(parts, ", "))
}

func standing(s planner.Planned, c clock) string {
	if s.Start.IsZero() {
		return "not placed"
	}
	return strings.TrimSuffix(c.moment(s.Start)+", "+s.Place, ", ")
}

func moved(old, s planner.Planned) string {
	var parts []string
	switch {
	case s.Start.IsZero():
		return "no longer placed"
	case old.Start.IsZero():
		parts = append(parts, "placed")
	default:
		if d := shift(old.Start, s.Start); d != "" {
			parts = append(parts, d)
		}
	}
	if old.Place != s.Place {
		parts = append(parts, "other place")
	}
	return strings.Join(parts, ", ")
}

func (p *pages) release(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	form := releaseForm{By: p.by(r)}
	id, err := strconv.ParseInt(r.PostForm.Get("plan"), 10, 64)
	if err != nil || id <= 0 {
		form.Fault = "The form did not say which draft to release. Read the draft below and press again."
		return p.showWeek(w, r, form, http.StatusUnprocessableEntity)
	}
	if form.By == "" {
		form.ByFault = "Write who releases it: the crews see the name."
		return p.showWeek(w, r, form, http.StatusUnprocessableEntity)
	}
	_, now, err := p.Plans.Draft(r.Context())
	if err != nil {
		return fmt.Errorf("draft: %w", err)
	}
	if now != id {
		form.Fault = "The draft has changed since you read it, so nothing was released. Read the changes below and press again."
		return p.showWeek(w, r, form, http.StatusConflict)
	}
	if err := p.Desk.Release(r.Context(), id, form.By); err != nil {
		sentence, ok := refused(err)
		if !ok {
			return fmt.Errorf("release draft %d: %w", id, err)
		}
		form.Fault = sentence
		return p.showWeek(w, r, form, http.StatusConflict)
	}
	rememberName(w, form.By)
	http.Redirect(w, r, backToWeek(r, "released"), http.StatusSeeOther)
	return nil
}

// mostChanges are listed beside the button; the board marks them all.
const mostChanges = 25

// Listed are the changes that the page lists, Rest how many it does not.
func (f releaseForm) Listed() []change { return f.Changes[:min(len(f.Changes), mostChanges)] }

// Rest is how many changes are not listed.
func (f releaseForm) Rest() int { return len(f.Changes) - len(f.Listed()) }

// firstWords are how much a plan is that nobody was told a plan before: all of it is new.
func firstWords(draft planner.Plan) string {
	boats, stages := map[string]bool{}, 0
	for _, s := range draft.Stages {
		if !s.Start.IsZero() {
			boats[s.Key.Boat] = true
			stages++
		}
	}
	return "It has " + howMany(stages, "stage", "stages") + " of " + howMany(len(boats), "boat", "boats") + "."
}
