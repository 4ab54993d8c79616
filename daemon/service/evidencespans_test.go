package service

import (
	"reflect"
	"testing"
	"time"

	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// Which times, and which places' air, go into a bundle.
func TestWhatABundleReads(t *testing.T) {
	t.Parallel()
	coat := func(area string, day int) record.Coat {
		return record.Coat{Area: area, Place: "booth", Started: at(day, 8, 0), Ended: at(day, 9, 0)}
	}
	move := func(kind planner.PressKind, day int, place string) record.Report {
		return record.Report{Kind: kind, Place: place, Happened: at(day, 12, 0)}
	}
	around := func(from, to int) planner.Span { return planner.Span{From: at(from-1, 8, 0), To: at(to+2, 9, 0)} }
	struck := move(planner.Moved, 4, "slip")
	struck.Struck = &record.Strike{}
	for name, c := range map[string]struct {
		coats []record.Coat
		work  []record.Report
		want  []planner.Span
	}{
		"one coat":                      {coats: []record.Coat{coat("deck", 1)}, want: []planner.Span{around(1, 1)}},
		"one after the other":           {coats: []record.Coat{coat("deck", 20), coat("deck", 1)}, want: []planner.Span{around(1, 20)}},
		"on two areas":                  {coats: []record.Coat{coat("deck", 1), coat("house", 20)}, want: []planner.Span{around(1, 1), around(20, 20)}},
		"on two areas, a day apart":     {coats: []record.Coat{coat("deck", 1), coat("house", 2)}, want: []planner.Span{around(1, 2)}},
		"the boat was launched between": {coats: []record.Coat{coat("deck", 1), coat("deck", 20)}, work: []record.Report{move(planner.Launched, 9, "")}, want: []planner.Span{around(1, 1), around(20, 20)}},
	} {
		if got := coatSpans(record.Record{Coats: c.coats, Work: c.work}); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	r := record.Record{Coats: []record.Coat{coat("deck", 1), coat("deck", 20)}, Work: []record.Report{
		move(planner.Arrived, -3, "row"), move(planner.Moved, 0, "booth"), struck, move(planner.Moved, 5, "shed"), move(planner.Moved, 19, "booth")}}
	for day, want := range map[int][]string{-2: {"row"}, 1: {"booth"}, 4: {"booth"}, 5: {"booth", "shed"}, 9: {"shed"}, 20: {"booth"}} {
		if got := placesIn(r, at(day, 0, 0), at(day, 0, 0).Add(24*time.Hour)); !reflect.DeepEqual(got, want) {
			t.Errorf("day %d: %q, want %q", day, got, want)
		}
	}
}
