package engine

import (
	"context"
	"slices"
)

// bound is an end before which no schedule ends: low, or what can be shown to be too early
// by what follows from the lags and the crews without trying, and by the work there is for
// each crew; high is one that is possible. Halving is allowed, as what is too
// early for a late end is too early for an early one.
func (k *lagged) bound(ctx context.Context, low, high Slot) Slot {
	for low < high && ctx.Err() == nil {
		end := low + (high-low)/2
		if k.tooEarly(end) {
			low = end + 1
		} else {
			high = end
		}
	}
	return low
}

// tooEarly reports whether it can be shown that not all is done by end.
func (k *lagged) tooEarly(end Slot) bool {
	arcs := k.until(end)
	if _, lacks := lagChain(k.origin+1, arcs); lacks > 0 {
		return true
	}
	d := lagDistances(k.origin+1, arcs)
	if s, _ := k.solver(d, k.whole()); s == nil || s.broken {
		return true
	}
	k.order(d, k.whole().tasks)
	for c := range k.room {
		if k.overworked(d, c) {
			return true
		}
	}
	return false
}

// overworked reports whether a crew has more to do between two slots than it can: what of a
// task must fall between them, started as early or as late as it can be (Baptiste, Le Pape
// & Nuijten 1999, "Satisfiability tests and time-bound adjustments for cumulative
// scheduling problems", from memory).
func (k *lagged) overworked(d lagMatrix, crew int) bool {
	var jobs []lagJob
	var from, to []Slot
	for t, uses := range k.uses {
		for _, u := range uses {
			if u.Crew == crew {
				j := lagJob{d[k.origin][t], -d[t][k.origin], k.long[t], Slot(u.N)}
				jobs, from, to = append(jobs, j), append(from, j.first), append(to, j.last+j.long)
			}
		}
	}
	if len(jobs) > lagJobs {
		return false
	}
	slices.Sort(from)
	slices.Sort(to)
	from, to, room := slices.Compact(from), slices.Compact(to), Slot(k.room[crew])
	for _, a := range from {
		for _, b := range to {
			work := Slot(0)
			for _, j := range jobs {
				work += j.n * max(0, min(b-a, j.long, j.first+j.long-a, b-j.last))
			}
			if a < b && work > room*(b-a) {
				return true
			}
		}
	}
	return false
}

// lagJobs is how many tasks of a crew are looked at: the time it takes grows with the cube
// of them (our judgement).
const lagJobs = 300

// lagJob is a task of a crew: its first and last start.
type lagJob struct{ first, last, long, n Slot }
