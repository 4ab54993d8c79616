package engine

import (
	"context"
	"flag"
	"testing"
	"time"
)

var budget = flag.Duration("budget", 5*time.Second, "for each instance with lags")

// BenchmarkPublishedLags reports the literature's figures for the sets of Franck, Neumann &
// Schwindt (2001): the mean gap to the best makespan known, how many of the instances that
// have a schedule got one, and how many of those that have none were recognised.
func BenchmarkPublishedLags(b *testing.B) {
	for _, set := range []string{"ubo10", "ubo20", "ubo50", "ubo100"} {
		b.Run(set+"/5s", func(b *testing.B) {
			list := readUBOs(b, set, *sample)
			for b.Loop() {
				gap, found, feasible, recognised, infeasible, optimal, lacking := 0.0, 0, 0, 0, 0, 0, 0
				for _, u := range list {
					ctx, stop := context.WithTimeout(b.Context(), *budget)
					began := time.Now()
					r := laggedOf(u.problem).search(ctx, Effort{Rounds: 1 << 30})
					took := time.Since(began)
					stop()
					switch {
					case u.infeasible:
						infeasible++
						if r.Starts != nil {
							b.Fatalf("%s: a schedule where there is none", u.name)
						}
						if r.Conflict != nil {
							recognised++
							b.Logf("%s: %+v %v", u.name, *r.Conflict, took)
						} else {
							b.Logf("%s: not recognised %v", u.name, took)
						}
					case r.Conflict != nil:
						b.Fatalf("%s: %+v where there is a schedule", u.name, *r.Conflict)
					case r.Starts == nil:
						feasible++
						b.Logf("%s: no schedule %v", u.name, took)
					default:
						feasible++
						found++
						if faults := lagFaults(u.problem, r.Starts); faults != "" {
							b.Fatalf("%s: %s", u.name, faults)
						}
						if r.Bound > u.best {
							b.Fatalf("%s: bound %d over %d", u.name, r.Bound, u.best)
						}
						if r.Bound == r.Objective {
							optimal++
						}
						gap += float64(r.Objective-u.best) / float64(u.best)
						if r.Objective != u.best {
							lacking++
							b.Logf("%s: %d, bound %d; known %d…%d; %d schedules %v", u.name, r.Objective, r.Bound, u.low, u.best, r.Schedules, took)
						}
					}
				}
				b.ReportMetric(100*gap/float64(max(found, 1)), "pct")
				b.ReportMetric(100*float64(found)/float64(max(feasible, 1)), "feasible%")
				b.ReportMetric(100*float64(recognised)/float64(max(infeasible, 1)), "recognised%")
				b.ReportMetric(100*float64(optimal)/float64(max(found, 1)), "optimal%")
			}
		})
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
