package service

import (
	"context"
	"time"

	"fairwindow/daemon/store"
	"fairwindow/notify"
)

// reached is a person and a way to him: what goes there goes in order.
type reached struct {
	person string
	way    notify.Way
}

// envelope is a letter with where it goes.
type envelope struct {
	letter notify.Letter
	way    notify.Way
	refs   []notify.Ref
	begun  time.Time
	tries  int // with this one
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
			e.begun = now.UTC().Truncate(time.Millisecond) // as the store keeps it: the letter is the same at every try
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
	var order []reached
	open := map[reached][]store.Delivered{}
	for _, d := range rows {
		if !d.Open() || d.Due.After(now) {
			continue
		}
		k := reached{d.Person, d.Way}
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
