package service

import (
	"context"
	"time"

	"fairwindow/sensors"
)

// Heard is what was heard of a place in a span of the last day, and of the boats that
// stand there, oldest first: as much as is held at hand, of sources that speak often no
// more than one reading in some minutes.
func (s *Service) Heard(_ context.Context, place string, from, to time.Time) ([]sensors.Reading, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f := &s.facts
	all := f.readings[place]
	for _, b := range f.here() {
		is := f.work.Place(b.Name)
		var own []sensors.Reading
		for _, r := range f.readings["boat "+b.Name] {
			if r.Place == place || r.Place == "" && is.Place == place && !r.At.Before(is.Since) {
				own = append(own, r)
			}
		}
		all = inTurn(own, all)
	}
	var out []sensors.Reading
	for _, r := range all {
		if !r.At.Before(from) && r.At.Before(to) {
			out = append(out, r)
		}
	}
	return out, nil
}
