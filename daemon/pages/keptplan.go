package pages

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"fairwindow/planner"
	"fairwindow/planner/whatif"
)

// planView is one plan as it was kept, and whether it can be made again.
type planView struct {
	ID       int64
	Facts    []fact
	Cost     []fact
	Launches []launchLine
	Retold   []string
	Again    string // the form's address
	Running  bool
	Result   string
	Class    string
	Differs  []string
	Fault    string
}

type fact struct{ Name, Value string }

type launchLine struct {
	Boat                       link
	Promised, Likely, Cautious string
}

func (p *pages) keptPlan(w http.ResponseWriter, r *http.Request) error {
	return p.showPlan(w, r, "", http.StatusOK)
}

// again has the plan made once more, in the background.
func (p *pages) again(w http.ResponseWriter, r *http.Request) error {
	id, err := strconv.ParseInt(r.PathValue("id"), 10, 64)
	if err != nil {
		return missing("There is no such plan.")
	}
	if _, err := p.Studies.MakeAgain(r.Context(), id); err != nil {
		sentence, ok := refused(err)
		if !ok {
			return fmt.Errorf("make plan %d again: %w", id, err)
		}
		return p.showPlan(w, r, sentence, http.StatusConflict)
	}
	http.Redirect(w, r, planLink(id), http.StatusSeeOther)
	return nil
}

func (p *pages) showPlan(w http.ResponseWriter, r *http.Request, fault string, status int) error {
	none := missing("There is no plan of that number, or it is no longer kept. Plans that people were told are kept; drafts for as long as the yard file says.")
	id, err := strconv.ParseInt(r.PathValue("id"), 10, 64)
	if err != nil {
		return none
	}
	kept, ok, err := p.Waits.KeptPlan(r.Context(), id)
	if err != nil {
		return fmt.Errorf("plan %d: %w", id, err)
	}
	if !ok {
		return none
	}
	c := p.clock(r)
	plan := kept.Plan
	v := planView{ID: id, Fault: fault, Again: planLink(id) + "/again"}
	told := "never: it stayed a draft"
	if !kept.Told.IsZero() {
		told = c.moment(kept.Told) + ", let out by " + kept.By
		if kept.By == byTheRule {
			told = c.moment(kept.Told) + ", at once: so the yard's rule is"
		}
	}
	placed := 0
	for _, s := range plan.Stages {
		if !s.Start.IsZero() {
			placed++
		}
	}
	v.Facts = []fact{
		{"Made of what was known", c.moment(plan.At)}, {"Told", told}, {"Looks ahead to", c.moment(plan.Until)},
		{"Stages with a start", fmt.Sprintf("%d of %d", placed, len(plan.Stages))},
		{"Planner's version", strconv.Itoa(plan.Version)}, {"Left to chance", "nothing: the same facts give the same plan"},
		{"What it was made from, SHA-256", kept.Problem},
	}
	sum := int64(0)
	for _, t := range plan.Cost {
		if sum += t.Amount; t.Amount != 0 {
			v.Cost = append(v.Cost, fact{termName(t.Name), strconv.FormatInt(t.Amount, 10)})
		}
	}
	v.Cost = append(v.Cost, fact{"in all", strconv.FormatInt(sum, 10)}, fact{"no plan can cost less than", strconv.FormatInt(plan.Bound, 10)})
	for _, l := range plan.Launches {
		v.Launches = append(v.Launches, launchLine{link{l.Boat, boatLink(l.Boat)}, c.dayOrNone(l.Promised), c.orBeyond(l.Likely), c.orBeyond(l.Cautious)})
	}
	for _, x := range plan.Retold {
		now := "without a start"
		if !x.Start.IsZero() {
			now = "now " + c.moment(x.Start)
		}
		why := "it costs less so"
		if x.Why.Cause != "" {
			why = c.because(x.Key, x.Why)
		}
		v.Retold = append(v.Retold, fmt.Sprintf("%s: told for %s, %s: %s.", key(x.Key), c.moment(x.Told.Start), now, why))
	}
	if study, ok := p.Studies.Remade(id); ok {
		v.remade(study, c)
	}
	if v.Running {
		w.Header().Set("Refresh", "3")
	}
	return show(p, w, r, screen[planView]{"plan", "Plan " + strconv.FormatInt(id, 10), status, v})
}

func (c clock) orBeyond(t time.Time) string {
	if t.IsZero() {
		return "beyond the plan"
	}
	return c.moment(t)
}

func (c clock) dayOrNone(t time.Time) string {
	if t.IsZero() {
		return "no promise"
	}
	return c.day(t)
}

// mostDiffers is how many differences are named; more say no more.
const mostDiffers = 25

// remade words what making the plan again has shown.
func (v *planView) remade(s whatif.Study, c clock) {
	switch {
	case s.Done.IsZero():
		v.Running, v.Result, v.Class = true, "It is being made again. This page shows by itself what comes of it.", "unknown"
	case s.Fault != "":
		v.Result, v.Class = s.Fault, "unknown"
	case s.Remade == nil:
	case s.Remade.Is == planner.Same:
		v.Result, v.Class = fmt.Sprintf("Same. Made again %s from what was known then, it is what was kept, to the last of its %d stages.", c.moment(s.Done), s.Remade.Stages), "yes"
	case s.Remade.Is == planner.OtherVersion:
		v.Result, v.Class = fmt.Sprintf("Made by another version: planner %d made it, this is planner %d. It is not made again, for a difference would say nothing.", s.Remade.Was, s.Remade.Version), "unknown"
	default:
		v.Result, v.Class = fmt.Sprintf("Different. Made again %s from what was known then, it is not what was kept.", c.moment(s.Done)), "no"
		for i, d := range s.Remade.Differs {
			if i == mostDiffers {
				v.Differs = append(v.Differs, fmt.Sprintf("and %d more", len(s.Remade.Differs)-i))
				break
			}
			v.Differs = append(v.Differs, c.differ(d))
		}
	}
}

func (c clock) differ(d planner.Differ) string {
	at := func(t planner.Told) string {
		if t.Start.IsZero() {
			return "none"
		}
		return strings.TrimSuffix(c.moment(t.Start)+" in "+t.Place, " in ")
	}
	switch {
	case d.Of == "stage" && d.Was == d.Is:
		return key(d.Key) + ": starts alike, and differs in its causes or in what follows"
	case d.Of == "stage":
		return key(d.Key) + ": kept with the start " + at(d.Was) + ", now " + at(d.Is)
	case d.Of == "launch":
		return "launch of " + d.Key.Boat + ": kept as " + at(d.Was) + ", now " + at(d.Is)
	case d.Of == "cost":
		return fmt.Sprintf("cost of %s: kept as %d, now %d", d.Name, d.From, d.To)
	}
	return "the plan's " + d.Of
}
