package service

import (
	"context"
	"strconv"
	"strings"
	"time"

	"fairwindow/daemon/store"
)

// Hear notes that somebody called a notice heard: it is not passed on to anybody else.
func (s *Service) Hear(ctx context.Context, id string, revision int, by string) error {
	by = strings.TrimSpace(by)
	if by == "" {
		return refuse("nobody's name is on it: say who heard it")
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	known, err := s.store.Hear(ctx, store.Heard{ID: id, Revision: revision, By: by, At: s.clock.Now()}, hands(ctx, "heard", id, "heard/"+id+"/"+strconv.Itoa(revision)+"/"+by)...)
	switch {
	case err != nil:
		return err
	case !known:
		return refuse("there is no such notice: look at the notices again")
	}
	defer s.wake()
	return s.nextPost(ctx)
}

// HeardBy is who first called which revision of a notice heard, by its id, since a time.
func (s *Service) HeardBy(ctx context.Context, since time.Time) (map[string]map[int]string, error) {
	all, err := s.store.HeardSince(ctx, since)
	out := map[string]map[int]string{}
	for _, h := range all {
		if out[h.ID] == nil {
			out[h.ID] = map[int]string{}
		}
		if _, first := out[h.ID][h.Revision]; !first {
			out[h.ID][h.Revision] = h.By
		}
	}
	return out, err
}
