package service

import (
	"fmt"
	"testing"
	"time"
)

// A clock that is run over weeks without the daemon ends where it would if each quarter of an
// hour were looked at.
func TestClockOverAGap(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 8, 0))
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measure(good)
	s := r.svc
	s.mu.Lock()
	defer s.mu.Unlock()
	f := &s.facts
	for _, gap := range []time.Duration{20 * time.Minute, 26 * time.Hour, 40*24*time.Hour + 7*time.Minute} {
		now := s.clock.Now().Add(gap)
		was := f.clocks[first].Clock
		s.runClocks(now)
		card, _ := f.yard.Card(f.lastCoats()[0].Card)
		if was.Coated.IsZero() {
			was = card.Cure.Start(f.lastCoats()[0].Ended)
		}
		for was.At.Before(now) {
			until := was.At.Add(clockStep)
			if until.After(now) {
				until = now
			}
			was = card.Cure.Run(was, until, f.surface(first, until))
		}
		if is := f.clocks[first].Clock; fmt.Sprintf("%+v", is) != fmt.Sprintf("%+v", was) {
			t.Errorf("after %s: %+v, step by step %+v", gap, is, was)
		}
	}
}
