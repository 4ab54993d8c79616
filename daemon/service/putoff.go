package service

import (
	"context"
	"sync"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/daemon/store"
	"fairwindow/planner/waits"
	"fairwindow/sensors"
)

// putOff is what was put off so far, kept beside the store: told plans only ever add to it.
type putOff struct {
	mu      sync.Mutex
	moves   []waits.Move
	last    int64 // number of the newest move
	presses int   // and how many presses and first starts the history was made from
	first   int
	all     []waits.Entry
}

// PutOff is every time that a stage was put off, with the evidence as it was known then.
func (s *Service) PutOff(ctx context.Context) ([]waits.Entry, error) {
	s.putOff.mu.Lock()
	defer s.putOff.mu.Unlock()
	h := &s.putOff
	more, err := s.store.Moves(ctx, h.last)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	first, presses := s.facts.first, s.facts.presses
	s.mu.Unlock()
	if len(more) == 0 && h.presses == len(presses) && h.first == len(first) && h.all != nil {
		return h.all, nil
	}
	h.moves = append(h.moves, more...)
	if n := len(h.moves); n > 0 {
		h.last = h.moves[n-1].ID
	}
	h.presses, h.first = len(presses), len(first)
	h.all = waits.History(waits.Known{Moves: h.moves, First: first, Presses: presses})
	return h.all, nil
}

// LostDays is the statement of the days from one to another, the last left out.
func (s *Service) LostDays(ctx context.Context, from, to time.Time) ([]waits.LostDay, error) {
	all, err := s.PutOff(ctx)
	if err != nil {
		return nil, err
	}
	s.mu.Lock()
	yard, zone := s.facts.yard, s.facts.zone
	s.mu.Unlock()
	log, err := s.store.CrewLog(ctx, from.In(zone).Format(time.DateOnly), to.In(zone).Format(time.DateOnly))
	if err != nil {
		return nil, err
	}
	return waits.LostDays(all, waits.Asked{
		Yard: yard, Zone: zone, From: from, To: to, Now: s.clock.Now(), Log: log,
		Measured: func(boat, place string, from, to time.Time) ([]conditions.Moment, error) {
			return s.measuredThen(ctx, boat, place, from, to)
		},
	})
}

// measuredThen is what was measured of a boat in a place, wherever it stands now, by the
// weather outdoors where the place has no roof. It is read anew each time: an instrument
// that was without a line brings its readings days later.
func (s *Service) measuredThen(ctx context.Context, boat, place string, from, to time.Time) ([]conditions.Moment, error) {
	station, err := s.Past(ctx, config.Outdoors, from, to)
	if err != nil {
		return nil, err
	}
	readings, err := s.store.Readings(ctx, store.Query{Place: place, From: from.Add(-time.Hour), To: to})
	if err != nil {
		return nil, err
	}
	folded, err := s.folded(ctx, place, from.Add(-time.Hour), to)
	if err != nil {
		return nil, err
	}
	readings = inTurn(readings, folded)
	own, err := s.store.Readings(ctx, store.Query{Boat: boat, From: from.Add(-time.Hour), To: to})
	if err != nil {
		return nil, err
	}
	var carried []sensors.Reading
	for _, r := range own {
		if r.Place == "" {
			carried = append(carried, r)
		}
	}
	readings = inTurn(readings, carried)
	var all []conditions.Moment
	first := 0
	for at := from.Truncate(pastStep); !at.After(to); at = at.Add(pastStep) {
		for first < len(readings) && readings[first].At.Before(at.Add(-time.Hour)) {
			first++
		}
		end := first
		for end < len(readings) && !readings[end].At.After(at) {
			end++
		}
		if m := sensors.Merge(readings[first:end], sensors.Spot{Place: place, Boat: boat}, at, time.Hour); m.Sure == conditions.Measured {
			all = append(all, s.exposed(place, m, station))
		}
	}
	return all, nil
}

// KeptPlan is one plan as it was kept; false if there is none of that number.
func (s *Service) KeptPlan(ctx context.Context, id int64) (waits.Kept, bool, error) {
	row, ok, err := s.store.PlanIf(ctx, id)
	if err != nil || !ok {
		return waits.Kept{}, false, err
	}
	return waits.Kept{ID: row.ID, Plan: row.Plan, Problem: row.Problem, Made: row.At, Told: row.ReleasedAt, By: row.ReleasedBy}, true, nil
}
