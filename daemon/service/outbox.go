package service

import (
	"context"
	"time"

	"fairwindow/daemon/store"
	"fairwindow/notify"
)

// retryAfter is the pause between two tries of a bus that does not answer.
const retryAfter = 2 * time.Second

// runOutbox publishes what the store holds unsent, in the order in which it
// was committed, each until the bus acknowledges it. A notice that is sent but
// not yet marked goes out again after a crash under its id, which the bus and
// our readers count once.
func (s *Service) runOutbox(ctx context.Context) error {
	for {
		s.mu.Lock()
		wait := s.changed
		s.mu.Unlock()
		sent, err := s.publish(ctx)
		switch {
		case ctx.Err() != nil:
			return nil
		case err != nil:
			s.log.WithError(err).Warn("notices wait: the bus does not take them; they are kept and tried again")
			select {
			case <-ctx.Done():
				return nil
			case <-time.After(retryAfter):
			}
		case sent == 0:
			select {
			case <-ctx.Done():
				return nil
			case <-wait:
			}
		}
	}
}

// publish sends one batch and marks it.
func (s *Service) publish(ctx context.Context) (int, error) {
	notices, err := s.store.Unsent(ctx, 100)
	if err != nil || len(notices) == 0 {
		return 0, err
	}
	s.mu.Lock()
	style := s.facts.style()
	s.mu.Unlock()
	for _, n := range notices {
		sentence := notify.Sentence(n, style)
		if err := s.bus.Publish(ctx, n, sentence); err != nil {
			return 0, err
		}
		// Marked one by one: what was heard is never said twice by us.
		mark := []store.Sent{{ID: n.ID, Revision: n.Revision, At: s.clock.Now()}}
		if err := s.store.MarkSent(context.WithoutCancel(ctx), mark); err != nil {
			return 0, err
		}
		s.health.sent(n.Kind)
		if s.opt.Heard != nil {
			s.opt.Heard(n, sentence) // before nothing is owed any more: who waits for that has heard it
		}
		s.mu.Lock()
		s.unsent = max(s.unsent-1, 0) // a recall may have counted it as sent already
		s.wake()
		s.mu.Unlock()
	}
	return len(notices), nil
}

// style is how this yard's people read times and units.
func (f *facts) style() notify.Style {
	units := notify.SI
	if f.yard.Units == "US" {
		units = notify.US
	}
	return notify.Style{Zone: f.zone, Units: units}
}
