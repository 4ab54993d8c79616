package engine

import (
	"context"
	"flag"
	"fmt"
	"path/filepath"
	"strconv"
	"testing"
	"time"
)

// publishedSets are the sets of instances with a name and how each is run.
var publishedSets = []struct {
	name string
	run  func(b *testing.B)
}{
	{"j30", func(b *testing.B) { publishedBudgets(b, "j30") }},
	{"j60", func(b *testing.B) { publishedBudgets(b, "j60") }},
	{"j120", func(b *testing.B) {
		publishedBudgets(b, "j120")
		b.Run("5s", func(b *testing.B) {
			published(b, "j120", Effort{Rounds: 1 << 30, Seed: 1}, 5*time.Second)
		})
	}},
	{"ubo10", func(b *testing.B) { publishedLags(b, "ubo10") }},
	{"ubo20", func(b *testing.B) { publishedLags(b, "ubo20") }},
	{"ubo50", func(b *testing.B) { publishedLags(b, "ubo50") }},
	{"ubo100", func(b *testing.B) { publishedLags(b, "ubo100") }},
}

// BenchmarkPublished gives what the literature gives: the mean over a set of how much
// longer than a reference the schedules are that a budget of schedules finds.
func BenchmarkPublished(b *testing.B) {
	for _, set := range publishedSets {
		b.Run(set.name, set.run)
	}
}

func publishedBudgets(b *testing.B, set string) {
	for _, budget := range []int{1000, 5000, 50000} {
		b.Run(strconv.Itoa(budget), func(b *testing.B) {
			published(b, set, Effort{Schedules: budget, Seed: 1}, 0)
		})
	}
}

// published searches every sample-th instance of a set and checks each schedule and
// bound against what is published. The reference is the optimum for j30, which is known
// for all of it, and the longest chain for the others.
func published(b *testing.B, set string, e Effort, long time.Duration) {
	dir := filepath.Join(benchDir(b), "psplib", set)
	names, by := psplibKnown(b, set)
	for b.Loop() {
		pct, schedules, count, met := 0.0, 0, 0, 0
		began := time.Now()
		for i := 0; i < len(names); i += *sample {
			p, err := readPSPLIB(filepath.Join(dir, names[i]+".sm"))
			if err != nil {
				b.Fatal(err)
			}
			k := plainOf(p)
			if k == nil {
				b.Fatal(names[i], ": not plain")
			}
			ctx, stop := b.Context(), context.CancelFunc(func() {})
			if long > 0 {
				ctx, stop = context.WithTimeout(ctx, long)
			}
			r := k.search(ctx, e)
			stop()
			span, err := plainSpan(p, r.Starts)
			is := by[names[i]]
			switch {
			case err != nil:
				b.Fatalf("%s: %v", names[i], err)
			case int64(span) != r.Objective:
				b.Fatalf("%s: %d slots, called %d", names[i], span, r.Objective)
			case span < is.least || r.Bound > int64(is.best):
				b.Fatalf("%s: %d slots, bound %d; published %d to %d", names[i], span, r.Bound, is.least, is.best)
			case e.Schedules > 0 && r.Schedules > e.Schedules:
				b.Fatalf("%s: %d schedules of %d", names[i], r.Schedules, e.Schedules)
			}
			reference := is.chain
			if set == "j30" {
				reference = is.best
			}
			pct += 100 * float64(span-reference) / float64(reference)
			schedules += r.Schedules
			count++
			if span <= is.best {
				met++
			}
		}
		b.ReportMetric(pct/float64(count), "pct")
		b.ReportMetric(100*float64(met)/float64(count), "met%")
		b.ReportMetric(float64(schedules)/time.Since(began).Seconds(), "schedules/s")
	}
}

// BenchmarkSchedules counts schedules a second, search included, on some of the largest
// published problems. What it allocates is for the walks and results, not for the steps.
func BenchmarkSchedules(b *testing.B) {
	dir := filepath.Join(benchDir(b), "psplib", "j120")
	names, _ := psplibKnown(b, "j120")
	var ks []*plain
	for i := 0; i < len(names); i += 20 {
		p, err := readPSPLIB(filepath.Join(dir, names[i]+".sm"))
		if err != nil {
			b.Fatal(err)
		}
		ks = append(ks, plainOf(p))
	}
	b.ReportAllocs()
	b.ResetTimer()
	schedules := 0
	for b.Loop() {
		for _, k := range ks {
			schedules += k.search(b.Context(), Effort{Schedules: 5000, Seed: 1}).Schedules
		}
	}
	b.ReportMetric(float64(schedules)/b.Elapsed().Seconds(), "schedules/s")
}

// plainSpan is when all is done, or what is wrong with the starts: a check that shares
// nothing with the search.
func plainSpan(p *Problem, starts []Start) (Slot, error) {
	if len(starts) != len(p.Tasks) {
		return 0, fmt.Errorf("%d starts for %d tasks", len(starts), len(p.Tasks))
	}
	span := Slot(0)
	for i, s := range starts {
		if s.Mode != 0 || s.Start < 0 || s.Finish != s.Start+p.Tasks[i].Modes[0].Long || s.Finish > p.Slots {
			return 0, fmt.Errorf("task %d: %+v", i, s)
		}
		span = max(span, s.Finish)
	}
	for _, l := range p.Lags {
		if starts[l.After].Start < starts[l.Before].Finish+l.Least {
			return 0, fmt.Errorf("task %d starts before %d is finished", l.After, l.Before)
		}
	}
	for t := range span {
		taken := make([]int, len(p.Crews))
		for i, s := range starts {
			if t < s.Start || t >= s.Finish {
				continue
			}
			for _, u := range p.Tasks[i].Modes[0].Uses {
				if taken[u.Crew] += u.N; taken[u.Crew] > p.Crews[u.Crew].Hours[0].N {
					return 0, fmt.Errorf("slot %d: too few of crew %d", t, u.Crew)
				}
			}
		}
	}
	return span, nil
}

var sample = flag.Int("sample", 1, "take every so manieth published instance only")
