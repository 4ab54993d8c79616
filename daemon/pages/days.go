package pages

import (
	"fmt"
	"net/http"
	"time"
)

// daysView is the plan as crews read it: day by day.
type daysView struct {
	Shows          string
	Made           string
	Board          string // the link back
	Earlier, Later string
	List           []dayList
	Ends           string
}

// days lists the plan that the board shows, for the days that crews look ahead.
func (p *pages) days(w http.ResponseWriter, r *http.Request) error {
	ctx, c, q := r.Context(), p.clock(r), r.URL.Query()
	plan, id, err := p.Plans.Draft(ctx)
	v := daysView{Shows: "draft"}
	if err == nil && (q.Get("plan") == "told" || id == 0) {
		v.Shows = "told"
		plan, _, err = p.Plans.Told(ctx)
	}
	if err != nil {
		return fmt.Errorf("plan: %w", err)
	}
	first := firstAsked(q.Get("from"), c)
	days := min(p.daysShown(r), listDays)
	v.List = list(plan, axis{first, c.midnight(first, days)}, c)
	v.Ends = c.day(c.midnight(first, days-1))
	v.Earlier, v.Later = daysLink(c.midnight(first, -days), q.Get("plan")), daysLink(c.midnight(first, days), q.Get("plan"))
	v.Board = weekLink(p.daysShown(r), first, q.Get("plan"))
	if !plan.At.IsZero() {
		v.Made = c.moment(plan.At)
	}
	return show(p, w, r, screen[daysView]{"days", "Day by day", http.StatusOK, v})
}

// firstAsked is the first day to show: today where none is asked for.
func firstAsked(text string, c clock) time.Time {
	if t, err := time.ParseInLocation(time.DateOnly, text, c.zone); err == nil {
		return t
	}
	return c.midnight(c.now, 0)
}
