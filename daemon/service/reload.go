package service

import (
	"context"
	"fmt"

	"fairwindow/conditions"
	"fairwindow/config"
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
	s.mu.Lock()
	defer s.mu.Unlock()
	if err != nil {
		return s.keepYard(err)
	}
	if was, is := s.facts.yard.Bus, y.WithDefaults().Bus; was != is {
		s.log.Warn("the bus's addresses changed in the yard file: they take effect at the next start")
	}
	f := &s.facts
	if was, is := f.yard.Listen, y.WithDefaults().Listen; was != is {
		s.log.Warn("the pages' address changed in the yard file: it takes effect at the next start")
	}
	was, parts, zone := f.yard, f.written, f.zone
	f.written.file = y.WithDefaults()
	f.putTogether()
	f.zone, _ = y.Location()
	feeds, err := s.openFeeds()
	var lines []line
	if err == nil {
		lines, err = s.openLines()
	}
	if err == nil {
		err = f.fitsBoats()
	}
	var records conditions.Season
	if err == nil {
		records, err = s.season(f.yard)
	}
	if err != nil {
		f.yard, f.written, f.zone = was, parts, zone
		return s.keepYard(err)
	}
	s.sources.feeds, f.records = feeds, records
	s.accounts.renew()
	s.reline(lines)
	f.work = planner.Replay(f.yard, f.boats, f.presses)
	s.trouble.badYard = ""
	s.health.reloaded.Set(1)
	s.cycle.ask(s.clock.Now(), "the yard file was read again")
	s.wake()
	if s.reloaded != nil {
		if err := s.reloaded(ctx, f.yard); err != nil {
			s.log.WithError(err).Warn("sessions of who left the yard file end when they are next used")
		}
	}
	s.log.Info("the yard file was read again and is in force")
	return nil
}

// fitsBoats refuses a yard in which a boat that is here could not be planned:
// its system went out of the file, or its place.
func (f *facts) fitsBoats() error {
	for _, fault := range config.CheckBoats(f.yard, f.here()) {
		if !fault.Warning {
			return fmt.Errorf("it does not fit the boats that are here: %s: %s; %s", fault.Path, f.whyAside(fault.What), fault.Right)
		}
	}
	return nil
}

// keepYard says why the new file is not in force. Callers hold the turn.
func (s *Service) keepYard(err error) error {
	s.health.reloaded.Set(0)
	s.trouble.badYard = "The yard file is bad and the last good one is in force: " + err.Error()
	s.log.WithError(err).Error("the yard file is bad; the last good one stays in force")
	return fmt.Errorf("the yard file is bad; the last good one stays in force: %w", err)
}
