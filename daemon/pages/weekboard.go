package pages

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
)

// boardPlace is one place on the board: a row for each plan that is shown of it.
type boardPlace struct {
	Place  link
	Kind   string
	Rows   []boardRow
	Differ int    // stages there that the draft has otherwise than people were told
	Says   string // when it is shut and closed, in words
}

// boardRow is one plan in one place.
type boardRow struct {
	Of string // told or draft, where both are shown
	lane
	Crowded bool   // no words for single hours
	Dense   bool   // no links for single stages
	Shades  string // names the shading
	Again   bool   // it is that of the row above
	Closed  []closedSpan
}

// closedSpan is when nobody may work in a place.
type closedSpan struct {
	shutSpan
	Words string
}

// boardOf is what a board shows: a plan with the ghosts of another, or two side by side.
type boardOf struct {
	plan, ghost planner.Plan
	above       planner.Plan // shown above plan, if side
	side        bool
	differ      map[planner.Key]bool
}

// mostSaid is how many spans a place's words tell one by one; the place's page has all.
const mostSaid = 10

// boardPlaces are the places' rows, in the yard file's order.
func (p *pages) boardPlaces(ctx context.Context, c clock, ax axis, b boardOf) ([]boardPlace, error) {
	yard := p.Plans.Yard()
	var all []boardPlace
	for _, place := range yard.Places {
		one := boardPlace{Place: link{place.Name, placeLink(place.Name)}, Kind: kindBeside(place)}
		rows := []boardRow{{lane: newLane(place, ax, b.plan, b.ghost, c)}}
		if b.side {
			rows = []boardRow{{Of: "told", lane: newLane(place, ax, b.above, planner.Plan{}, c)}, {Of: "draft", lane: rows[0].lane}}
		}
		var shut []shutGroup
		if place.Kind != config.Standing {
			verdicts, err := p.Air.Judged(ctx, place.Name, ax.from, ax.to)
			if err != nil {
				return nil, fmt.Errorf("verdicts of %s: %w", place.Name, err)
			}
			shut = shutSpans(verdicts, ax)
		}
		closed, err := closedSpans(yard, place.Name, ax, c)
		if err != nil {
			return nil, err
		}
		one.Says = placeSays(shut, closed, c)
		for i := range rows {
			rows[i].Shut, rows[i].Closed, rows[i].Crowded, rows[i].Dense = shut, closed, ax.crowded(), ax.dense() || ax.crowded() && rows[i].Of == "told"
			one.Differ += rows[i].mark(b.differ)
			rows[i].Shades = "sh" + strconv.Itoa(len(all))
			rows[i].Again = i > 0
		}
		one.Rows = rows
		all = append(all, one)
	}
	return all, nil
}

// mark marks the stages that differ, and counts those of the draft.
func (r *boardRow) mark(differ map[planner.Key]bool) int {
	n := 0
	for i := range r.Bars {
		b := &r.Bars[i]
		b.Plain = b.Plain || r.Of == "told" && !differ[b.key]
		if differ[b.key] {
			b.Differs = true
			if b.First && r.Of != "told" {
				n++
			}
		}
	}
	return n
}

// differences are the stages that two plans have at another time or place.
func differences(told, draft planner.Plan) map[planner.Key]bool {
	all := map[planner.Key]bool{}
	was := map[planner.Key]*planner.Planned{}
	for i := range told.Stages {
		was[told.Stages[i].Key] = &told.Stages[i]
	}
	for i := range draft.Stages {
		s := &draft.Stages[i]
		if old := was[s.Key]; old == nil || !old.Start.Equal(s.Start) || old.Place != s.Place {
			all[s.Key] = true
		}
		delete(was, s.Key)
	}
	for k := range was {
		all[k] = true
	}
	return all
}

// closedSpans are the hours in which a place is closed, cut to the board.
func closedSpans(yard config.Yard, place string, ax axis, c clock) ([]closedSpan, error) {
	open, err := yard.OpenHours(place, ax.from, ax.to)
	if err != nil {
		return nil, fmt.Errorf("open hours of %s: %w", place, err)
	}
	var all []closedSpan
	at := ax.from
	for _, s := range append(open, config.Span{From: ax.to, To: ax.to}) {
		if x, w, ok := ax.cut(at, s.From); ok {
			all = append(all, closedSpan{shutSpan{X: x, W: w, From: at, To: s.From}, "closed " + c.span(at, s.From)})
		}
		at = s.To
	}
	return all, nil
}

// placeSays is when a place is shut and closed, in words, as the board shades it.
func placeSays(shut []shutGroup, closed []closedSpan, c clock) string {
	type said struct {
		at    time.Time
		words string
	}
	var all []said
	for _, g := range shut {
		for _, s := range g.Spans {
			all = append(all, said{s.From, c.span(s.From, s.To) + " " + g.Words + s.Likely()})
		}
	}
	for _, s := range closed {
		all = append(all, said{s.From, s.Words})
	}
	slices.SortStableFunc(all, func(a, b said) int { return a.at.Compare(b.at) })
	if len(all) == 0 {
		return "No hour of these days is shut or closed."
	}
	var words []string
	for _, s := range all[:min(len(all), mostSaid)] {
		words = append(words, s.words)
	}
	text := "Shut or closed: " + strings.Join(words, "; ")
	if more := len(all) - mostSaid; more > 0 {
		text += "; and " + strconv.Itoa(more) + " times more"
	}
	return text + "."
}

// Likely is how likely the limit is broken in the worst hour of a span; measured hours
// and those of which nothing is known have none.
func (s shutSpan) Likely() string {
	if s.Broken <= 0 {
		return ""
	}
	return ", chance up to " + percent(min(s.Broken, .99))
}

// broken is the chance that a verdict's binding limit is broken, where it is foretold.
func broken(v conditions.Verdict) float64 {
	if v.Answer != conditions.No || v.Sure != conditions.Foretold && v.Sure != conditions.Pencilled {
		return 0
	}
	return 1 - v.Chance
}

// restDays are the board's Saturdays and Sundays.
func restDays(ax axis, c clock) (all []shutSpan) {
	for day := ax.from; day.Before(ax.to); day = c.midnight(day, 1) {
		if wd := day.Weekday(); wd == time.Saturday || wd == time.Sunday {
			if x, w, ok := ax.cut(day, c.midnight(day, 1)); ok {
				all = append(all, shutSpan{X: x, W: w})
			}
		}
	}
	return all
}

// shiftStarts are when crews begin, in minutes from the board's first: where a stage that
// was picked up may be put by one key.
func shiftStarts(yard config.Yard, ax axis) (string, error) {
	var all []int
	for _, crew := range yard.Crews {
		shifts, err := yard.ShiftsOf(crew.Name, ax.from, ax.to)
		if err != nil {
			return "", fmt.Errorf("shifts of %s: %w", crew.Name, err)
		}
		for _, s := range shifts {
			if m := int(s.From.Sub(ax.from).Minutes()); m >= 0 {
				all = append(all, m)
			}
		}
	}
	slices.Sort(all)
	var words []string
	for _, m := range slices.Compact(all) {
		words = append(words, strconv.Itoa(m))
	}
	return strings.Join(words, " "), nil
}

const daysCookie = "fairwindow_days"

// daysShown is how many days are asked for, else how many were last.
func (p *pages) daysShown(r *http.Request) int {
	if text := r.URL.Query().Get("days"); text != "" {
		return daysAsked(text)
	}
	if cookie, err := r.Cookie(daysCookie); err == nil {
		return daysAsked(cookie.Value)
	}
	return usualDays
}

func rememberDays(w http.ResponseWriter, days int) {
	http.SetCookie(w, &http.Cookie{
		Name: daysCookie, Value: strconv.Itoa(days), Path: "/", MaxAge: 365 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
}

// marks are bars of one state, side by side.
type marks struct {
	Class string
	Bars  []bar
}

// Marks are a dense board's bars by their state: they have no words to stand in order for.
func (r boardRow) Marks() (all []marks) {
	for _, b := range r.Bars {
		if !r.Dense {
			break
		}
		i := slices.IndexFunc(all, func(m marks) bool { return m.Class == b.Class })
		if i < 0 {
			all = append(all, marks{Class: b.Class})
			i = len(all) - 1
		}
		all[i].Bars = append(all[i].Bars, b)
	}
	return all
}

// What a sheet of A4 across leaves for the board's rows, in pixels of 1/96 inch: 210 mm
// (ISO 216) less the margins, the heading and the legend.
const sheetHeight = 585

// sheetFit is the percentage, in steps of the style sheet, at which the board's rows fit
// one sheet.
func sheetFit(places []boardPlace) int {
	height := 34 // the days
	for _, p := range places {
		for _, r := range p.Rows {
			height += r.Height + 1
		}
	}
	return min(max(100*sheetHeight/height/5*5, 15), 100)
}
