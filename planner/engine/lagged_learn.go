package engine

import "slices"

// lagLearn is the contradiction that is being studied.
type lagLearn struct {
	need   []int32 // by side: the claim that is part of the contradiction
	on     []bool
	sides  []int32
	claims []lagClaim
	rule   []lagClaim
	levels []int32
}

// lagLate is the step of what was not so yet.
const lagLate int32 = 1 << 30

// stepOf is the step before pos that made a claim true: -1 if it was so from the beginning.
func (s *lagSolver) stepOf(c lagClaim, pos int32) int32 {
	n := s.last[c.side]
	for n >= 0 && s.steps[n].was >= c.at {
		n = s.steps[n].prev
	}
	if n >= pos {
		return lagLate
	}
	if n >= 0 && s.steps[n].level == 0 {
		return -1
	}
	return n
}

// require makes claims part of the contradiction; it counts those of the level at hand.
func (s *lagSolver) require(claims []lagClaim, pos int32) int {
	l, level, more := &s.learn, int32(len(s.levels)), 0
	for _, c := range claims {
		if l.on[c.side] && l.need[c.side] >= c.at {
			continue
		}
		n := s.stepOf(c, pos)
		if n < 0 {
			continue
		}
		was := l.on[c.side] && s.levelOf(lagClaim{c.side, l.need[c.side]}) == level
		if !l.on[c.side] {
			l.sides = append(l.sides, c.side)
		}
		l.on[c.side], l.need[c.side] = true, c.at
		s.picks.bump(c)
		if !was && s.steps[n].level == level {
			more++
		}
	}
	return more
}

// levelOf is the level at which a claim came true: 0 if it was so from the beginning.
func (s *lagSolver) levelOf(c lagClaim) int32 {
	if n := s.stepOf(c, lagLate); n >= 0 {
		return s.steps[n].level
	}
	return 0
}

// study follows the clash back to the one claim of the level at hand that all of it hangs
// on (the first unique implication point), learns the rule that this and the rest of the
// clash are not all true, and goes back to where that first says something new. It reports
// false if the clash depends on nothing that was tried.
func (s *lagSolver) study() bool {
	s.fails++
	if len(s.levels) == 0 {
		s.broken = true
		return false
	}
	l := &s.learn
	for len(l.need) < len(s.bound) {
		l.need, l.on = append(l.need, 0), append(l.on, false)
	}
	l.sides = l.sides[:0]
	pos := int32(len(s.steps))
	open := s.require(s.clash, pos)
	var first lagClaim
	for n := pos - 1; ; n-- {
		step := &s.steps[n]
		if !l.on[step.side] || l.need[step.side] <= step.was {
			continue
		}
		c := lagClaim{step.side, l.need[step.side]}
		if open == 1 {
			first = c.not()
			break
		}
		l.on[step.side] = false
		open--
		l.claims = s.because(l.claims[:0], c, step.why, n)
		open += s.require(l.claims, n)
	}
	l.rule = append(l.rule[:0], first)
	l.on[first.side^1] = false
	for _, side := range l.sides {
		if l.on[side] {
			if c := (lagClaim{side, l.need[side]}); !s.needless(c) {
				l.rule = append(l.rule, c.not())
			}
		}
	}
	for _, side := range l.sides {
		l.on[side] = false
	}
	s.picks.decay()
	s.adopt(slices.Clone(l.rule))
	return true
}

// needless reports whether a claim of the contradiction follows from the others.
func (s *lagSolver) needless(c lagClaim) bool {
	l := &s.learn
	n := s.stepOf(c, lagLate)
	if s.steps[n].why.kind == lagGuess {
		return false
	}
	l.claims = s.because(l.claims[:0], c, s.steps[n].why, n)
	for _, b := range l.claims {
		if s.stepOf(b, n) < 0 {
			continue
		}
		if b.side == c.side || !l.on[b.side] || l.need[b.side] < b.at ||
			s.stepOf(lagClaim{b.side, l.need[b.side]}, n) == lagLate { // or two would each follow from the other
			return false
		}
	}
	return true
}
