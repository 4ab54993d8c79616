package engine

// lagPairs is how many pairs are worth a question of their own: with more, each step takes
// too long, and the crews alone must do (our judgement).
const lagPairs = 20000

// order looks at the pairs of tasks that no crew has room for together, and puts the arc
// into d that follows where only one of them can go first (Brucker, Knust, Schoo & Thiele
// 1998, "A branch and bound algorithm for the resource-constrained project scheduling
// problem", from memory). It returns those arcs, and the pairs that either may lead; not
// if neither of some pair can go first.
func (k *lagged) order(d lagMatrix, tasks []int) (arcs []lagArc, either [][2]int, ok bool) {
	var pairs [][2]int
	for n, i := range tasks {
		for _, j := range tasks[:n] {
			if k.apart(i, j) && d[i][j] < k.long[i] && d[j][i] < k.long[j] {
				pairs = append(pairs, [2]int{i, j})
			}
		}
	}
	for more := true; more; {
		more = false
		open := pairs[:0]
		for _, p := range pairs {
			i, j := p[0], p[1]
			if d[i][j] >= k.long[i] || d[j][i] >= k.long[j] {
				continue
			}
			first, then := d[j][i]+k.long[i] <= 0, d[i][j]+k.long[j] <= 0
			if first && then {
				open = append(open, p)
				continue
			}
			if !first {
				i, j = j, i
			}
			if !d.add(i, j, k.long[i]) {
				return nil, nil, false
			}
			arcs = append(arcs, lagArc{i, j, k.long[i], Link{Lag: -1}})
			more = true
		}
		pairs = open
	}
	if len(pairs) > lagPairs {
		pairs = nil
	}
	return arcs, pairs, true
}

// apart reports whether two tasks cannot go on together.
func (k *lagged) apart(i, j int) bool {
	a, b := k.uses[i], k.uses[j]
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0].Crew < b[0].Crew:
			a = a[1:]
		case a[0].Crew > b[0].Crew:
			b = b[1:]
		case a[0].N+b[0].N > k.room[a[0].Crew]:
			return true
		default:
			a, b = a[1:], b[1:]
		}
	}
	return false
}
