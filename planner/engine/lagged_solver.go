package engine

// lagClaim says that a side of a variable is at least At. A variable v has two sides: 2v
// is its start, 2v+1 its start with the sign turned, so that the latest start is a least
// one too. Not of a claim is one on the other side.
type lagClaim struct {
	side int32
	at   int32
}

func (c lagClaim) not() lagClaim { return lagClaim{c.side ^ 1, 1 - c.at} }

// lagWhy is what made a claim true.
type lagWhy struct {
	kind uint8
	a, b int32
}

const (
	lagGuess  uint8 = iota // tried, or known from the beginning
	lagByArc               // the arc a
	lagByNot               // the arc a may not be kept, for both its ends
	lagByRule              // the rule a
	lagByCrew              // the crew a is full in slot b
)

// lagStep is one bound that was raised.
type lagStep struct {
	side, at, was int32
	prev          int32 // the step before on this side, or -1
	level         int32
	why           lagWhy
}

// lagEdge is an arc between two sides; it holds while the claim when is true.
type lagEdge struct {
	from, to, least int32
	when            lagClaim
	always          bool
}

// lagSolver looks for starts that keep arcs and crews, by trying, following up, and
// learning a rule from each contradiction that forbids all like it: lazy clause
// generation (Schutt, Feydt, Stuckey & Wallace 2013, "Solving RCPSP/max by lazy clause
// generation", from memory), on bounds alone.
type lagSolver struct {
	tasks  int // variables 0 … tasks-1 are starts, then end, then choices
	end    int
	long   []int32
	uses   [][]Use
	users  [][]Use // by crew: Crew is the task; most first
	room   []int32
	bound  []int32 // by side
	last   []int32 // by side: its last step
	steps  []lagStep
	levels []int32 // where each level's steps begin
	seen   int     // steps that were followed up
	edges  []lagEdge
	out    [][]int32 // by side: edges from it
	opens  [][]int32 // by side: edges that a claim on it switches on

	crews lagCrews
	rules lagRules
	learn lagLearn
	picks lagPicks

	broken bool // nothing can be kept
	clash  []lagClaim
	fails  int // contradictions so far
}

// variable adds one more, from lo to hi.
func (s *lagSolver) variable(lo, hi int32) int {
	s.bound = append(s.bound, lo, -hi)
	s.last = append(s.last, -1, -1)
	s.out = append(s.out, nil, nil)
	s.opens = append(s.opens, nil, nil)
	s.rules.watches = append(s.rules.watches, nil, nil)
	return len(s.bound)/2 - 1
}

// arc adds one that always holds.
func (s *lagSolver) arc(from, to int, least Slot) {
	a, b, l := int32(2*from), int32(2*to), int32(least)
	s.edge(lagEdge{from: a, to: b, least: l, always: true})
	s.edge(lagEdge{from: b ^ 1, to: a ^ 1, least: l, always: true})
}

// either adds the choice which of two tasks goes first.
func (s *lagSolver) either(i, j int) {
	v := int32(s.variable(0, 1))
	a, b := int32(2*i), int32(2*j)
	yes, no := lagClaim{2 * v, 1}, lagClaim{2*v + 1, 0}
	s.edge(lagEdge{from: a, to: b, least: s.long[i], when: yes})
	s.edge(lagEdge{from: b ^ 1, to: a ^ 1, least: s.long[i], when: yes})
	s.edge(lagEdge{from: b, to: a, least: s.long[j], when: no})
	s.edge(lagEdge{from: a ^ 1, to: b ^ 1, least: s.long[j], when: no})
}

func (s *lagSolver) edge(e lagEdge) {
	n := int32(len(s.edges))
	s.edges = append(s.edges, e)
	s.out[e.from] = append(s.out[e.from], n)
	if !e.always {
		s.opens[e.when.side] = append(s.opens[e.when.side], n)
	}
}

func (s *lagSolver) holds(c lagClaim) bool { return s.bound[c.side] >= c.at }
func (s *lagSolver) dead(c lagClaim) bool  { return s.bound[c.side^1] > -c.at }

// raise makes a claim true, for a reason. It reports false, with the clash, if it cannot be.
func (s *lagSolver) raise(c lagClaim, why lagWhy) bool {
	was := s.bound[c.side]
	if was >= c.at {
		return true
	}
	if s.bound[c.side^1] > -c.at {
		s.clash = append(s.because(s.clash[:0], c, why, int32(len(s.steps))), c.not())
		return false
	}
	s.bound[c.side] = c.at
	s.steps = append(s.steps, lagStep{c.side, c.at, was, s.last[c.side], int32(len(s.levels)), why})
	s.last[c.side] = int32(len(s.steps) - 1)
	return true
}

// follow works out all that follows from what was raised.
func (s *lagSolver) follow() bool {
	for {
		for s.seen < len(s.steps) {
			step := s.steps[s.seen]
			s.seen++
			if !s.followArcs(step.side) || !s.followRules(step) {
				return false
			}
			if v := step.side >> 1; int(v) < s.tasks {
				s.crews.touch(v)
			}
		}
		v, any := s.crews.next()
		if !any {
			return true
		}
		if !s.followCrews(v) {
			return false
		}
	}
}

func (s *lagSolver) followArcs(side int32) bool {
	at := s.bound[side]
	for _, n := range s.out[side] {
		e := &s.edges[n]
		c := lagClaim{e.to, at + e.least}
		if e.always || s.holds(e.when) {
			if s.bound[c.side] < c.at && !s.raise(c, lagWhy{lagByArc, n, 0}) {
				return false
			}
		} else if s.bound[c.side^1] > -c.at && !s.raise(e.when.not(), lagWhy{lagByNot, n, at}) {
			return false
		}
	}
	for _, n := range s.opens[side] {
		e := &s.edges[n]
		if s.holds(e.when) && !s.raise(lagClaim{e.to, s.bound[e.from] + e.least}, lagWhy{lagByArc, n, 0}) {
			return false
		}
	}
	return true
}

// because appends claims, true before the step pos, from which c follows by why.
func (s *lagSolver) because(to []lagClaim, c lagClaim, why lagWhy, pos int32) []lagClaim {
	switch why.kind {
	case lagByArc:
		e := &s.edges[why.a]
		to = append(to, lagClaim{e.from, c.at - e.least})
		if !e.always {
			to = append(to, e.when)
		}
	case lagByNot:
		e := &s.edges[why.a]
		to = append(to, lagClaim{e.from, why.b}, lagClaim{e.to, why.b + e.least}.not())
	case lagByRule:
		for _, r := range s.rules.list[why.a].claims {
			if r.side != c.side {
				to = append(to, r.not())
			}
		}
	case lagByCrew:
		to = s.becauseCrew(to, c, why, pos)
	}
	return to
}

// back takes everything back that was raised after a level.
func (s *lagSolver) back(level int) {
	if level >= len(s.levels) {
		return
	}
	s.crews.forget()
	from := int(s.levels[level])
	for n := len(s.steps) - 1; n >= from; n-- {
		step := &s.steps[n]
		s.bound[step.side], s.last[step.side] = step.was, step.prev
	}
	for n := from; n < len(s.steps); n++ {
		v := s.steps[n].side >> 1
		if int(v) < s.tasks {
			s.shrink(v)
		}
		s.picks.reopen(s, v)
	}
	s.picks.stamp++
	s.steps, s.levels, s.seen = s.steps[:from], s.levels[:level], from
}

// settle follows up what is known before anything is tried, and forgets why.
func (s *lagSolver) settle() bool {
	s.back(0)
	if s.broken || !s.follow() {
		s.broken = true
		return false
	}
	for _, step := range s.steps {
		s.last[step.side] = -1
	}
	s.steps, s.seen = s.steps[:0], 0
	return true
}

// know makes a claim true for good.
func (s *lagSolver) know(c lagClaim) bool {
	s.back(0)
	s.broken = s.broken || !s.raise(c, lagWhy{})
	return s.settle()
}
