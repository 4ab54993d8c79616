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
}

// team is as many workers as the effort says, for schedules that end by limit; none if it
// is clear that there are none.
func (k *lagged) team(limit Slot, e Effort) lagTeam {
	arcs := k.until(limit)
	if _, lacks := lagChain(k.origin+1, arcs); lacks > 0 {
		return nil
	}
	d := lagDistances(k.origin+1, arcs)
	var team lagTeam
	for w := range max(e.Workers, 1) {
		s, _ := k.solver(d, k.whole())
		if s == nil || s.broken {
			return nil
		}
		if seed := e.Seed + uint64(w); seed > 0 {
			s.picks.shuffle(rand.New(rand.NewPCG(seed, 0)))
		}
		team = append(team, &lagWorker{lagSolver: s})
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

// round lets all work; plain says whether by least start. It returns the best starts found,
// and whether there are none, or none better.
func (t lagTeam) round(plain bool, r *Result) (best []Slot, over bool) {
	var all sync.WaitGroup
	for _, w := range t {
		w.dives.plain = plain
		all.Go(func() { w.verdict, w.schedules = w.lagSolver.round(&w.dives) })
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

// bound is the least end that is known to be none too early; at least low.
func (t lagTeam) bound(low Slot) Slot {
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
