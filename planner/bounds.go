package planner

import (
	"fmt"
	"time"
)

// What a plan may be of at most: a boat takes memory and time for every slot of the
// horizon. Our judgement of far more than a yard has; BenchmarkLargest measures both ends.
const (
	mostHorizon  = 400 * 24 * time.Hour
	mostBoats    = 1000
	mostBoatDays = 42_000 // a thousand boats for six weeks, a hundred for more than a year
)

// bounded refuses a problem that is too large to be planned in bounded time and
// memory, and says what would be small enough. Boats that are launched do not count.
func bounded(p Problem, work Work) error {
	if p.Horizon > mostHorizon {
		return fmt.Errorf("a horizon of %v is longer than 400 days", p.Horizon)
	}
	boats := 0
	for i := range work.boats {
		if work.boats[i].Launched.IsZero() {
			boats++
		}
	}
	days := p.Horizon.Hours() / 24
	if boats > mostBoats {
		return fmt.Errorf("%d boats are more than the %d that a plan can hold: take out those that are launched or not yet due", boats, mostBoats)
	}
	if float64(boats)*days > mostBoatDays {
		return fmt.Errorf("%d boats over %.0f days are more than a plan can hold: plan at most %.0f days ahead, or at most %.0f boats", boats, days, mostBoatDays/float64(boats), mostBoatDays/days)
	}
	return nil
}
