package service

import (
	"context"
	"encoding/json"
	"errors"

	"fairwindow/daemon/store"
)

// commit writes one change and, if that fails, forgets what memory had made of it.
func (s *Service) commit(ctx context.Context, c store.Change) (store.Committed, error) {
	c.At = s.clock.Now()
	c.Signatures = append(c.Signatures, signatures(ctx, c)...)
	memory, err := s.watch.changes()
	if err != nil {
		return store.Committed{}, err
	}
	if c.Memory == nil {
		c.Memory = map[string]json.RawMessage{}
	}
	for k, v := range memory {
		c.Memory[k] = v
	}
	var done store.Committed
	if err = s.address(ctx, &c); err == nil {
		done, err = s.store.Commit(ctx, c)
	}
	s.keeps(err)
	if err != nil {
		if again := s.recall(context.WithoutCancel(ctx)); again != nil {
			err = errors.Join(err, again)
		}
		return store.Committed{}, err
	}
	s.watch.saved()
	s.unsent += len(done.Notices)
	for _, d := range c.Deliveries {
		s.post.by(d.Due)
	}
	for _, h := range c.Hastened {
		s.post.by(h.Due)
	}
	s.wake()
	return done, nil
}

// wake lets whoever waits look again. Callers hold the turn.
func (s *Service) wake() {
	close(s.changed)
	s.changed = make(chan struct{})
}
