package planner

import (
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// driesAt is the temperature at which a coat is taken to dry where nobody asks more
// exactly: that of a booth's set point. Common practice, no source.
const driesAt = 20

// unended is after how long without a word a coat that goes on is taken to have ended:
// nobody sprays for longer than a shift. Common practice, no source.
const unended = 12 * time.Hour

// Wet are the spans of a time in which coats were put on in a place or had not dried
// there, by the card's time to dust-free at 20 °C: solvent is in the air. Of coats
// that overlap the time counts once.
func (w Work) Wet(y config.Yard, place string, from, to time.Time) []Span {
	var all []Span
	for _, a := range w.areas {
		for _, p := range a.stages {
			if s, ok := p.wet(y, to); ok && p.Place == place {
				all = append(all, s)
			}
		}
	}
	slices.SortFunc(all, func(a, b Span) int { return a.From.Compare(b.From) })
	var joined []Span
	for _, s := range all {
		if s.From.Before(from) {
			s.From = from
		}
		if s.To.After(to) {
			s.To = to
		}
		switch last := len(joined) - 1; {
		case !s.From.Before(s.To):
		case last >= 0 && !s.From.After(joined[last].To):
			if s.To.After(joined[last].To) {
				joined[last].To = s.To
			}
		default:
			joined = append(joined, s)
		}
	}
	return joined
}

// wet is from a coat's start, or its first pass, to when its last one has dried; to the
// end of what is asked if it still goes on. False if nobody said when it was put on.
func (p Progress) wet(y config.Yard, until time.Time) (Span, bool) {
	if p.Stage.Kind != config.Coat {
		return Span{}, false
	}
	s := Span{From: p.Started, To: p.coated()}
	if s.From.IsZero() && len(p.Passes) > 0 {
		s.From = p.Passes[0].From
	}
	card, _ := y.Card(p.Stage.Card)
	if p.Running && !p.Paused && !p.Done {
		s.To = until
		if last := p.lastWord().Add(unended); until.After(last) {
			s.To = last
		}
	}
	s.To = s.To.Add(dries(card.Cure))
	return s, !s.From.IsZero() && s.From.Before(s.To)
}

// lastWord is when a coat that goes on was last reported of.
func (p Progress) lastWord() time.Time {
	if n := len(p.Passes); n > 0 {
		return p.Passes[n-1].To
	}
	return p.since
}

// dries is a card's time to dust-free; 0 where it gives none.
func dries(c conditions.Cure) time.Duration {
	table := c.Of(conditions.DustFree)
	if rate, ok := table.Rate(driesAt); ok {
		return time.Duration(float64(time.Hour) / rate)
	}
	var longest time.Duration // the card is silent at 20 °C
	for _, point := range table {
		longest = max(longest, point.Takes.Std())
	}
	return longest
}
