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
type post struct{ next time.Time }

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

// envelope is a letter with where it goes.
type envelope struct {
	letter notify.Letter
	way    notify.Way
	refs   []notify.Ref
	begun  time.Time
	tries  int // with this one
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
			if errors.Is(sent, notify.ErrRefused) || now.Sub(e.begun) >= notify.GiveUpAfter {
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
	return s.replan(ctx)
}

// gather passes on what was not heard, drops what is over and makes up the letters that are due,
// each named in the store before it is tried.
func (s *Service) gather(ctx context.Context) ([]envelope, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.clock.Now()
	rows, err := s.store.Deliveries(ctx, now.Add(-ledgerBack))
	if err != nil {
		return nil, err
	}
	roster, err := s.facts.roster(now)
	if err != nil {
		return nil, err
	}
	passed, _ := notify.Pass(roster, ledgerOf(rows), now)
	stale := notify.Stale(dueNow(rows, now), now)
	if len(passed)+len(stale) > 0 {
		if _, err := s.store.Commit(ctx, store.Change{At: now, Deliveries: passed, Dropped: stale}); err != nil {
			return nil, err
		}
		if rows, err = s.store.Deliveries(ctx, now.Add(-ledgerBack)); err != nil {
			return nil, err
		}
	}
	style := s.facts.style()
	var out []envelope
	for _, group := range letters(rows, now) {
		e := envelope{way: group[0].Way, tries: group[0].Tries + 1, begun: group[0].Begun}
		if e.begun.IsZero() {
			e.begun = now
		}
		e.letter = notify.Letter{ID: group[0].Letter, Person: group[0].Person, At: e.begun}
		for _, d := range group {
			e.refs = append(e.refs, d.Ref())
			e.letter.Items = append(e.letter.Items, notify.Item{Notice: d.Notice, Sentence: notify.Sentence(d.Notice, style)})
		}
		if e.letter.ID == "" {
			e.letter.ID = notify.LetterID(e.refs)
		}
		if err := s.store.Try(ctx, e.letter.ID, e.refs, now); err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, nil
}

func dueNow(rows []store.Delivered, now time.Time) []notify.Told {
	var due []notify.Told
	for _, d := range rows {
		if d.Open() && !d.Due.After(now) {
			due = append(due, d.Told)
		}
	}
	return due
}

// letters groups what is due into one message for each person and way. A letter that failed goes
// again as it was, and what is newer waits behind it: the way is down, and order is kept.
func letters(rows []store.Delivered, now time.Time) [][]store.Delivered {
	type line struct {
		person string
		way    notify.Way
	}
	var order []line
	open := map[line][]store.Delivered{}
	for _, d := range rows {
		if !d.Open() || d.Due.After(now) {
			continue
		}
		k := line{d.Person, d.Way}
		if len(open[k]) == 0 {
			order = append(order, k)
		}
		open[k] = append(open[k], d)
	}
	var out [][]store.Delivered
	for _, k := range order {
		var group []store.Delivered
		first := open[k][0]
		for _, d := range open[k] {
			if d.Letter != "" {
				first = d // what was tried comes before what was not
				break
			}
		}
		if first.Retry.After(now) {
			continue
		}
		for _, d := range open[k] {
			if d.Letter == first.Letter && len(group) < notify.LetterMost {
				group = append(group, d)
			}
		}
		out = append(out, group)
	}
	return out
}

// replan notes when to look again. Callers hold the turn.
func (s *Service) replan(ctx context.Context) error {
	s.post.next = time.Time{}
	if len(s.facts.yard.People) == 0 {
		return nil
	}
	now := s.clock.Now()
	rows, err := s.store.Deliveries(ctx, now.Add(-ledgerBack))
	if err != nil {
		return err
	}
	type line struct {
		person string
		way    notify.Way
	}
	blocked := map[line]time.Time{}
	for _, d := range rows {
		if d.Open() && d.Retry.After(blocked[line{d.Person, d.Way}]) {
			blocked[line{d.Person, d.Way}] = d.Retry
		}
	}
	for _, d := range rows {
		if !d.Open() {
			continue
		}
		due := d.Due
		if until := blocked[line{d.Person, d.Way}]; until.After(due) {
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
