package engine

import "slices"

// lagFar is no path: less than any sum of lags.
const lagFar Slot = -1 << 30

// lagChain is a ring of arcs that comes back too late, and how much; none if all arcs can be
// kept. It begins at the last node, the origin, if that is in it. Longest paths by Bellman
// and Ford: what still grows after as many passes as there are nodes hangs on such a ring.
func lagChain(nodes int, arcs []lagArc) ([]lagArc, Slot) {
	at, by := make([]Slot, nodes), make([]int, nodes)
	last := -1
	for range nodes + 1 {
		last = -1
		for a, arc := range arcs {
			if s := at[arc.from] + arc.least; s > at[arc.to] {
				at[arc.to], by[arc.to], last = s, a, arc.to
			}
		}
		if last < 0 {
			return nil, 0
		}
	}
	for range nodes {
		last = arcs[by[last]].from
	}
	var chain []lagArc
	sum := Slot(0)
	for i := last; len(chain) == 0 || i != last; i = arcs[by[i]].from {
		chain = append(chain, arcs[by[i]])
		sum += arcs[by[i]].least
	}
	slices.Reverse(chain)
	for n, arc := range chain {
		if arc.from == nodes-1 {
			chain = slices.Concat(chain[n:], chain[:n])
		}
	}
	return chain, sum
}

// lagMatrix holds the longest path between any two nodes, lagFar where there is none.
type lagMatrix [][]Slot

// lagDistances is the matrix of arcs that have no ring that comes back too late (Floyd, Warshall).
func lagDistances(nodes int, arcs []lagArc) lagMatrix {
	d := make(lagMatrix, nodes)
	for i := range d {
		d[i] = slices.Repeat([]Slot{lagFar}, nodes)
		d[i][i] = 0
	}
	for _, a := range arcs {
		d[a.from][a.to] = max(d[a.from][a.to], a.least)
	}
	for k := range d {
		for i := range d {
			if ik := d[i][k]; ik > lagFar && i != k {
				to := d[i]
				for j, kj := range d[k] {
					if kj > lagFar {
						to[j] = max(to[j], ik+kj)
					}
				}
			}
		}
	}
	return d
}

// add puts one more arc in; it reports whether that can be kept.
func (d lagMatrix) add(from, to int, least Slot) bool {
	if d[from][to] >= least {
		return true
	}
	if d[to][from] > lagFar && d[to][from]+least > 0 {
		return false
	}
	for i := range d {
		if d[i][from] == lagFar {
			continue
		}
		s := d[i][from] + least
		if s <= d[i][to] {
			continue
		}
		for j, tj := range d[to] {
			if tj > lagFar {
				d[i][j] = max(d[i][j], s+tj)
			}
		}
	}
	return true
}
