package service

import (
	"context"
	"slices"
	"sync"
)

// line is a source that stays connected, or asks more often than time is looked at.
type line struct {
	name string
	run  func(context.Context) error // until the context ends
}

// openLines makes the sources of the yard file that stay connected. Callers hold the turn.
func (s *Service) openLines() ([]line, error) {
	brokers, err := s.openBrokers()
	if err != nil {
		return nil, err
	}
	subjects, err := s.openSubjects()
	if err != nil {
		return nil, err
	}
	gateways, err := s.openModbus()
	return slices.Concat(brokers, subjects, gateways), err
}

// reline has other lines run from now on. Callers hold the turn.
func (s *Service) reline(lines []line) {
	s.sources.lines = lines
	close(s.sources.relined)
	s.sources.relined = make(chan struct{})
}

// runLines runs the lines of the yard file in force until ctx ends. A new yard
// file ends them all and begins its own.
func (s *Service) runLines(ctx context.Context) error {
	for ctx.Err() == nil {
		s.mu.Lock()
		lines, others := s.sources.lines, s.sources.relined
		s.mu.Unlock()
		s.runThese(ctx, lines, others)
	}
	return nil
}

func (s *Service) runThese(ctx context.Context, lines []line, others <-chan struct{}) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var running sync.WaitGroup
	for _, l := range lines {
		running.Add(1)
		go func() {
			defer running.Done()
			err := l.run(ctx)
			if ctx.Err() != nil {
				err = nil // it is no longer asked for, and so nothing is wrong with it
			}
			s.state(l.name, err)
		}()
	}
	select {
	case <-ctx.Done():
	case <-others:
	}
	stop()
	running.Wait()
}
