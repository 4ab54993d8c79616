package engine

// lagVerdict is how a run of the solver ended.
type lagVerdict uint8

const (
	lagGoesOn  lagVerdict = iota // after as many contradictions as were allowed
	lagFound                     // all starts are known
	lagNever                     // there are none
	lagNotHere                   // there are none that keep the script
)

// lagRestart is the contradictions of the shortest dive; lagKept how many rules are kept
// before some are forgotten, lagMore how many more after each time (our judgement).
const lagRestart, lagKept, lagMore = 2000, 4000, 500

// lagDives are the solver's runs from the top.
type lagDives struct {
	number, left int
	plain        bool       // by least start, not by what was learned
	script       []lagClaim // tried before anything else
}

// lagRound is the contradictions of a round: some milliseconds with 100 tasks (our judgement).
const lagRound = 100

// round is one of a search, and how many schedules it began: each contradiction ends one.
func (s *lagSolver) round(d *lagDives) (lagVerdict, int) {
	was := s.fails
	v := s.run(d, lagRound)
	if v == lagFound {
		was--
	}
	return v, s.fails - was
}

// run goes on until fails more contradictions have come up.
func (s *lagSolver) run(d *lagDives, fails int) lagVerdict {
	if s.broken {
		return lagNever
	}
	for stop := s.fails + fails; ; {
		if !s.follow() {
			if !s.study() {
				return lagNever
			}
			d.left--
			if s.broken {
				return lagNever
			}
			if s.fails >= stop {
				return lagGoesOn
			}
			continue
		}
		if d.left <= 0 || len(s.rules.list) > s.rules.most {
			if !s.dive(d) {
				return lagNever
			}
		}
		if n := len(s.levels); n < len(d.script) {
			c := d.script[n]
			if s.dead(c) {
				return lagNotHere
			}
			s.levels = append(s.levels, int32(len(s.steps)))
			s.raise(c, lagWhy{})
			continue
		}
		c, more := s.picks.next(s, !d.plain)
		if !more {
			return lagFound
		}
		s.levels = append(s.levels, int32(len(s.steps)))
		s.raise(c, lagWhy{})
	}
}

// dive begins at the top again.
func (s *lagSolver) dive(d *lagDives) bool {
	if !s.settle() {
		return false
	}
	if d.left <= 0 {
		d.number++
		d.left = lagRestart * luby(d.number)
	}
	if len(s.rules.list) > s.rules.most {
		s.prune()
		s.rules.most = max(s.rules.most, len(s.rules.list)) + lagMore
	}
	return true
}

// luby is the n-th term of the sequence 1 1 2 1 1 2 4 … (Luby, Sinclair & Zuckerman 1993).
func luby(n int) int {
	for k := 1; ; k++ {
		if n == 1<<k-1 {
			return 1 << (k - 1)
		}
		if n < 1<<k-1 {
			return luby(n - 1<<(k-1) + 1)
		}
	}
}
