package engine

import (
	"cmp"
	"math/rand/v2"
	"slices"
)

// lagWindow looks for a better schedule in which only the tasks that begin in some window
// may change places: the pairs of all others keep their order (after Godard, Laborie &
// Nuijten 2005, "Randomized large neighborhood search for cumulative scheduling", from
// memory). It is as wide as can be searched through.
type lagWindow struct {
	random *rand.Rand
	tasks  int // that begin in it
	order  []int
	free   []bool
	dives  lagDives
}

// A window has lagWindowFirst tasks at first, and is given up after lagWindowFails
// contradictions; a round is lagWindowMost of them at most (our judgement).
const lagWindowFirst, lagWindowFails, lagWindowMost = 20, 100, 10

// round is some windows, until a better schedule is found in one.
func (w *lagWindow) round(s *lagSolver) (lagVerdict, int) {
	was := s.fails
	for n := 0; n < lagWindowMost && s.fails < was+lagRound; n++ {
		if !s.settle() {
			return lagNever, s.fails - was
		}
		w.open(s)
		w.dives.left = lagWindowFails + 1 // no second dive
		switch v := s.run(&w.dives, lagWindowFails); v {
		case lagFound:
			return v, s.fails - was + 1
		case lagNever:
			return v, s.fails - was
		case lagNotHere:
			w.tasks = min(w.tasks+1+w.tasks/16, s.tasks)
		case lagGoesOn:
			w.tasks = max(w.tasks-1, 2)
		}
	}
	s.back(0)
	return lagGoesOn, s.fails - was
}

// open chooses a window of the schedule the solver likes.
func (w *lagWindow) open(s *lagSolver) {
	like := s.picks.like
	if w.order == nil {
		for i := range s.tasks {
			w.order = append(w.order, i)
		}
		w.free = make([]bool, s.tasks)
	}
	slices.SortFunc(w.order, func(a, b int) int { return cmp.Or(cmp.Compare(like[a], like[b]), cmp.Compare(a, b)) })
	clear(w.free)
	first := w.random.IntN(max(1, s.tasks-w.tasks+1))
	for _, t := range w.order[first:min(first+w.tasks, s.tasks)] {
		w.free[t] = true
	}
	w.dives.script = w.dives.script[:0]
	for _, e := range s.edges {
		if !e.always && e.from&1 == 0 && e.when.side&1 == 0 && !w.free[e.from/2] && !w.free[e.to/2] {
			c := e.when
			if like[c.side/2] == 0 {
				c = c.not()
			}
			if !s.holds(c) {
				w.dives.script = append(w.dives.script, c)
			}
		}
	}
}
