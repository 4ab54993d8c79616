package pages

import (
	"context"
	"fmt"
	"net/http"
	"slices"
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
	// The list beneath the board is for the crews, who look no further.
	listDays = 7
)

// week is the board: places down, days across.
type week struct {
	Days     int
	Choices  []choice
	Earlier  string
	Today    string
	Later    string
	Shows    string // which plan: draft, told, or released where the two are one
	Other    *link  // to the other plan, where the two differ
	Made     string
	Head     []dayHead
	Lanes    []lane
	Now      share
	NowShown bool
	List     []dayList
	ListEnds string // the last day listed, where the board goes on
	Unplaced []listed
	Launches []launch
	Costs    []planner.Term
	Leads    string // which of several forecasts the plan goes by
	Release  releaseForm
	Shut     []pattern
	States   []stateKey
}

type choice struct {
	Days int
	Now  bool
}

type dayHead struct {
	Name    string
	Hours   string // a class, on the days when the clocks change
	Weekend bool
	Today   bool
}

type launch struct {
	Boat     link
	Promised string
	Likely   string
	Cautious string
	Off      string
	Late     bool
}

type stateKey struct{ State, Words string }

func (p *pages) week(w http.ResponseWriter, r *http.Request) error {
	return p.showWeek(w, r, releaseForm{By: rememberedName(r)}, http.StatusOK)
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
	days := daysAsked(q.Get("days"))
	first := c.midnight(c.now, 0)
	if t, err := time.ParseInLocation(time.DateOnly, q.Get("from"), c.zone); err == nil {
		first = t
	}
	ax := axis{first, c.midnight(first, days)}

	v := week{Days: days, Shows: "draft", Release: form}
	if draftID == toldID {
		v.Shows = "released"
	}
	plan, ghost := draft, told
	differs := draftID != 0 && toldID != 0 && draftID != toldID
	if draftID == 0 || (differs && q.Get("plan") == "told") {
		v.Shows, plan, ghost = "told", told, planner.Plan{}
	}
	if !differs {
		ghost = planner.Plan{}
	}
	v.Release.Plan = draftID
	v.Release.Changes, v.Release.Bought = changes(told, draft, c), bought(draft)
	v.Release.Offer = draftID != 0 && draftID != toldID
	v.dates(ax, c, q.Get("plan"))
	if differs {
		v.Other = &link{"Show what people were told", weekLink(days, first, "told")}
		if v.Shows == "told" {
			v.Other = &link{"Show the draft", weekLink(days, first, "")}
		}
	}
	if draftID != 0 || toldID != 0 {
		v.Made = c.moment(plan.At)
	}
	if v.Lanes, err = p.lanes(ctx, c, ax, plan, ghost); err != nil {
		return err
	}
	v.Now, v.NowShown = ax.at(c.now), !c.now.Before(ax.from) && c.now.Before(ax.to)
	v.List, v.Unplaced = list(plan, ax, c)
	if days > listDays {
		v.ListEnds = c.day(c.midnight(first, listDays-1))
	}
	v.Launches = launches(plan, c)
	v.Costs = plan.Cost
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
		h := dayHead{Name: dayName(day, i, v.Days), Weekend: day.Weekday() == time.Saturday || day.Weekday() == time.Sunday}
		if hours := int(next.Sub(day).Hours()); hours != 24 {
			h.Hours = "h" + strconv.Itoa(hours)
		}
		h.Today = !c.now.Before(day) && c.now.Before(next)
		v.Head = append(v.Head, h)
	}
	for _, n := range []int{2, 3, 7, 14, 28, 42} {
		v.Choices = append(v.Choices, choice{n, n == v.Days})
	}
	v.Earlier = weekLink(v.Days, c.midnight(ax.from, -v.Days), plan)
	v.Later = weekLink(v.Days, ax.to, plan)
	v.Today = weekLink(v.Days, time.Time{}, plan)
}

// dayName is a day above the board; where days are narrow the month stands
// only where it begins.
func dayName(day time.Time, i, days int) string {
	if days > usualDays && i > 0 && day.Day() > 1 {
		return day.Format("Mon 2")
	}
	return day.Format("Mon 2 Jan")
}

// lanes are the places' rows, in the yard file's order.
func (p *pages) lanes(ctx context.Context, c clock, ax axis, plan, ghost planner.Plan) ([]lane, error) {
	var lanes []lane
	for _, place := range p.Plans.Yard().Places {
		l := newLane(place, ax, plan, ghost, c)
		if place.Kind != config.Standing {
			verdicts, err := p.Air.Judged(ctx, place.Name, ax.from, ax.to)
			if err != nil {
				return nil, fmt.Errorf("verdicts of %s: %w", place.Name, err)
			}
			l.Shut = shutSpans(verdicts, ax)
		}
		lanes = append(lanes, l)
	}
	return lanes, nil
}

// launches are in the order in which they were promised.
func launches(plan planner.Plan, c clock) []launch {
	var all []launch
	due := slices.Clone(plan.Launches)
	slices.SortStableFunc(due, func(a, b planner.Launch) int { return a.Promised.Compare(b.Promised) })
	for _, l := range due {
		one := launch{Boat: link{l.Boat, boatLink(l.Boat)}, Promised: c.day(l.Promised), Likely: c.moment(l.Likely), Cautious: "beyond the horizon"}
		if !l.Cautious.IsZero() {
			one.Cautious = c.day(l.Cautious)
		}
		late := l.Likely.Sub(l.Promised)
		switch {
		case l.Likely.IsZero():
			one.Likely, one.Off, one.Late = "beyond the horizon", "not placed", true
		case late > 0:
			one.Off, one.Late = length(late)+" late", true
		case late == 0:
			one.Off = "to the minute"
		default:
			one.Off = length(-late) + " to spare"
		}
		all = append(all, one)
	}
	return all
}
