package engine

import (
	"context"
	"testing"
	"time"
)

// publishedLags reports the literature's figures for a set of Franck, Neumann &
// Schwindt (2001): the mean gap to the best makespan known (below nothing if ours is better),
// how many of the instances that have a schedule got one, how many of those that have none
// were recognised, and how many makespans were proved to be the least.
func publishedLags(b *testing.B, set string) {
	b.Run("5s", func(b *testing.B) {
		list := readUBOs(b, set, *sample)
		for b.Loop() {
			var sum lagSum
			for _, u := range list {
				ctx, stop := context.WithTimeout(b.Context(), 5*time.Second)
				sum.add(b, u, laggedOf(u.problem).search(ctx, Effort{Rounds: 1 << 30}))
				stop()
			}
			b.ReportMetric(100*sum.gap/max(sum.found, 1), "pct")
			b.ReportMetric(100*sum.found/max(sum.feasible, 1), "feasible%")
			b.ReportMetric(100*sum.recognised/max(sum.infeasible, 1), "recognised%")
			b.ReportMetric(100*sum.proved/max(sum.found, 1), "proved%")
		}
	})
}

// lagSum is what came of the instances of a set.
type lagSum struct{ feasible, found, proved, gap, infeasible, recognised float64 }

// add counts one more; a false answer ends the benchmark.
func (s *lagSum) add(b *testing.B, u ubo, r Result) {
	if u.infeasible {
		s.infeasible++
		if r.Starts != nil {
			b.Fatalf("%s: a schedule where there is none", u.name)
		}
		if r.Conflict != nil {
			s.recognised++
		}
		return
	}
	s.feasible++
	if r.Conflict != nil || r.Bound > u.best {
		b.Fatalf("%s: %+v, bound %d, where %d is possible", u.name, r.Conflict, r.Bound, u.best)
	}
	if r.Starts == nil {
		return
	}
	if faults := lagFaults(u.problem, r.Starts); faults != "" {
		b.Fatalf("%s: %s", u.name, faults)
	}
	s.found++
	s.gap += float64(r.Objective-u.best) / float64(u.best)
	if r.Bound == r.Objective {
		s.proved++
	}
	if r.Objective != u.best {
		b.Logf("%s: %d, bound %d; known %d…%d", u.name, r.Objective, r.Bound, u.low, u.best)
	}
}

// lagFaults is what is wrong with starts, by the definition alone.
func lagFaults(p *Problem, starts []Start) string {
	if len(starts) != len(p.Tasks) {
		return "not as many starts as tasks"
	}
	for i, s := range starts {
		t := &p.Tasks[i]
		if s.Mode != 0 || s.Start < max(t.Release, 0) || t.Fixed && s.Start != t.Release ||
			s.Finish != s.Start+t.Modes[0].Long || s.Finish > p.Slots {
			return "task " + t.Name
		}
	}
	for _, l := range p.Lags {
		gap := starts[l.After].Start - starts[l.Before].Finish
		if gap < l.Least || l.Bounded && gap > l.Greatest {
			return "lag from " + p.Tasks[l.Before].Name + " to " + p.Tasks[l.After].Name
		}
	}
	for c, crew := range p.Crews {
		taken := map[Slot]int{}
		for i, s := range starts {
			for _, u := range p.Tasks[i].Modes[0].Uses {
				for q := s.Start; u.Crew == c && q < s.Finish; q++ {
					if taken[q] += u.N; taken[q] > crew.Hours[0].N {
						return "crew " + crew.Name
					}
				}
			}
		}
	}
	return ""
}
