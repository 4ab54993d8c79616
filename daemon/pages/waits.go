package pages

import (
	"cmp"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/planner/waits"
)

// waitsView is what was put off, one line each, and what that came to.
type waitsView struct {
	Total   string
	Within  string // what the list is narrowed down to
	None    string // what is said where nothing is listed
	Shorter string // how many are not listed
	Most    string // the causes that took most
	Again   string
	Choices []picks
	All     bool
	Lines   []waitLine
	Shown   string
	Older   string // address of the next page
	Tables  []waitTable
	Money   string // how it is reckoned; empty without rates
	Query   string // what the exports are asked with
}

// waitLine is one deferral.
type waitLine struct {
	ID    string
	When  string
	Said  string
	By    string // how much
	Cause string
	Facts []string
	Spans []string
	Rides []string
	Boat  string
	Plan  *link
	Place *link
}

// waitTable are the hours by one thing that may be asked for.
type waitTable struct {
	Caption string
	Rows    []waitRow
	Cost    bool
}

type waitRow struct {
	Name, Hours, Cost string
	Link              string
	Width             int // of its bar, per cent of the longest
}

// mostCauses is how many causes are named at the top.
const mostCauses = 3

// waitsShown is how many deferrals a page has: more would be too long to read on a phone.
const waitsShown = 60

func (p *pages) waits(w http.ResponseWriter, r *http.Request) error {
	all, err := p.Waits.PutOff(r.Context())
	if err != nil {
		return fmt.Errorf("what was put off: %w", err)
	}
	c, q, yard := p.clock(r), r.URL.Query(), p.Plans.Yard()
	lines := waits.Lines(all, yard, c.zone)
	only := onlyOf(q)
	v := waitsView{All: q.Get("all") != "", Query: query(q, "", "").Encode()}
	v.choices(all, lines, only, q.Get("sort"))
	v.Within = within(v.Choices)
	v.Choices = append(v.Choices, leastChoices(q.Get("least")))
	v.totals(lines, only, q, yard.Rates)
	asked := chosen(all, only, q, c)
	some := slices.DeleteFunc(slices.Clone(asked), func(e waits.Entry) bool {
		return !e.To.IsZero() && e.Later() < leastOf(q.Get("least"))
	})
	if n := len(asked) - len(some); n > 0 {
		v.Shorter = howMany(n, "shorter one is", "shorter ones are") + " not listed; the sums have them."
	}
	v.None = "Nothing has been put off."
	if v.Within != "" || v.Shorter != "" {
		v.None = "Nothing like that has been put off."
	}
	page, _ := strconv.Atoi(q.Get("page"))
	page = max(page, 1)
	from := min((page-1)*waitsShown, len(some))
	to := min(from+waitsShown, len(some))
	for _, e := range some[from:to] {
		v.Lines = append(v.Lines, c.waitLine(e))
	}
	if len(some) > waitsShown {
		v.Shown = fmt.Sprintf("%d to %d of %d", from+1, to, len(some))
	}
	if to < len(some) {
		v.Older = "/waits?" + query(q, "page", strconv.Itoa(page+1)).Encode()
	}
	return show(p, w, r, screen[waitsView]{"waits", "Waits", http.StatusOK, v})
}

// onlyOf is what an address narrows the list down to.
func onlyOf(q url.Values) waits.Only {
	return waits.Only{
		Boat: q.Get("boat"), Place: q.Get("place"), Cause: planner.Cause(q.Get("cause")), Week: q.Get("week"), Kind: config.StageKind(q.Get("kind")),
	}
}

// query is what was asked for with one thing otherwise; without pages, which are others then.
func query(q url.Values, name, value string) url.Values {
	out := url.Values{}
	for _, keep := range []string{"boat", "place", "cause", "week", "kind", "sort", "least", "all"} {
		if v := q.Get(keep); v != "" {
			out.Set(keep, v)
		}
	}
	if name != "" {
		out.Set(name, value)
	}
	return out
}

// chosen are the deferrals that are asked for, in the order that is.
func chosen(all []waits.Entry, only waits.Only, q url.Values, c clock) []waits.Entry {
	heads := map[toldTo]bool{}
	for _, e := range all {
		if !e.Again || len(e.Rides) > 0 {
			heads[toldTo{e.Plan, e.Key.Boat}] = true
		}
	}
	var some []waits.Entry
	for _, e := range all {
		rides := e.Again && len(e.Rides) == 0 && heads[toldTo{e.Plan, e.Key.Boat}]
		if only.Has(e, c.zone) && (q.Get("all") != "" || !rides) {
			some = append(some, e)
		}
	}
	slices.SortStableFunc(some, func(a, b waits.Entry) int {
		newest := cmp.Or(b.At.Compare(a.At), cmp.Compare(b.ID, a.ID))
		switch q.Get("sort") {
		case "longest":
			return cmp.Or(cmp.Compare(b.Later(), a.Later()), newest)
		case "boat":
			return cmp.Or(cmp.Compare(a.Key.Boat, b.Key.Boat), cmp.Compare(a.Key.Area, b.Key.Area), newest)
		}
		return newest
	})
	return some
}

// toldTo is one boat's part of one plan that people were told.
type toldTo struct {
	plan int64
	boat string
}

func (c clock) waitLine(e waits.Entry) waitLine {
	l := waitLine{
		ID: "w" + strconv.FormatInt(e.ID, 10), When: c.moment(e.At), Said: c.deferral(e), Cause: CauseName(e.Cause), Boat: boatLink(e.Key.Boat),
		By: "no start",
	}
	if !e.To.IsZero() {
		l.By = "+" + length(e.Later())
	}
	if e.Plan != 0 {
		l.Plan = &link{"plan " + strconv.FormatInt(e.Plan, 10), planLink(e.Plan)}
	} else {
		l.ID = "b" + strconv.FormatInt(e.At.Unix(), 10) + url.QueryEscape(e.Key.Area+e.Key.Stage)
	}
	if e.Place != "" {
		day := e.From
		if !e.Wait.Evidence.When.IsZero() {
			day = e.Wait.Evidence.When
		}
		l.Place = &link{e.Place + " on " + c.day(day), placeDayLink(e.Place, day.In(c.zone))}
	}
	l.Facts = append(l.Facts, "First told for "+c.moment(e.First)+".")
	switch {
	case e.Plan == 0:
		l.Facts = append(l.Facts, "Begun by "+e.By+", "+c.moment(e.At)+".")
	case e.By == byTheRule:
		l.Facts = append(l.Facts, "Told "+c.moment(e.At)+", by the yard's rule that people are given each new plan at once.")
	case e.By != "":
		l.Facts = append(l.Facts, "Told by "+e.By+", "+c.moment(e.At)+".")
	}
	stands := e.Stands().Round(time.Minute)
	switch {
	case e.Plan == 0 || e.To.IsZero() || stands >= e.Later():
	case stands == 0:
		l.Facts = append(l.Facts, "None of it counts: the stage has been brought forward again since, or was still ahead of the start first told.")
	default:
		l.Facts = append(l.Facts, fmt.Sprintf("Of it %s are left: the stage has been brought forward again since, or was still ahead of the start first told.", length(stands)))
	}
	if counts := (waits.Only{}).Counts(e, c.zone).Round(time.Minute); counts < stands {
		l.Facts = append(l.Facts, countedBefore(counts))
	}
	if e.Fixes {
		l.Facts = append(l.Facts, "The boat's launch hung on it then.")
	}
	for _, w := range alike(e.Waits) {
		if !w.To.IsZero() {
			l.Spans = append(l.Spans, c.span(w.From, w.To)+", "+length(w.To.Sub(w.From))+": "+c.because(e.Key, w))
		}
	}
	for _, k := range e.Rides {
		l.Rides = append(l.Rides, k.Area+", "+k.Stage)
	}
	return l
}

// countedBefore says how much of a deferral is in the sums as its own.
func countedBefore(counts time.Duration) string {
	if counts == 0 {
		return "All of it is counted with the stage before it."
	}
	return fmt.Sprintf("%s are counted here, the rest with the stage before it.", capital(length(counts)))
}

// totals are the four tables, each with a bar a line.
func (v *waitsView) totals(lines []waits.Line, only waits.Only, q url.Values, rates *config.Rates) {
	sum := waits.Sum(lines, only, rates)
	if sum.Hours+sum.Again > 0 {
		v.Total = inHours(sum.Hours) + " put off"
		if only == (waits.Only{}) {
			v.Total += " in all"
		}
		if sum.Cost != nil {
			v.Total += ", " + waits.Money(*sum.Cost, sum.Money)
		}
		if only != (waits.Only{}) {
			v.Total += ", of " + inHours(waits.Sum(lines, waits.Only{}, nil).Hours) + " in all"
		}
		var most []string
		for _, r := range sum.Causes[:min(len(sum.Causes), mostCauses)] {
			most = append(most, inHours(r.Hours)+" "+CauseName(planner.Cause(r.Name)))
		}
		v.Most = strings.Join(most, ", ")
	}
	if sum.Again > 0 {
		v.Again = "Another " + inHours(sum.Again) + " are of stages that moved only because one before them did. They are not counted again."
	}
	if rates != nil {
		v.Money = fmt.Sprintf("%s: an hour of a booth in which the boat waited costs %s, a day by which its launch was put off %s.",
			rates.Currency, waits.Money(rates.Booth, rates.Currency), waits.Money(rates.BoatDay, rates.Currency))
	}
	for _, t := range []struct {
		caption, name string
		rows          []waits.Row
	}{{"By cause", "cause", sum.Causes}, {"By boat", "boat", sum.Boats}, {"By place", "place", sum.Places}, {"By week", "week", sum.Weeks}} {
		table := waitTable{Caption: t.caption, Cost: rates != nil}
		most := 0.0
		for _, r := range t.rows {
			most = max(most, r.Hours)
		}
		for _, r := range t.rows {
			row := waitRow{Name: r.Name, Hours: inHours(r.Hours), Link: "/waits?" + query(q, t.name, r.Name).Encode(), Width: int(r.Hours / most * 100)}
			switch {
			case t.name == "cause":
				row.Name = CauseName(planner.Cause(r.Name))
			case r.Name == "":
				row.Name, row.Link = "no place", ""
			}
			if r.Cost != nil {
				row.Cost = waits.Money(*r.Cost, sum.Money)
			}
			table.Rows = append(table.Rows, row)
		}
		if len(table.Rows) > 0 {
			v.Tables = append(v.Tables, table)
		}
	}
}

func planLink(id int64) string { return "/plan/" + strconv.FormatInt(id, 10) }

// placeDayLink leads to a place's chart of one day.
func placeDayLink(place string, day time.Time) string {
	is := day.Format(time.DateOnly)
	return placeLink(place) + "?" + url.Values{"first": {is}, "last": {is}}.Encode() + "#chart"
}
