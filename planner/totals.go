package planner

import (
	"cmp"
	"fmt"
	"slices"
	"time"
)

// Waited is how long a plan's stages wait, in hours, by what one may ask for.
// Each table adds up to Hours. Two stages that wait at one time count twice: it is
// what the stages wait, not what the boats do.
type Waited struct {
	Hours  float64 `json:"hours"`
	Causes []Hours `json:"causes"`
	Places []Hours `json:"places"` // of the stage that waits; empty for one without a place
	Boats  []Hours `json:"boats"`
	Weeks  []Hours `json:"weeks"` // of ISO 8601, in the yard's zone: 2026-W19
	// Without is the stages that have no start, whose waiting has no end and is not counted.
	Without int `json:"without"`
}

// Hours is one line of a table.
type Hours struct {
	Name  string  `json:"name"`
	Hours float64 `json:"hours"`
}

// Totals adds up the waits of a plan, the longest first, weeks in their order.
func Totals(p Plan, zone *time.Location) Waited {
	var w Waited
	causes, places, boats, weeks := map[string]time.Duration{}, map[string]time.Duration{}, map[string]time.Duration{}, map[string]time.Duration{}
	var sum time.Duration
	for _, s := range p.Stages {
		if !s.placed() {
			w.Without++
			continue
		}
		for _, wait := range s.Waits {
			d := wait.To.Sub(wait.From)
			sum += d
			causes[string(wait.Cause)] += d
			places[s.Place] += d
			boats[s.Key.Boat] += d
			for from := wait.From; from.Before(wait.To); {
				to, name := WeekOf(from, zone)
				if to.After(wait.To) {
					to = wait.To
				}
				weeks[name] += to.Sub(from)
				from = to
			}
		}
	}
	w.Hours = sum.Hours()
	w.Causes, w.Places, w.Boats, w.Weeks = table(causes), table(places), table(boats), table(weeks)
	slices.SortFunc(w.Weeks, func(a, b Hours) int { return cmp.Compare(a.Name, b.Name) })
	return w
}

// WeekOf is the end of the week that holds a time, Monday at midnight on the
// yard's clock, and its name.
func WeekOf(t time.Time, zone *time.Location) (end time.Time, name string) {
	t = t.In(zone)
	year, week := t.ISOWeek()
	days := (8 - int(t.Weekday())) % 7 // to Monday: Sunday is 0
	if days == 0 {
		days = 7
	}
	return time.Date(t.Year(), t.Month(), t.Day()+days, 0, 0, 0, 0, zone), fmt.Sprintf("%d-W%02d", year, week)
}

func table(sums map[string]time.Duration) []Hours {
	rows := make([]Hours, 0, len(sums))
	for name, d := range sums {
		rows = append(rows, Hours{name, d.Hours()})
	}
	slices.SortFunc(rows, func(a, b Hours) int { return cmp.Or(cmp.Compare(b.Hours, a.Hours), cmp.Compare(a.Name, b.Name)) })
	return rows
}
