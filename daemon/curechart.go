package main

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/daemon/chart"
	"fairwindow/daemon/pages"
)

// marks are the milestones' letters in the chart.
var marks = map[conditions.Milestone]rune{
	conditions.DustFree: 'd', conditions.TouchDry: 't', conditions.Protected: 'p', conditions.Taped: 'a', conditions.Recoat: 'R',
	conditions.Sandable: 's', conditions.Movable: 'm', conditions.LastRecoat: 'L', conditions.Reactivate: 'W', conditions.Launch: 'B',
}

// chart draws the progress of each milestone on the side that it goes by, from the
// coat until the recoat window has closed, or past what else is soon reached.
func (r *cureRun) chart(a cureAnswer) chart.Chart {
	end := r.now.Add(time.Hour)
	for _, row := range a.Milestones {
		if at := row.decides().At; at != nil && row.Milestone != conditions.Launch && row.Milestone != conditions.Reactivate && at.After(end) {
			end = *at
		}
	}
	if most := r.now.Add(14 * 24 * time.Hour); end.After(most) {
		end = most
	}
	end = end.Add(end.Sub(r.coated) / 20)
	coats := r.coats(end)
	c := chart.Chart{Title: "Progress of " + r.card.Title(), Unit: "%", From: r.coated, To: end, Zone: r.zone, Least: 100, Rows: 10, Now: r.now}
	for _, row := range a.Milestones {
		l := chart.Line{Letter: marks[row.Milestone], Name: pages.Milestone(row.Milestone)}
		for _, coat := range coats {
			k := coat.Slowest(row.Milestone)
			if row.Milestone.Closes() {
				k = coat.Fastest(row.Milestone)
			}
			part := min(1, k.Progress(row.Milestone))
			l.Points = append(l.Points, chart.Point{At: k.At, Value: 100 * part})
			if part >= 1 {
				break
			}
		}
		c.Lines = append(c.Lines, l)
	}
	if w := a.Recoat; w.Opens != nil && w.State != windowMissed {
		to := end
		if w.Closes != nil {
			to = *w.Closes
		}
		c.Strips = append(c.Strips, chart.Strip{Letter: '=', Name: "recoat", Spans: [][2]time.Time{{*w.Opens, to}}})
	}
	if len(a.Gaps) > 0 {
		gap := chart.Strip{Letter: '?', Name: "gap"}
		for _, s := range a.Gaps {
			gap.Spans = append(gap.Spans, [2]time.Time{s.From, s.To})
		}
		c.Strips = append(c.Strips, gap)
	}
	return c
}

// coats are the coat on all sides at some times from its start to the end of the
// chart. A side of which nothing is known that could stay is as it was last.
func (r *cureRun) coats(end time.Time) []conditions.Coat {
	const steps = 300
	coats := make([]conditions.Coat, 1+len(r.facets[0].trail)+steps)
	for _, f := range r.facets {
		trail := append([]conditions.Clock{r.card.Cure.Start(r.coated)}, f.trail...)
		k := f.clock
		for n := 1; n <= steps; n++ {
			until := r.now.Add(time.Duration(n) * end.Sub(r.now) / steps)
			if unit.Known(f.last.Coldest) {
				k = r.card.Cure.Run(k, until, f.last)
			}
			k.At = until
			trail = append(trail, k)
		}
		for n := range coats {
			coats[n].Clocks = append(coats[n].Clocks, trail[n])
		}
	}
	return coats
}
