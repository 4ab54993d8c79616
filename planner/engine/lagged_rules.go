package engine

import "slices"

// lagRule is claims of which one holds at least.
type lagRule struct {
	claims []lagClaim // the first two are watched
	depth  int32      // how many levels it spanned when it was learned: the fewer the better
	used   int32      // when it was last of use
}

// lagRules are what was learned.
type lagRules struct {
	list    []lagRule
	most    int          // before some are forgotten
	watches [][]lagWatch // by the side that may break the claim watched
}

// lagWatch is a rule to look at once a side is at least at.
type lagWatch struct{ rule, at int32 }

// followRules looks at the rules of which a step has broken a watched claim.
func (s *lagSolver) followRules(step lagStep) bool {
	list := s.rules.watches[step.side]
	kept := 0
	for n := 0; n < len(list); n++ {
		w := list[n]
		if w.at > step.at || w.at <= step.was {
			list[kept] = w
			kept++
			continue
		}
		r := &s.rules.list[w.rule]
		c := r.claims
		if c[0].side^1 == step.side && 1-c[0].at == w.at {
			c[0], c[1] = c[1], c[0]
		}
		if s.holds(c[0]) {
			list[kept] = w
			kept++
			continue
		}
		moved := false
		for m := 2; m < len(c); m++ {
			if s.dead(c[m]) {
				continue
			}
			c[1], c[m] = c[m], c[1]
			next := lagWatch{w.rule, 1 - c[1].at}
			if side := c[1].side ^ 1; side == step.side {
				list[kept] = next
				kept++
			} else {
				s.rules.watches[side] = append(s.rules.watches[side], next)
			}
			moved = true
			break
		}
		if moved {
			continue
		}
		list[kept] = w
		kept++
		r.used = int32(s.fails)
		if !s.raise(c[0], lagWhy{lagByRule, w.rule, 0}) {
			kept += copy(list[kept:], list[n+1:])
			s.rules.watches[step.side] = list[:kept]
			return false
		}
	}
	s.rules.watches[step.side] = list[:kept]
	return true
}

// adopt keeps a rule of which all claims are broken, the first by the level at hand alone.
func (s *lagSolver) adopt(rule []lagClaim) {
	back, depth := int32(0), int32(0)
	l := &s.learn
	l.levels = l.levels[:0]
	for n := 1; n < len(rule); n++ {
		level := s.levelOf(rule[n].not())
		if level > back {
			back = level
			rule[1], rule[n] = rule[n], rule[1]
		}
		if !slices.Contains(l.levels, level) {
			l.levels = append(l.levels, level)
			depth++
		}
	}
	s.back(int(back))
	if len(rule) == 1 {
		s.broken = !s.raise(rule[0], lagWhy{}) || s.broken
		return
	}
	id := int32(len(s.rules.list))
	s.rules.list = append(s.rules.list, lagRule{rule, depth, int32(s.fails)})
	s.watch(id)
	s.raise(rule[0], lagWhy{lagByRule, id, 0})
}

// watch has a rule looked at when one of its first two claims is broken.
func (s *lagSolver) watch(id int32) {
	for _, c := range s.rules.list[id].claims[:2] {
		s.rules.watches[c.side^1] = append(s.rules.watches[c.side^1], lagWatch{id, 1 - c.at})
	}
}

// lagShort rules are kept however long ago they were of use (our judgement).
const lagShort = 2

// prune forgets the half of the rules that span most levels and were of use longest ago.
// Nothing may have been tried.
func (s *lagSolver) prune() {
	list := s.rules.list
	slices.SortStableFunc(list, func(a, b lagRule) int {
		if a.depth <= lagShort || b.depth <= lagShort {
			return int(a.depth - b.depth)
		}
		return int(b.used-a.used) + 200*int(a.depth-b.depth)
	})
	keep := len(list) / 2
	for keep < len(list) && list[keep].depth <= lagShort {
		keep++
	}
	s.rules.list = list[:keep]
	for n := range s.rules.watches {
		s.rules.watches[n] = s.rules.watches[n][:0]
	}
	kept := s.rules.list[:0]
	for _, r := range s.rules.list {
		if r, ok := s.still(r); ok {
			kept = append(kept, r)
		}
	}
	s.rules.list = kept
	for id := range s.rules.list {
		s.watch(int32(id))
	}
}

// still is a rule without the claims that can never hold; not if it always holds.
func (s *lagSolver) still(r lagRule) (lagRule, bool) {
	claims := r.claims[:0]
	for _, c := range r.claims {
		if s.holds(c) {
			return r, false
		}
		if !s.dead(c) {
			claims = append(claims, c)
		}
	}
	r.claims = claims
	return r, len(claims) > 1
}
