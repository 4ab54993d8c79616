package config

import (
	"sort"
	"time"
)

// union sorts spans and joins those that overlap or meet.
func union(spans []Span) []Span {
	sorted := append([]Span(nil), spans...)
	sort.Slice(sorted, func(i, j int) bool { return sorted[i].From.Before(sorted[j].From) })
	var joined []Span
	for _, s := range sorted {
		n := len(joined)
		switch {
		case n == 0 || joined[n-1].To.Before(s.From):
			joined = append(joined, s)
		case s.To.After(joined[n-1].To):
			joined[n-1].To = s.To
		}
	}
	return joined
}

// clip keeps what lies within [from, to).
func clip(spans []Span, from, to time.Time) []Span {
	var kept []Span
	for _, s := range spans {
		if s.From.Before(from) {
			s.From = from
		}
		if s.To.After(to) {
			s.To = to
		}
		if s.From.Before(s.To) {
			kept = append(kept, s)
		}
	}
	return kept
}

// subtract takes away from sorted, disjoint spans what other such spans cover.
func subtract(spans, away []Span) []Span {
	var left []Span
	for _, s := range spans {
		for _, a := range away {
			if !a.From.Before(s.To) || !a.To.After(s.From) {
				continue
			}
			if s.From.Before(a.From) {
				left = append(left, Span{s.From, a.From})
			}
			s.From = a.To
		}
		if s.From.Before(s.To) {
			left = append(left, s)
		}
	}
	return left
}
