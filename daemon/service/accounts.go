package service

import (
	"context"
	"slices"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// Accounts tell how the sensors of a place stand, by the readings of the last days,
// and what was typed in there by hand.
func (s *Service) Accounts(ctx context.Context, place string) ([]sensors.Account, error) {
	s.mu.Lock()
	now, y := s.clock.Now(), s.facts.yard
	exposed := exposedNow(y, s.facts.exposed, s.facts.work, now)
	s.mu.Unlock()
	var readings []sensors.Reading
	for _, of := range slices.Compact([]string{place, config.Outdoors}) {
		some, err := s.store.Readings(ctx, store.Query{Place: of, From: now.Add(-sensors.Remembered)})
		if err != nil {
			return nil, err
		}
		readings = append(readings, some...)
	}
	slices.SortStableFunc(readings, func(a, b sensors.Reading) int { return a.At.Compare(b.At) })
	y.Sensors = slices.DeleteFunc(slices.Clone(y.Sensors), func(s config.Sensor) bool {
		return s.Place != place && s.Place != config.Outdoors
	})
	return slices.DeleteFunc(sensors.Accounts(y, readings, exposed, now), func(a sensors.Account) bool {
		return a.Place != place
	}), nil
}
