package engine

// lagPicks chooses what is tried next: the question "is this start at least v?" that had
// most to do with the latest contradictions, answered as the best schedule has it.
type lagPicks struct {
	first []int32 // by variable: its first question, less the value it is about
	of    []int32 // by question: its variable
	score []float64
	place []int32 // by question: where it is in the heap, or lagShut, or lagNew
	heap  []int32
	shut  [][]int32 // by variable: questions that have been answered
	mark  []int32   // by variable: when it was last opened again
	stamp int32
	much  float64
	like  []int32 // by variable: its value in the best schedule
}

const lagShut, lagNew int32 = -2, -1

// questions prepares for the variables there are, but for the end, which follows from the rest.
func (s *lagSolver) questions() {
	p := &s.picks
	n := int32(0)
	for v := range len(s.bound) / 2 {
		lo, hi := s.bound[2*v], -s.bound[2*v+1]
		p.first = append(p.first, n-lo-1)
		if v != s.end {
			n += max(hi-lo, 0)
		}
		for int32(len(p.of)) < n {
			p.of = append(p.of, int32(v))
		}
		p.like = append(p.like, lo)
	}
	p.score, p.place = make([]float64, n), make([]int32, n)
	for i := range p.place {
		p.place[i] = lagNew
	}
	p.shut, p.mark, p.stamp, p.much = make([][]int32, len(p.first)), make([]int32, len(p.first)), 1, 1
}

// bump says that a claim had to do with a contradiction.
func (p *lagPicks) bump(c lagClaim) {
	v := c.side >> 1
	at := c.at
	if c.side&1 == 1 {
		at = 1 - c.at
	}
	q := p.first[v] + at
	if q < 0 || int(q) >= len(p.of) || p.of[q] != v {
		return
	}
	p.score[q] += p.much
	switch p.place[q] {
	case lagShut:
	case lagNew:
		p.push(q)
	default:
		p.rise(p.place[q])
	}
}

// decay lets what was long ago count less (MiniSat's rate).
func (p *lagPicks) decay() {
	if p.much /= 0.95; p.much > 1e100 {
		for i := range p.score {
			p.score[i] *= 1e-100
		}
		p.much *= 1e-100
	}
}

// reopen puts questions about v back that are not answered any more.
func (p *lagPicks) reopen(s *lagSolver, v int32) {
	if p.mark[v] == p.stamp {
		return
	}
	p.mark[v] = p.stamp
	shut := p.shut[v]
	kept := shut[:0]
	for _, q := range shut {
		if at := q - p.first[v]; at > s.bound[2*v] && at <= -s.bound[2*v+1] {
			p.push(q)
		} else {
			kept = append(kept, q)
		}
	}
	p.shut[v] = kept
}

// next is what to try; not if all starts are known.
func (p *lagPicks) next(s *lagSolver, learned bool) (lagClaim, bool) {
	for learned && len(p.heap) > 0 {
		q := p.pop()
		v := p.of[q]
		p.place[q] = lagShut
		p.shut[v] = append(p.shut[v], q)
		at := q - p.first[v]
		if at <= s.bound[2*v] || at > -s.bound[2*v+1] {
			continue
		}
		c := lagClaim{2 * v, at}
		if p.like[v] < at {
			c = c.not()
		}
		return c, true
	}
	best := int32(-1)
	var lo, hi int32
	for v := range int32(s.tasks) {
		l, h := s.bound[2*v], -s.bound[2*v+1]
		if l < h && (best < 0 || l < lo || l == lo && h < hi) {
			best, lo, hi = v, l, h
		}
	}
	return lagClaim{2*best + 1, -lo}, best >= 0
}

func (p *lagPicks) push(q int32) {
	p.place[q] = int32(len(p.heap))
	p.heap = append(p.heap, q)
	p.rise(p.place[q])
}

func (p *lagPicks) pop() int32 {
	top, end := p.heap[0], len(p.heap)-1
	p.heap[0] = p.heap[end]
	p.place[p.heap[0]] = 0
	p.heap = p.heap[:end]
	if end > 0 {
		p.sink(0)
	}
	return top
}

func (p *lagPicks) rise(at int32) {
	q := p.heap[at]
	for at > 0 {
		up := (at - 1) / 2
		if p.score[p.heap[up]] >= p.score[q] {
			break
		}
		p.heap[at] = p.heap[up]
		p.place[p.heap[at]] = at
		at = up
	}
	p.heap[at], p.place[q] = q, at
}

func (p *lagPicks) sink(at int32) {
	q := p.heap[at]
	for {
		down := 2*at + 1
		if down >= int32(len(p.heap)) {
			break
		}
		if down+1 < int32(len(p.heap)) && p.score[p.heap[down+1]] > p.score[p.heap[down]] {
			down++
		}
		if p.score[p.heap[down]] <= p.score[q] {
			break
		}
		p.heap[at] = p.heap[down]
		p.place[p.heap[at]] = at
		at = down
	}
	p.heap[at], p.place[q] = q, at
}
