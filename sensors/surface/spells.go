package surface

import (
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// piece is the longest spell: the clock samples the hottest hour every five minutes.
const piece = 5 * time.Minute

// Gap is the time between two readings beyond which what lies between was not
// measured: three times the usual, as of a sensor that has gone silent, but at
// least half an hour and at most the age at which the yard calls a reading stale.
func (t Table) Gap(stale time.Duration) time.Duration {
	var apart []time.Duration
	for i := 1; i < len(t.Rows); i++ {
		apart = append(apart, t.Rows[i].Sub(t.Rows[i-1]))
	}
	if len(apart) == 0 {
		return stale
	}
	slices.Sort(apart)
	return min(max(3*apart[len(apart)/2], 30*time.Minute), stale)
}

// Spells are what each facet stood in from a time until another, in the order of
// the table's facets: straight lines between readings, in pieces of up to five
// minutes, the colder end of each for what opens and the warmer for what closes.
// Where two readings are more than gap apart nothing is known between them, nor
// more than gap before the first and after the last.
func (t Table) Spells(from, until time.Time, gap time.Duration) [][]conditions.Spell {
	all := make([][]conditions.Spell, len(t.Facets))
	for at := from; at.Before(until); {
		next := at.Truncate(piece).Add(piece)
		if next.After(until) {
			next = until
		}
		rh := valueAt(t.Humidity, at.Add(next.Sub(at)/2), gap)
		for i, f := range t.Facets {
			a, b := valueAt(f.Readings, at, gap), valueAt(f.Readings, next, gap)
			all[i] = append(all[i], conditions.Spell{Until: next, Exposure: conditions.Exposure{
				Coldest: min(a, b), Warmest: max(a, b), Humidity: rh,
			}})
		}
		at = next
	}
	return all
}

// valueAt is straight between two readings no more than gap apart, and that of the
// first or the last for as long before or after it; else NaN.
func valueAt[T ~float64](of []Reading[T], at time.Time, gap time.Duration) T {
	i, exact := slices.BinarySearchFunc(of, at, func(r Reading[T], at time.Time) int { return r.At.Compare(at) })
	switch {
	case exact:
		return of[i].Value
	case len(of) == 0:
		return unit.NaN[T]()
	case i == 0 && of[0].At.Sub(at) <= gap:
		return of[0].Value
	case i == len(of) && at.Sub(of[i-1].At) <= gap:
		return of[i-1].Value
	case i == 0 || i == len(of) || of[i].At.Sub(of[i-1].At) > gap:
		return unit.NaN[T]()
	}
	a, b := of[i-1], of[i]
	return a.Value + T(float64(at.Sub(a.At))/float64(b.At.Sub(a.At)))*(b.Value-a.Value)
}
