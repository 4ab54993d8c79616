package service

import (
	"context"
	"fmt"

	"fairwindow/planner"
)

// Reload reads the yard file again. A bad file changes nothing: the old one
// stays in force, the reason is logged and shown on every page. The addresses
// of pages, bus and MQTT change only with a new start.
func (s *Service) Reload(ctx context.Context) error {
	if s.opt.Reload == nil {
		return nil
	}
	y, err := s.opt.Reload()
	if err == nil {
		_, err = y.Location()
	}
	if err != nil {
		s.health.reloaded.Set(0)
		s.mu.Lock()
		s.badYard = "The yard file is bad and the last good one is in force: " + err.Error()
		s.mu.Unlock()
		s.log.WithError(err).Error("the yard file is bad; the last good one stays in force")
		return fmt.Errorf("the yard file is bad; the last good one stays in force: %w", err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if was, is := s.facts.yard.Bus, y.WithDefaults().Bus; was != is {
		s.log.Warn("the bus's addresses changed in the yard file: they take effect at the next start")
	}
	f := &s.facts
	f.yard = y.WithDefaults()
	f.zone, _ = y.Location()
	f.work = planner.Replay(f.yard, f.boats, f.presses)
	if s.feeds, err = s.openFeeds(); err != nil {
		return err
	}
	s.badYard = ""
	s.health.reloaded.Set(1)
	s.cycle.ask(s.clock.Now(), "the yard file was read again")
	s.wake()
	s.log.Info("the yard file was read again and is in force")
	return nil
}
