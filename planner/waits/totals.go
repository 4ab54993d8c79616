package waits

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// Only narrows a history down. What is empty leaves nothing out.
type Only struct {
	Boat  string
	Place string
	Cause planner.Cause
	Week  string // of ISO 8601: 2026-W15
	Kind  config.StageKind
}

// Line is a span of waiting within one week and with one cause, the least that totals
// are made of.
type Line struct {
	Boat, Place, Week string
	Kind              config.StageKind
	Cause             planner.Cause
	For               time.Duration
	Booth             time.Duration // of it, the boat stood in a booth and waited there
	Launch            time.Duration // of it, the launch hung on it
	Again             bool          // a stage before it moved, and is counted there
}

// Lines are the spans of a history that still stand, cut at the weeks' ends on the yard's clock.
func Lines(all []Entry, y config.Yard, zone *time.Location) []Line {
	var lines []Line
	for i := range all {
		e := &all[i]
		place, _ := y.Place(e.Place)
		for _, w := range e.Spans {
			for from := w.From; from.Before(w.To); {
				to, week := planner.WeekOf(from, zone)
				to = earlier(to, w.To)
				l := Line{
					Boat: e.Key.Boat, Place: e.Place, Week: week, Kind: e.Kind, Cause: w.Cause,
					For: to.Sub(from), Again: w.Cause == planner.EarlierMoved,
				}
				if place.Kind == config.Booth {
					for _, s := range e.Stood {
						if s, ok := within(s, from, to); ok {
							l.Booth += s.To.Sub(s.From)
						}
					}
				}
				if e.Fixes {
					l.Launch = l.For
				}
				lines = append(lines, l)
				from = to
			}
		}
	}
	return lines
}

// Of reports whether a line is among what is asked for.
func (o Only) Of(l Line) bool {
	return (o.Boat == "" || o.Boat == l.Boat) && (o.Place == "" || o.Place == l.Place) && (o.Cause == "" || o.Cause == l.Cause) &&
		(o.Week == "" || o.Week == l.Week) && (o.Kind == "" || o.Kind == l.Kind)
}

// Has reports whether a deferral is: its cause then, or one that still stands, and the
// week of the start that it put off, or one that it still takes up.
func (o Only) Has(e Entry, zone *time.Location) bool {
	l := Line{Boat: e.Key.Boat, Place: e.Place, Kind: e.Kind, Cause: e.Cause}
	_, l.Week = planner.WeekOf(e.From, zone)
	if o.Of(l) {
		return true
	}
	for _, w := range e.Spans {
		l.Cause = w.Cause
		for from := w.From; from.Before(w.To); {
			var to time.Time
			to, l.Week = planner.WeekOf(from, zone)
			if o.Of(l) {
				return true
			}
			from = to
		}
	}
	return false
}

// Counts is how much of a deferral the sums of what is asked for have: over a whole history
// it adds up to Totals.Hours.
func (o Only) Counts(e Entry, zone *time.Location) time.Duration {
	var sum time.Duration
	for _, l := range Lines([]Entry{e}, config.Yard{}, zone) {
		if o.Of(l) && !l.Again {
			sum += l.For
		}
	}
	return sum
}

// Row is one line of a table.
type Row struct {
	Name  string   `json:"name"`
	Hours float64  `json:"hours"`
	Cost  *float64 `json:"cost,omitempty"` // in the yard's currency; none without its rates
}

// Totals are the hours by which stages were put off, in four tables that each add up to
// Hours. Two stages that wait at one time count twice.
type Totals struct {
	Hours  float64  `json:"hours"`
	Cost   *float64 `json:"cost,omitempty"`
	Money  string   `json:"currency,omitempty"`
	Causes []Row    `json:"causes"`
	Places []Row    `json:"places"`
	Boats  []Row    `json:"boats"`
	Weeks  []Row    `json:"weeks"`
	// Again are the hours of stages that moved only because one before them did.
	Again float64 `json:"again"`
}

// Sum adds up lines, the longest first, weeks in their order.
func Sum(lines []Line, o Only, rates *config.Rates) Totals {
	var t Totals
	causes, places, boats, weeks := map[string]Line{}, map[string]Line{}, map[string]Line{}, map[string]Line{}
	var sum Line
	for _, l := range lines {
		switch {
		case !o.Of(l):
		case l.Again:
			t.Again += l.For.Hours()
		default:
			sum = sum.and(l)
			for _, to := range []struct {
				table map[string]Line
				name  string
			}{{causes, string(l.Cause)}, {places, l.Place}, {boats, l.Boat}, {weeks, l.Week}} {
				to.table[to.name] = to.table[to.name].and(l)
			}
		}
	}
	all := sum.row("", rates)
	t.Hours, t.Cost = all.Hours, all.Cost
	if rates != nil {
		t.Money = rates.Currency
	}
	t.Causes, t.Places, t.Boats, t.Weeks = rows(causes, rates), rows(places, rates), rows(boats, rates), rows(weeks, rates)
	slices.SortFunc(t.Weeks, func(a, b Row) int { return cmp.Compare(a.Name, b.Name) })
	return t
}

func (l Line) and(more Line) Line {
	l.For, l.Booth, l.Launch = l.For+more.For, l.Booth+more.Booth, l.Launch+more.Launch
	return l
}

// row is a sum in hours and, by the yard's rates, as money: a booth that a boat waited in costs
// by the hour, and a day on which a launch hung costs a day of the boat.
func (l Line) row(name string, rates *config.Rates) Row {
	r := Row{Name: name, Hours: l.For.Hours()}
	if rates != nil {
		cost := l.Booth.Hours()*rates.Booth + l.Launch.Hours()/24*rates.BoatDay
		r.Cost = &cost
	}
	return r
}

func rows(sums map[string]Line, rates *config.Rates) []Row {
	all := make([]Row, 0, len(sums))
	for name, l := range sums {
		all = append(all, l.row(name, rates))
	}
	slices.SortFunc(all, func(a, b Row) int { return cmp.Or(cmp.Compare(b.Hours, a.Hours), cmp.Compare(a.Name, b.Name)) })
	return all
}

// Money words an amount with its currency, its digits in threes: 210 854 EUR (ISO 80000-1,
// 7.3.1: a small space, neither point nor comma).
func Money(amount float64, currency string) string {
	digits := fmt.Sprintf("%.0f", amount)
	for at := len(digits) - 3; at > 0 && digits[at-1] != '-'; at -= 3 {
		digits = digits[:at] + "\u202f" + digits[at:]
	}
	return digits + " " + currency
}
