package service

import (
	"slices"
	"time"

	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// placesIn are where the boat stood in a span of time: of its coats, and by the moves.
func placesIn(r record.Record, from, to time.Time) []string {
	var all []string
	for _, c := range r.Coats {
		if c.Started.Add(-evidenceBefore).Before(to) && later(c.Started, c.Ended).Add(evidenceAfter).After(from) {
			all = append(all, c.Place)
		}
	}
	last := ""
	for _, w := range r.Work {
		switch {
		case w.Struck != nil || w.Kind != planner.Arrived && w.Kind != planner.Moved:
		case !w.Happened.After(from):
			last = w.Place
		case w.Happened.Before(to):
			all = append(all, w.Place)
		}
	}
	all = append(all, last)
	slices.Sort(all)
	return slices.DeleteFunc(slices.Compact(all), func(place string) bool { return place == "" })
}

// coatSpans are the times around the coats, and from one coat to the next on the same area,
// for its recoat window is reckoned by them; those that touch are joined.
func coatSpans(r record.Record) []planner.Span {
	var all []planner.Span
	coats := slices.Clone(r.Coats)
	slices.SortStableFunc(coats, func(a, b record.Coat) int { return a.Started.Compare(b.Started) })
	last := map[string]time.Time{} // when the coat before ended, by area
	for _, c := range coats {
		s := planner.Span{From: c.Started.Add(-evidenceBefore), To: later(c.Started, c.Ended).Add(evidenceAfter)}
		if before, ok := last[c.Area]; ok && before.Before(s.From) && !launchedWithin(r, before, c.Started) {
			s.From = before
		}
		last[c.Area] = later(last[c.Area], later(c.Started, c.Ended))
		all = append(all, s)
	}
	slices.SortFunc(all, func(a, b planner.Span) int { return a.From.Compare(b.From) })
	var joined []planner.Span
	for _, s := range all {
		if n := len(joined); n > 0 && !s.From.After(joined[n-1].To) {
			joined[n-1].To = later(joined[n-1].To, s.To)
			continue
		}
		joined = append(joined, s)
	}
	return joined
}

// launchedWithin reports whether the boat was launched between two coats: what came after
// was another job.
func launchedWithin(r record.Record, from, to time.Time) bool {
	return slices.ContainsFunc(r.Work, func(w record.Report) bool {
		return w.Kind == planner.Launched && w.Struck == nil && w.Happened.After(from) && w.Happened.Before(to)
	})
}
