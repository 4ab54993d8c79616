package service

import (
	"context"
	"fmt"
	"time"

	"github.com/jonboulle/clockwork"
)

// leastLeap is the least by which the wall clock must differ from what ran meanwhile
// to have been set, or the machine to have slept: a clock that is merely corrected as
// it runs never differs by so much within a tick. Our judgement, no source.
const leastLeap = 30 * time.Second

// saidFor is how long a leap is shown on the pages, and how long nothing is thrown away
// for its age after one, by what runs.
const saidFor = 24 * time.Hour

// leaps compares the wall clock with one that nobody sets.
type leaps struct {
	steady    clockwork.Clock
	wall, ran time.Time // when both were last looked at; zero: never
	at        time.Time // of the last leap, by the steady clock; zero: none
	by        time.Duration
	to        time.Time // by the wall clock
}

// look tells by how much the wall clock was set since the last look, forward if above
// zero; zero if it went as it should.
func (l *leaps) look(wall time.Time) time.Duration {
	wall = wall.Round(0) // without the machine's own count, which nobody can set
	ran := l.steady.Now()
	was := *l
	l.wall, l.ran = wall, ran
	if was.wall.IsZero() {
		return 0
	}
	by := wall.Sub(was.wall) - ran.Sub(was.ran)
	if by.Abs() < leastLeap {
		return 0
	}
	l.at, l.by, l.to = ran, by, wall
	return by
}

// lately reports whether there was a leap within saidFor.
func (l *leaps) lately() bool { return !l.at.IsZero() && l.steady.Now().Sub(l.at) < saidFor }

// lookAtClock notes that the wall clock was set, and sets right what would otherwise
// wait for a time that has become far: what came before keeps the times it came with.
func (s *Service) lookAtClock(_ context.Context, now time.Time) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	by := s.leaps.look(now)
	if by == 0 {
		return nil
	}
	s.health.leaps.Inc()
	s.log.WithField("by", by.Round(time.Second).String()).Warn(s.leaps.sentence(s.facts.zone))
	s.cycle.setTo(now)
	s.watch.setTo(now)
	for i := range s.sources.feeds {
		if by < 0 {
			s.sources.feeds[i].next = time.Time{}
		}
	}
	s.cycle.ask(now, "the clock was set")
	s.wake()
	return nil
}

// sentence says what happened to the clock, and what follows from it.
func (l *leaps) sentence(zone *time.Location) string {
	at := l.to.In(zone).Format("Mon 2 Jan 15:04")
	if l.by > 0 {
		return fmt.Sprintf("The machine's clock was set forward by %s, to %s, or it slept: what was not measured meanwhile counts as not measured.",
			l.by.Round(time.Second), at)
	}
	return fmt.Sprintf("The machine's clock was set back by %s, to %s: what came with a later time before is not counted as now, and cures go on when that time is reached.",
		(-l.by).Round(time.Second), at)
}

// setTo lets nothing wait for a time that lies ahead only because the clock was set back.
func (c *cycle) setTo(now time.Time) {
	if c.asked.After(now) {
		c.asked = now
	}
	if c.at.After(now) {
		c.at = now
	}
}

// setTo counts the silence of a source from now if its last word would be one to come.
func (w *watches) setTo(now time.Time) {
	for name, one := range w.by {
		if one.Heard.After(now) {
			one.Heard = now
			w.touch(name)
		}
	}
}
