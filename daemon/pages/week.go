package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// Days that a week may show.
const (
	leastDays = 2
	mostDays  = 42
	usualDays = 7
	// The list beside the board is for the crews, who look no further.
	listDays = 7
)

// week is the board: places down, days across.
type week struct {
	Days     int
	Span     string // its first day and its last
	Choices  []choice
	Earlier  string
	Today    string
	Later    string
	Shows    string // which plan: draft, told, side, or released where the two are one
	Views    []tab  // the ways to look, where the two differ
	Made     string
	Differ   int
	From, To int64 // of the board, Unix ms
	Shifts   string
	Twelve   bool   // hours are read as 3:04 pm
	Rule     string // who releases plans
	Dense    bool   // stages are marks without links
	Fit      int    // percent of its size at which the board fits one sheet
	Head     []dayHead
	Lines    []share // midnights
	Rests    []shutSpan
	Places   []boardPlace
	Now      share
	NowShown bool
	ListLink string
	Outlook  outlook
	Unplaced []unplacedBoat
	Launches []launch
	Ends     string // the last day that the plan looks to
	Costs    []planner.Term
	Leads    string // which of several forecasts the plan goes by
	Release  releaseForm
	Shut     []pattern
	States   []stateKey
}

type choice struct {
	Days int
	Now  bool
	To   string
}

type dayHead struct {
	Name    string
	Link    string // its list
	Hours   string // a class, on the days when the clocks change
	Weekend bool
	Today   bool
}

type stateKey struct{ State, Words string }

func (p *pages) week(w http.ResponseWriter, r *http.Request) error {
	return p.showWeek(w, r, releaseForm{By: rememberedName(r)}, http.StatusOK)
}

// backToWeek is the week from the day that whoever pressed something on it had before him, with
// the word for what was done.
func backToWeek(r *http.Request, said string) string {
	q := url.Values{"said": {said}}
	if was, err := url.Parse(r.Referer()); err == nil && was.Path == "/" && was.Query().Has("from") {
		q.Set("from", was.Query().Get("from"))
	}
	return "/?" + q.Encode()
}

// showWeek shows the board with the release form as it was filled in.
func (p *pages) showWeek(w http.ResponseWriter, r *http.Request, form releaseForm, status int) error {
	ctx, c, q := r.Context(), p.clock(r), r.URL.Query()
	draft, draftID, err := p.Plans.Draft(ctx)
	if err != nil {
		return fmt.Errorf("draft: %w", err)
	}
	told, toldID, err := p.Plans.Told(ctx)
	if err != nil {
		return fmt.Errorf("told plan: %w", err)
	}
	days := p.daysShown(r)
	if q.Get("days") != "" {
		rememberDays(w, days)
	}
	first := firstAsked(q.Get("from"), c)
	ax := axis{first, c.midnight(first, days)}

	v := week{Days: days, Shows: "draft", Twelve: c.twelve, Release: form, From: ax.from.UnixMilli(), To: ax.to.UnixMilli()}
	shown := boardOf{plan: draft}
	asked := q.Get("plan")
	differs := draftID != 0 && toldID != 0 && draftID != toldID
	switch {
	case draftID == toldID:
		v.Shows = "released"
	case draftID == 0 || differs && asked == "told":
		v.Shows, shown.plan = "told", told
	case differs && asked == "side":
		v.Shows, shown.above, shown.side = "side", told, true
	case differs:
		shown.ghost = told
	}
	if differs {
		shown.differ = differences(told, draft)
		for _, way := range []tab{{link{"Draft", ""}, v.Shows == "draft"}, {link{"Told", "told"}, v.Shows == "told"}, {link{"Both, one above the other", "side"}, v.Shows == "side"}} {
			v.Views = append(v.Views, tab{link{way.Name, weekLink(days, first, way.To)}, way.Here})
		}
	}
	v.Release.Plan = draftID
	if toldID == 0 {
		v.Release.First = firstWords(draft)
	} else {
		v.Release.Changes, v.Release.Bought = changes(told, draft, c), bought(draft)
	}
	v.Release.Offer = draftID != 0 && draftID != toldID
	v.Differ = len(v.Release.Changes)
	v.dates(ax, c, asked)
	if draftID != 0 || toldID != 0 {
		v.Made = c.moment(shown.plan.At)
	}
	if v.Places, err = p.boardPlaces(ctx, c, ax, shown); err != nil {
		return err
	}
	if v.Shifts, err = shiftStarts(p.Plans.Yard(), ax); err != nil {
		return err
	}
	if p.Plans.Yard().Release == config.Auto {
		v.Rule = "By the yard's rule, release: auto, each plan is told as it is made."
	}
	v.Fit, v.Dense = sheetFit(v.Places), ax.dense()
	v.Rests = restDays(ax, c)
	v.Now, v.NowShown = ax.at(c.now), !c.now.Before(ax.from) && c.now.Before(ax.to)
	v.ListLink = daysLink(first, asked)
	v.Unplaced, v.Ends = unplaced(shown.plan, c), c.day(shown.plan.Until)
	v.Launches = launches(shown.plan, c)
	v.Outlook = outlookOf(v.Launches)
	v.Costs = shown.plan.Cost
	if v.Leads, err = p.leads(ctx); err != nil {
		return err
	}
	v.Shut = patterns
	for _, s := range states {
		v.States = append(v.States, stateKey{stateClass(s), stateWord(s)})
	}
	return show(p, w, r, screen[week]{"week", "Week", status, v})
}

// states in the order of the legend; a stage not placed is on no board.
var states = []planner.State{
	planner.Running, planner.OpenNow, planner.Firm, planner.PencilledIn, planner.AtRisk, planner.Unconfirmed,
}

func daysAsked(text string) int {
	days, err := strconv.Atoi(text)
	if err != nil {
		return usualDays
	}
	return min(max(days, leastDays), mostDays)
}

// dates fills the days across and the ways to other days.
func (v *week) dates(ax axis, c clock, plan string) {
	for i := range v.Days {
		day, next := c.midnight(ax.from, i), c.midnight(ax.from, i+1)
		h := dayHead{Name: dayName(day, v.Days), Link: daysLink(day, plan), Weekend: day.Weekday() == time.Saturday || day.Weekday() == time.Sunday}
		if hours := int(next.Sub(day).Hours()); hours != 24 {
			h.Hours = "h" + strconv.Itoa(hours)
		}
		h.Today = !c.now.Before(day) && c.now.Before(next)
		v.Head = append(v.Head, h)
		if i > 0 {
			v.Lines = append(v.Lines, ax.at(day))
		}
	}
	first := ax.from
	if c.midnight(c.now, 0).Equal(first) {
		first = time.Time{} // today stays today
	}
	v.Span = c.day(ax.from) + " – " + c.day(c.midnight(ax.from, v.Days-1))
	for _, n := range []int{2, 3, 7, 14, 28, 42} {
		v.Choices = append(v.Choices, choice{n, n == v.Days, weekLink(n, first, plan)})
	}
	v.Earlier = weekLink(v.Days, c.midnight(ax.from, -v.Days), plan)
	v.Later = weekLink(v.Days, ax.to, plan)
	v.Today = weekLink(v.Days, time.Time{}, plan)
}

// dayName is a day above the board; where days are narrow the month stands
// only where it begins, and beside the page's name.
func dayName(day time.Time, days int) string {
	if days > usualDays && day.Day() > 1 {
		return day.Format("Mon 2")
	}
	return day.Format("Mon 2 Jan")
}
