package main

import (
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// A side that was never measured opens nothing, and the chart of what opens shows
// no more than the row does; what closes goes by the side that was measured.
func TestChartOfASideNeverMeasured(t *testing.T) {
	y, err := yardOrStarter("")
	if err != nil {
		t.Fatal(err)
	}
	card, _ := y.Card("Finish primer")
	coated := time.Date(2026, 4, 6, 9, 0, 0, 0, time.UTC)
	now := coated.Add(2 * time.Hour)
	side := func(name string, surface unit.Temperature) curing {
		e := conditions.Exposure{Coldest: surface, Warmest: surface, Humidity: 50}
		return curing{name: name, last: e, spells: []conditions.Spell{{Until: coated.Add(time.Hour), Exposure: e}, {Until: now, Exposure: e}}}
	}
	r := cureRun{card: card, coated: coated, now: now, zone: time.UTC, facets: []curing{side("port", 20), side("deck", unit.NaN[unit.Temperature]())}}
	r.follow()
	a := r.answer()
	seen := 0
	for i, l := range r.chart(a).Lines {
		last := l.Points[len(l.Points)-1].Value
		switch row := a.Milestones[i]; {
		case row.Milestone == conditions.Recoat:
			if seen++; last != 0 || row.Slowest.At != nil || row.Slowest.Facet != "deck" {
				t.Errorf("recoat is drawn to %v %%, the row says %+v", last, row.Slowest)
			}
		case row.Milestone == conditions.LastRecoat:
			if seen++; last < 99 || row.Fastest.At == nil {
				t.Errorf("last recoat is drawn to %v %%, the row says %+v", last, row.Fastest)
			}
		}
	}
	if seen != 2 {
		t.Errorf("%d of two lines drawn", seen)
	}
}
