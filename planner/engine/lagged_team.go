package engine

import (
	"math/rand/v2"
	"sync"
)

// lagTeam is solvers of the whole problem that differ in what they ask first, so that each
// learns from contradictions of its own.
type lagTeam []*lagWorker

type lagWorker struct {
	*lagSolver
	dives     lagDives
	verdict   lagVerdict
	schedules int
	window    lagWindow
}

// team is as many workers as the effort says, for schedules that end from low to limit;
// none if it is clear that there are none.
func (k *lagged) team(low, limit Slot, e Effort) lagTeam {
	if low > limit {
		return nil
	}
	arcs := k.until(limit)
	if _, lacks := lagChain(k.origin+1, arcs); lacks > 0 {
		return nil
	}
	d := lagDistances(k.origin+1, arcs)
	var team lagTeam
	for w := range max(e.Workers, 1) {
		s, _ := k.solver(d, k.whole())
		if s == nil || !s.know(lagClaim{int32(2 * s.end), int32(low)}) {
			return nil
		}
		r := rand.New(rand.NewPCG(e.Seed, uint64(w)))
		if w > 0 {
			s.picks.shuffle(r)
		}
		team = append(team, &lagWorker{lagSolver: s, window: lagWindow{random: r, tasks: lagWindowFirst}})
	}
	return team
}

// shuffle asks a tenth of the questions first, whatever comes.
func (p *lagPicks) shuffle(r *rand.Rand) {
	for q := range p.score {
		if r.IntN(10) == 0 {
			p.score[q] = r.Float64()
			p.push(int32(q))
		}
	}
}

// lagHow is what a round tries first.
type lagHow uint8

const (
	lagByClash  lagHow = iota // what had to do with the latest contradictions
	lagByStart                // the least start
	lagByWindow               // a part of the best schedule
)

// round lets all work. It returns the best starts found, and whether there are none, or
// none better.
func (t lagTeam) round(how lagHow, r *Result) (best []Slot, over bool) {
	var all sync.WaitGroup
	for _, w := range t {
		w.dives.plain = how == lagByStart
		all.Go(func() {
			if how == lagByWindow {
				w.verdict, w.schedules = w.window.round(w.lagSolver)
			} else {
				w.verdict, w.schedules = w.lagSolver.round(&w.dives)
			}
		})
	}
	all.Wait()
	r.Rounds++
	least := int32(0)
	for _, w := range t {
		r.Schedules += w.schedules
		over = over || w.verdict == lagNever
		if end := w.lagSolver.bound[2*w.end]; w.verdict == lagFound && (best == nil || end < least) {
			best, least = w.starts(), end
		}
	}
	return best, over
}

// starts is what has been found.
func (s *lagSolver) starts() []Slot {
	starts := make([]Slot, s.tasks)
	for i := range starts {
		starts[i] = Slot(s.bound[2*i])
	}
	return starts
}

// beat lets all look for what ends before a schedule does, like it where they can. It
// reports false if there is no such thing.
func (t lagTeam) beat(best []Slot, end Slot) bool {
	for _, w := range t {
		w.imitate(best)
		if !w.know(lagClaim{int32(2*w.end + 1), 1 - int32(end)}) {
			return false
		}
	}
	return true
}

// bound is the least end that is not known to be too early.
func (t lagTeam) bound() Slot {
	low := Slot(0)
	for _, w := range t {
		low = max(low, Slot(w.lagSolver.bound[2*w.end]))
	}
	return low
}

// imitate makes the solver try what a schedule has first.
func (s *lagSolver) imitate(best []Slot) {
	for v, start := range best {
		s.picks.like[v] = int32(start)
	}
	for _, e := range s.edges {
		if !e.always && e.from&1 == 0 && e.when.side&1 == 0 {
			s.picks.like[e.when.side/2] = 0
			if best[e.from/2]+Slot(e.least) <= best[e.to/2] {
				s.picks.like[e.when.side/2] = 1
			}
		}
	}
}
