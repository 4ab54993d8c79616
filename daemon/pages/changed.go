package pages

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// sinceView is what the plan has otherwise than it had, and why.
type sinceView struct {
	Since    string
	Choices  []tab
	None     string // where there is nothing to compare
	Changes  []change
	Launches []launchPair
	Rule     string
}

// tab is one of a few ways to look.
type tab struct {
	link
	Here bool
}

const lookedCookie = "fairwindow_looked"

// looked is when this browser's person last looked at what had changed.
func looked(r *http.Request) time.Time {
	cookie, err := r.Cookie(lookedCookie)
	if err != nil {
		return time.Time{}
	}
	seconds, err := strconv.ParseInt(cookie.Value, 10, 64)
	if err != nil || seconds <= 0 {
		return time.Time{}
	}
	return time.Unix(seconds, 0)
}

// changed shows what moved since yesterday at this time, since the reader's last look, or
// in a week.
func (p *pages) changed(w http.ResponseWriter, r *http.Request) error {
	c, ctx := p.clock(r), r.Context()
	asked := r.URL.Query().Get("since")
	last := looked(r)
	since := map[string]time.Time{"": c.now.AddDate(0, 0, -1), "look": last, "week": c.now.AddDate(0, 0, -7)}[asked]
	if since.IsZero() || since.After(c.now) {
		since, asked = c.now.AddDate(0, 0, -1), ""
	}
	v := sinceView{Since: c.moment(since)}
	choose := func(code, name string) {
		to := "/week/changes"
		if code != "" {
			to += "?since=" + code
		}
		v.Choices = append(v.Choices, tab{link{name, to}, code == asked})
	}
	choose("", "Since yesterday at this time")
	if !last.IsZero() && !last.After(c.now) {
		choose("look", "Since you last looked, "+c.moment(last))
	}
	choose("week", "In the last week")

	was, wasID, err := p.Trials.PlanAsOf(ctx, since, false)
	if err != nil {
		return fmt.Errorf("the plan of %v: %w", since, err)
	}
	is, isID, err := p.Plans.Draft(ctx)
	if err != nil {
		return fmt.Errorf("draft: %w", err)
	}
	if wasID == 0 || isID == 0 {
		v.None = "There was no plan yet at " + c.moment(since) + "."
	} else {
		is.Retold = planner.Since(was, is)
		work, err := p.Plans.Work(ctx)
		if err != nil {
			return fmt.Errorf("work: %w", err)
		}
		v.Changes = slices.DeleteFunc(changes(was, is, c), func(one change) bool {
			s, ok := work.Stage(one.Key)
			return ok && (s.Done || s.Running) // what people did is no change of plan
		})
		v.Launches = moved24(planner.Compare(was, is), is.Until, c)
	}
	if v.Rule, err = p.ruleWords(r, since, c); err != nil {
		return err
	}
	// Kept for the next look, and not at once: a page read again tells the same.
	if c.now.Sub(last) > time.Minute {
		http.SetCookie(w, &http.Cookie{
			Name: lookedCookie, Value: strconv.FormatInt(c.now.Unix(), 10), Path: "/week/", MaxAge: 90 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode,
		})
	}
	return show(p, w, r, screen[sinceView]{"since", "What changed", http.StatusOK, v})
}

// moved24 are the launches that are at another time.
func moved24(d planner.Difference, ends time.Time, c clock) []launchPair {
	all, _ := launchPairs(d, ends, c)
	return slices.DeleteFunc(all, func(l launchPair) bool { return !l.Changed })
}

// ruleWords say who releases plans in this yard, and how often that was done since.
func (p *pages) ruleWords(r *http.Request, since time.Time, c clock) (string, error) {
	all, byRule, err := p.Trials.ReleasedSince(r.Context(), since)
	if err != nil {
		return "", fmt.Errorf("releases: %w", err)
	}
	if p.Plans.Yard().Release == config.Auto {
		return fmt.Sprintf("The yard's rule is release: auto. Each plan is told as it is made; since %s the rule let %s through.", c.moment(since), howMany(byRule, "plan", "plans")), nil
	}
	return fmt.Sprintf("The yard's rule is release: by hand. Nothing is told until somebody releases the draft; since %s that was done %s.", c.moment(since), howMany(all-byRule, "time", "times")), nil
}
