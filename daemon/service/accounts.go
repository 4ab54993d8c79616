package service

import (
	"context"
	"slices"
	"sync"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/sensors"
)

// accountsFor is how long what stands of a place's sensors is taken to go on: drift and
// vapour are a matter of hours, and days of readings are not looked through for each page.
const accountsFor = 10 * time.Minute

// accounts are those last made, by place.
type accounts struct {
	mu  sync.Mutex
	by  map[string]accountsOf
	nth int // of what was told by hand, or of the yard file
}

type accountsOf struct {
	made time.Time
	nth  int
	all  []sensors.Account
}

// lately gives what still counts, and which word by hand was the last.
func (a *accounts) lately(place string, now time.Time) ([]sensors.Account, int, bool) {
	a.mu.Lock()
	defer a.mu.Unlock()
	of, ok := a.by[place]
	age := now.Sub(of.made)
	return of.all, a.nth, ok && of.nth == a.nth && age >= 0 && age < accountsFor
}

func (a *accounts) keep(place string, of accountsOf) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.by == nil {
		a.by = map[string]accountsOf{}
	}
	a.by[place] = of
}

// renew has them made anew.
func (a *accounts) renew() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.nth++
}

// Accounts tell how the sensors of a place stand, by the readings of the last days,
// and what was typed in there by hand. They are made anew after what somebody measured,
// else every accountsFor.
func (s *Service) Accounts(ctx context.Context, place string) ([]sensors.Account, error) {
	all, nth, ok := s.accounts.lately(place, s.clock.Now())
	if ok {
		return all, nil
	}
	all, made, err := s.makeAccounts(ctx, place)
	if err == nil {
		s.accounts.keep(place, accountsOf{made, nth, all})
	}
	return all, err
}

func (s *Service) makeAccounts(ctx context.Context, place string) ([]sensors.Account, time.Time, error) {
	s.mu.Lock()
	now, y := s.clock.Now(), s.facts.yard
	exposed := exposedNow(y, s.facts.exposed, s.facts.work, now)
	s.mu.Unlock()
	var readings []sensors.Reading
	for _, of := range slices.Compact([]string{place, config.Outdoors}) {
		some, err := s.store.Readings(ctx, store.Query{Place: of, From: now.Add(-sensors.Remembered)})
		if err != nil {
			return nil, now, err
		}
		readings = append(readings, some...)
	}
	slices.SortStableFunc(readings, func(a, b sensors.Reading) int { return a.At.Compare(b.At) })
	y.Sensors = slices.DeleteFunc(slices.Clone(y.Sensors), func(s config.Sensor) bool {
		return s.Place != place && s.Place != config.Outdoors
	})
	return slices.DeleteFunc(sensors.Accounts(y, readings, exposed, now), func(a sensors.Account) bool {
		return a.Place != place
	}), now, nil
}
