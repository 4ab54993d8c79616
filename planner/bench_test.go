package planner

import (
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// BenchmarkPlan is a first plan of generated yards (seed 1), of the rules of priority
// and one neighbour, and the plan as it is made without being told how long to search:
// each from the problem as it is kept to the checked plan. The objective is that of the
// second, first that of the first.
func BenchmarkPlan(b *testing.B) {
	for _, boats := range []int{5, 10, 20, 40, 100} {
		b.Run(fmt.Sprint(boats), func(b *testing.B) {
			p := generated(b, boats, 1)
			var first, plan Plan
			var toFirst time.Duration
			debug.FreeOSMemory()
			for b.Loop() {
				quick := p
				quick.Rounds = 1
				begun := time.Now()
				first = made(b, quick)
				toFirst += time.Since(begun)
				plan = made(b, p)
			}
			b.ReportMetric(milliseconds(toFirst, b.N), "ms/first")
			b.ReportMetric(milliseconds(b.Elapsed()-toFirst, b.N), "ms/improved")
			b.ReportMetric(float64(costOf(first)), "first")
			b.ReportMetric(peakMB(), "peak-MB")
			b.ReportMetric(float64(len(plan.Stages)), "stages")
			unplaced := 0
			for _, s := range plan.Stages {
				if s.State == Unplaced {
					unplaced++
				}
			}
			b.ReportMetric(float64(unplaced), "unplaced")
			b.ReportMetric(float64(costOf(plan)), "objective")
			b.ReportMetric(0, "ns/op") // ms/first says it
		})
	}
}

func made(b *testing.B, p Problem) Plan {
	plan, err := Solve(p)
	if err != nil {
		b.Fatal(err)
	}
	return plan
}

func milliseconds(d time.Duration, n int) float64 {
	return float64(d.Microseconds()) / 1000 / float64(n)
}

// peakMB is the heap that the runtime has taken and not yet given back: its peak, but
// for what was given back meanwhile.
func peakMB() float64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapSys-m.HeapReleased) / (1 << 20)
}

func costOf(plan Plan) int64 {
	var sum int64
	for _, t := range plan.Cost {
		sum += t.Amount
	}
	return sum
}

// event is one thing that happens after a plan was told.
type event struct {
	name    string
	happens func(p *Problem, told Plan) bool // false if there is nothing for it to happen to
}

// events of the days after: each changes the problem and nothing that it shares.
func events() []event {
	return []event{
		{"a boat two days late", func(p *Problem, _ Plan) bool {
			p.Boats = slices.Clone(p.Boats)
			first, soonest := -1, time.Time{}
			for i, b := range p.Boats {
				at, err := p.Yard.Time(b.Arrives)
				if err == nil && at.After(p.At) && (first < 0 || at.Before(soonest)) {
					first, soonest = i, at
				}
			}
			if first < 0 {
				return false
			}
			p.Boats[first].Arrives = wall(p, soonest.Add(48*time.Hour))
			return true
		}},
		{"a booth broken for two days", func(p *Problem, told Plan) bool {
			for _, s := range told.Stages {
				if place, _ := p.Yard.Place(s.Place); s.Kind == config.Coat && place.Booth != nil && s.State != Running && s.State != Unplaced {
					shut := config.Closure{Place: s.Place, From: wall(p, s.Start), To: wall(p, s.Start.Add(48*time.Hour)), Why: "the heater is broken"}
					p.Yard.Closures = append(slices.Clone(p.Yard.Closures), shut)
					return true
				}
			}
			return false
		}},
		{"a worse forecast", func(p *Problem, _ Plan) bool {
			p.Outdoors = slices.Clone(p.Outdoors)
			for i := range p.Outdoors {
				w := &p.Outdoors[i]
				if lead := w.At.Sub(p.At); lead > 6*time.Hour && lead < 4*24*time.Hour {
					w.Air -= 2
					w.DewPoint = min(w.Air, w.DewPoint+1)
					w.RainChance = max(w.RainChance, unit.Share(0.5))
				}
			}
			return true
		}},
		{"a painter away", func(p *Problem, _ Plan) bool {
			p.Yard.Crews = slices.Clone(p.Yard.Crews)
			i := slices.IndexFunc(p.Yard.Crews, func(c config.Crew) bool { return slices.Contains(c.Skills, "paint") })
			p.Yard.Crews[i].People--
			return true
		}},
	}
}

// wall is a time as people write it in the yard's zone.
func wall(p *Problem, t time.Time) string {
	zone, err := p.Yard.Location()
	if err != nil {
		return ""
	}
	return t.In(zone).Format("2006-01-02 15:04")
}

// tell is the problem after people were given a plan.
func tell(p Problem, plan Plan) Problem {
	p.Told = nil
	for _, s := range plan.Stages {
		if s.State != Unplaced && s.State != Running {
			p.Told = append(p.Told, Told{Key: s.Key, Start: s.Start, Place: s.Place, Brought: s.Brought})
		}
	}
	p.First, p.Turns = p.Told, plan.Turns
	return p
}

// hit are the stages that an event takes their told start from: those that break a
// rule under it and broke none before, all of a boat that does so itself, what comes
// later on their boats, and what shares crew or place with them at that time.
func hit(before, after Problem, told Plan) map[Key]bool {
	type broken struct {
		key  Key
		rule string
	}
	was := map[broken]bool{}
	for _, f := range faults(before, told) {
		was[broken{f.key, f.rule}] = true
	}
	direct := map[Key]bool{}
	for _, f := range faults(after, told) {
		if !was[broken{f.key, f.rule}] {
			direct[f.key] = true
		}
	}
	struck := func(s Planned) bool { return direct[s.Key] || direct[Key{Boat: s.Key.Boat}] }
	all := map[Key]bool{}
	for _, s := range told.Stages {
		all[s.Key] = struck(s) || slices.ContainsFunc(told.Stages, func(o Planned) bool {
			if o.State == Unplaced || !struck(o) {
				return false
			}
			if o.Key.Boat == s.Key.Boat {
				return !o.Start.After(s.Start)
			}
			shares := o.Place == s.Place || o.Crew != "" && o.Crew == s.Crew
			return shares && meet(Span{o.Start, o.End}, Span{s.Start, s.End})
		})
	}
	return all
}

// strayed counts the told stages of the next five days, and those of them that start
// more than a quarter of an hour off or elsewhere, though the event left them their start.
func strayed(before, after Problem, told, now Plan) (of, away int) {
	starts, forced := map[Key]Planned{}, hit(before, after, told)
	for _, s := range now.Stages {
		starts[s.Key] = s
	}
	for _, s := range told.Stages {
		if s.State == Running || s.State == Unplaced || s.Start.After(told.At.Add(5*24*time.Hour)) {
			continue
		}
		of++
		is := starts[s.Key]
		off := is.State == Unplaced || is.Start.Sub(s.Start).Abs() > 15*time.Minute || is.Place != s.Place
		if off && !forced[s.Key] {
			away++
		}
	}
	return of, away
}

// BenchmarkReplan is the plan after one event, people having been told the one before:
// ms/replan and pct-moved over four events of one yard (seed 1), and of each by its name.
func BenchmarkReplan(b *testing.B) {
	b.Run("40", func(b *testing.B) {
		p := generated(b, 40, 1)
		plan, err := Solve(p)
		if err != nil {
			b.Fatal(err)
		}
		before := tell(p, plan)
		var after []Problem
		for _, e := range events() {
			q := before
			if !e.happens(&q, plan) {
				b.Fatalf("nothing for %s to happen to", e.name)
			}
			after = append(after, q)
		}
		plans := make([]Plan, len(after))
		debug.FreeOSMemory()
		for b.Loop() {
			for i, q := range after {
				if plans[i], err = Solve(q); err != nil {
					b.Fatal(err)
				}
			}
		}
		b.ReportMetric(milliseconds(b.Elapsed(), b.N*len(after)), "ms/replan")
		b.ReportMetric(peakMB(), "peak-MB")
		of, away := 0, 0
		for i, q := range after {
			n, off := strayed(before, q, plan, plans[i])
			of, away = of+n, away+off
			b.Logf("%s: %d of %d stages of the next five days moved that need not, cost %d", events()[i].name, off, n, costOf(plans[i]))
		}
		b.ReportMetric(100*float64(away)/float64(of), "pct-moved")
		b.ReportMetric(0, "ns/op")
	})
}
