package service

import (
	"context"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"time"

	"fairwindow/sensors"
	"fairwindow/sensors/forecast"
)

// feed is one source that is looked at now and then.
type feed struct {
	name string
	next time.Time // it is left alone before; zero: at every tick
	poll func(context.Context) error
	when func() time.Time // the next time, after a poll; nil: at every tick
}

// openFeeds makes the sources of the yard file that have to be looked at:
// files that grow, folders of forecasts and addresses. Callers hold the turn.
func (s *Service) openFeeds() ([]feed, error) {
	y, zone := s.facts.yard, s.facts.zone
	var feeds []feed
	var files []string
	for _, sensor := range y.Sensors {
		if sensor.File == "" || slices.Contains(files, sensor.File) {
			continue
		}
		files = append(files, sensor.File)
		one, err := s.openFile(sensor.File)
		if err != nil {
			return nil, err
		}
		feeds = append(feeds, one)
	}
	for _, source := range y.Forecasts {
		switch {
		case source.Folder != "":
			source.Folder = s.within(source.Folder)
			if err := os.MkdirAll(source.Folder, 0o755); err != nil {
				return nil, fmt.Errorf("forecast %s: its folder can't be made: %w", source.Name, err)
			}
			folder := sensors.NewFolder(sensors.FolderOptions{
				Source: source, Zone: zone, Parse: forecast.Parse, Intake: s.takeDocument, Clock: s.clock, Failed: func(file string, err error) { s.badForecast(source.Name, file, err) },
			})
			feeds = append(feeds, feed{name: feedOf(source.Name), poll: folder.Poll})
		case source.URL != "":
			one, err := s.openAddress(source)
			if err != nil {
				return nil, err
			}
			feeds = append(feeds, one)
		}
	}
	return feeds, nil
}

// readFeeds looks at every source whose time has come. One that fails is said
// once and looked at again at its next time.
func (s *Service) readFeeds(ctx context.Context, now time.Time) error {
	s.mu.Lock()
	feeds := s.sources.feeds
	s.mu.Unlock()
	for i := range feeds {
		f := &feeds[i]
		s.mu.Lock()
		early := now.Before(f.next) // a clock that was set back lets it go at once
		s.mu.Unlock()
		if early {
			continue
		}
		err := f.poll(ctx)
		if f.when != nil {
			s.mu.Lock()
			f.next = f.when()
			s.mu.Unlock()
		}
		s.state(f.name, err)
		if ctx.Err() != nil {
			return ctx.Err()
		}
	}
	s.followLeader(now)
	return nil
}

// state notes whether a source can be read; what is wrong with it is said once.
func (s *Service) state(name string, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err == nil {
		if _, was := s.sources.broken[name]; was {
			s.log.WithField("source", name).Info("a source can be read again")
		}
		delete(s.sources.broken, name)
		return
	}
	what := strings.TrimPrefix(err.Error(), name+": ")
	if s.sources.broken[name] != what {
		s.sources.broken[name] = what
		s.log.WithField("source", name).WithError(err).Warn("a source can't be read; it is tried again")
	}
}

func (s *Service) takeDocument(ctx context.Context, d sensors.Document, f sensors.Forecast) error {
	if err := s.TakeForecast(ctx, f, d.Body); err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	maps.DeleteFunc(s.sources.broken, func(name, _ string) bool { return strings.HasPrefix(name, badFile(d.Source, "")) })
	return nil
}

// badForecast notes a file that is no forecast; the pages say so until the
// source's next good one comes.
func (s *Service) badForecast(source, file string, err error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sources.broken[badFile(source, file)] = err.Error()
	s.log.WithField("file", file).WithError(err).Warn("a file in the forecasts' folder is no forecast")
}

// badFile names a forecast's file among what is broken.
func badFile(source, file string) string { return "file of forecast " + source + ": " + file }
