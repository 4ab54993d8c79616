package sensors

import (
	"time"

	"fairwindow/conditions"
)

const (
	// wetted is how long a humidity sensor may be at its upper end before it is
	// thought wet itself: a wetted one says 100 % for hours (a maker's note, from memory).
	wetted = 2 * time.Hour
	// full is what counts as its upper end, %. Common practice, no source.
	full = 99.5
)

// saturated finds a humidity that has been at the upper end for hours, whether or
// not its last digit moves. It needs three values before this one.
func (c *checker) saturated() {
	x, ok := c.r.Values[conditions.RelHumidity]
	if !ok || x < full || x > bounds[conditions.RelHumidity][1] {
		return
	}
	var dry time.Time // when it last said less
	for _, p := range c.before {
		if y, has := p.Values[conditions.RelHumidity]; has && y < full && p.At.Before(c.r.At) && p.At.After(dry) {
			dry = p.At
		}
	}
	since, count := c.r.At, 0
	for _, p := range c.before {
		if _, has := p.Values[conditions.RelHumidity]; has && p.At.Before(c.r.At) && p.At.After(dry) {
			count++
			if p.At.Before(since) {
				since = p.At
			}
		}
	}
	if held := c.r.At.Sub(since); count >= 3 && held >= wetted {
		c.mark(conditions.RelHumidity, Saturated, "at %.0f %% for %s: is it wet?", x, whole(held))
	}
}

// behind finds a device's clock that lags: a delay that stays the same is no queue.
// It needs three readings before this one. Common practice, no source.
func (c *checker) behind() {
	lag := c.r.Received.Sub(c.r.At)
	if !c.r.FromDevice || lag <= ClockSlack {
		return
	}
	steady := 0
	for _, p := range c.before {
		if !p.FromDevice || c.r.Received.Sub(p.Received) > time.Hour || p.Key == c.r.Key {
			continue
		}
		if (p.Received.Sub(p.At) - lag).Abs() > time.Minute {
			return // it caught up, or fell back: it is a queue
		}
		steady++
	}
	if steady >= 3 {
		c.mark("", Behind, "its times have been %s behind for the last %d readings; is its zone right?", whole(lag), steady+1)
	}
}
