package service

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
)

// Health lists what every page must say.
func (s *Service) Health(context.Context) ([]string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	var out []string
	if s.trouble.notKept != "" {
		out = append(out, fmt.Sprintf("Nothing new can be kept, so nothing is taken in; sensors keep and send again what they can: %s.", s.trouble.notKept))
	}
	if s.trouble.badYard != "" {
		out = append(out, s.trouble.badYard)
	}
	out = append(out, s.facts.notInForce()...)
	if s.leaps.lately() {
		out = append(out, s.leaps.sentence(s.facts.zone))
	}
	if s.cycle.failed != nil {
		out = append(out, fmt.Sprintf("No new plan could be made at %s, the last one stands: %v.", s.cycle.at.In(s.facts.zone).Format("Mon 15:04"), s.cycle.failed))
	}
	if fore, ok := s.facts.forecast(now); !ok && len(s.facts.yard.Forecasts) > 0 {
		out = append(out, "No forecast that is new enough: the plan goes by the season's usual weather, and no window is announced.")
	} else if len(fore.Flags) > 0 {
		var doubts []string
		for _, f := range fore.Flags {
			doubts = append(doubts, strings.ReplaceAll(string(f.Of), "_", " ")+" "+string(f.Fault)+", "+f.Note)
		}
		out = append(out, fmt.Sprintf("Forecast %s: doubtful values left out: %s.", fore.Source, strings.Join(doubts, "; ")))
	}
	for _, name := range slices.Sorted(maps.Keys(s.sources.broken)) {
		out = append(out, fmt.Sprintf("%s: %s.", name, s.sources.broken[name]))
	}
	return append(out, s.ofPlaces(now)...), nil
}

// ofPlaces says of which places too little is known, and what of them is doubtful.
func (s *Service) ofPlaces(now time.Time) []string {
	var out, reasons []string
	unknown := map[string][]string{} // places, by why: one sentence for all that share it
	for _, place := range s.facts.yard.Places {
		m := s.facts.measured(place.Name, now)
		if m.Sure == conditions.Unknown && sensed(s.facts.yard, place.Name) {
			if unknown[m.Why] == nil {
				reasons = append(reasons, m.Why)
			}
			unknown[m.Why] = append(unknown[m.Why], place.Name)
		}
		if m.Doubt != "" {
			out = append(out, fmt.Sprintf("%s: two instruments disagree, and the worse is taken: %s.", place.Name, m.Doubt))
		}
		if off, unknown := (&guarding{facts: &s.facts, now: now}).fanUnknown(place.Name); unknown {
			out = append(out, fmt.Sprintf("%s: %s; until it is, no window opens there.", place.Name, off.Text))
		}
		if n := s.flagged(place.Name, now.Add(-time.Hour)); n > 0 {
			out = append(out, fmt.Sprintf("%s: doubtful readings in the last hour, kept and not used: %d.", place.Name, n))
		}
	}
	for _, why := range reasons {
		names, is := unknown[why], "is"
		if last := len(names) - 1; last > 0 {
			names, is = []string{strings.Join(names[:last], ", ") + " and " + names[last]}, "are"
		}
		out = append(out, fmt.Sprintf("%s %s unknown: %s.", names[0], is, why))
	}
	return out
}

// flagged counts a place's doubtful readings since a time.
func (s *Service) flagged(place string, since time.Time) int {
	n := 0
	for _, r := range s.facts.readings[place] {
		if r.Doubted() && !r.Received.Before(since) { // its own time may be what is doubtful
			n++
		}
	}
	return n
}
