package conditions

import (
	"sort"
	"time"
)

// Coat is one coat on the several facets of a hull, a clock for each. One clock
// run on the coldest and the warmest facet of each hour is the cautious envelope
// of these: no opening of it comes before the slowest facet's and no closing after
// the fastest's, as long as no facet is hotter than the card's tables. A coat's
// own clocks tell when the slowest facet really opens, and that a facet too hot
// for the tables stands still though the others go on.
type Coat struct {
	Clocks []Clock `json:"clocks"`
}

// Slowest is the clock of the facet farthest from a milestone: an opening is
// reached when it is reached there. The zero clock if there is no facet.
func (k Coat) Slowest(m Milestone) Clock {
	return k.extreme(func(a, b Clock) bool { return a.Progress(m) < b.Progress(m) })
}

// Fastest is the clock of the facet nearest to a milestone: a closing is reached
// when it is reached there. The zero clock if there is no facet.
func (k Coat) Fastest(m Milestone) Clock {
	return k.extreme(func(a, b Clock) bool { return a.Progress(m) > b.Progress(m) })
}

func (k Coat) extreme(beats func(a, b Clock) bool) Clock {
	var best Clock
	for i, clock := range k.Clocks {
		if i == 0 || beats(clock, best) {
			best = clock
		}
	}
	return best
}

// When is when a clock reaches a milestone over spells in the order of time, to
// the second and never before it: k.At if it has. It is not ok if the milestone
// is not reached by the end of the last spell. A Coat opens at the latest and
// closes at the earliest of its facets.
func (c Cure) When(k Clock, m Milestone, ahead []Spell) (at time.Time, ok bool) {
	if c.Reached(k, m) {
		return k.At, true
	}
	for _, s := range ahead {
		next := c.Run(k, s.Until, s.Exposure)
		if !c.Reached(next, m) {
			k = next
			continue
		}
		// Progress never goes back, by bands neither; so halve the spell.
		seconds := sort.Search(int(s.Until.Sub(k.At)/time.Second), func(i int) bool {
			return c.Reached(c.Run(k, k.At.Add(time.Duration(i)*time.Second), s.Exposure), m)
		})
		if at = k.At.Add(time.Duration(seconds) * time.Second); at.After(s.Until) {
			at = s.Until
		}
		return at, true
	}
	return k.At, false
}
