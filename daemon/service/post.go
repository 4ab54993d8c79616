package service

import (
	"context"
	"errors"
	"fmt"
	"time"

	"fairwindow/daemon/store"
	"fairwindow/notify"
)

// post is when the next letter is to be looked at: zero, none is. It is the turn's.
type post struct {
	next   time.Time
	unrung map[string]bool // whose missing browser the log has named
}

// by notes that something is due at a time.
func (p *post) by(due time.Time) {
	if !due.IsZero() && (p.next.IsZero() || due.Before(p.next)) {
		p.next = due
	}
}

// owed reports whether a letter should be gone by now.
func (p post) owed(now time.Time) bool { return !p.next.IsZero() && !p.next.After(now) }

// runPost tells people by their ways, until ctx ends.
func (s *Service) runPost(ctx context.Context) error {
	for {
		s.mu.Lock()
		next, wait := s.post.next, s.changed
		s.mu.Unlock()
		switch left := next.Sub(s.clock.Now()); {
		case next.IsZero():
			select {
			case <-ctx.Done():
				return nil
			case <-wait:
			}
		case left > 0:
			select {
			case <-ctx.Done():
				return nil
			case <-wait:
			case <-s.clock.After(left):
			}
		default:
			if err := s.sendDue(ctx); err != nil && ctx.Err() == nil {
				s.log.WithError(err).Error("people can't be told; it is tried again")
				s.mu.Lock()
				s.post.next = s.clock.Now().Add(notify.BackOff(1))
				s.wake()
				s.mu.Unlock()
			}
			if ctx.Err() != nil {
				return nil
			}
		}
	}
}

// sendDue sends every letter that is due, and notes when to look again.
func (s *Service) sendDue(ctx context.Context) error {
	letters, err := s.gather(ctx)
	if err != nil {
		return err
	}
	for _, e := range letters {
		sent := s.deliver(ctx, e)
		if sent != nil && ctx.Err() != nil {
			return ctx.Err() // it was tried; the next start tries it again
		}
		now := s.clock.Now()
		o := store.Outcome{Letter: e.letter.ID, Sent: sent == nil, At: now}
		if sent != nil {
			o.Error = sent.Error()
			log := s.log.WithField("person", e.letter.Person).WithError(sent)
			if errors.Is(sent, errNoBrowser) {
				s.unrung(e.letter.Person, log)
			} else if errors.Is(sent, notify.ErrRefused) || now.Sub(e.begun) >= notify.GiveUpAfter {
				log.Error("a message is given up; its notices are on the page")
			} else {
				o.Retry = now.Add(notify.BackOff(e.tries))
				log.Warn("a message could not be sent; it is kept and tried again")
			}
		}
		if err := s.store.Tried(context.WithoutCancel(ctx), o); err != nil {
			return err
		}
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.wake()
	return s.nextPost(ctx)
}

// nextPost notes when to look again. Callers hold the turn.
func (s *Service) nextPost(ctx context.Context) error {
	s.post.next = time.Time{}
	if len(s.facts.yard.People) == 0 {
		return nil
	}
	now := s.clock.Now()
	rows, err := s.store.Deliveries(ctx, now.Add(-ledgerBack))
	if err != nil {
		return err
	}
	blocked := map[reached]time.Time{}
	for _, d := range rows {
		if d.Open() && d.Retry.After(blocked[reached{d.Person, d.Way}]) {
			blocked[reached{d.Person, d.Way}] = d.Retry
		}
	}
	for _, d := range rows {
		if !d.Open() {
			continue
		}
		due := d.Due
		if until := blocked[reached{d.Person, d.Way}]; until.After(due) {
			due = until
		}
		s.post.by(due)
	}
	roster, err := s.facts.roster(now)
	if err != nil {
		return err
	}
	passed, next := notify.Pass(roster, ledgerOf(rows), now)
	s.post.by(next)
	if len(passed) > 0 {
		s.post.by(now)
	}
	return nil
}

// deliver tries one letter by its way.
func (s *Service) deliver(ctx context.Context, e envelope) error {
	s.mu.Lock()
	y := s.facts.yard
	s.mu.Unlock()
	p, ok := y.Person(e.letter.Person)
	if !ok {
		return fmt.Errorf("%w: %s is no longer in the yard file", notify.ErrRefused, e.letter.Person)
	}
	switch {
	case e.way == notify.ByMail && p.Mail != "":
		return s.byMail(ctx, y, p, e.letter)
	case e.way == notify.ByWebhook && p.Webhook.URL != "":
		return s.byWebhook(ctx, p, e.letter)
	case e.way == notify.ByPush && p.Push:
		return s.byPush(ctx, y, p, e.letter)
	case e.way == notify.ByPage:
		return nil // it is there; he looks by himself
	}
	return fmt.Errorf("%w: %s is no longer reached by %s", notify.ErrRefused, p.Name, e.way)
}
