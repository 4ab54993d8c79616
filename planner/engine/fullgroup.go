package engine

import (
	"cmp"
	"slices"
)

// group is tasks that are laid together, in an order in which each comes after
// those it waits for.
type group struct {
	tasks  []int
	before []int // by position: the position of the task of its block before it, or -1
	merged bool
}

// groups are the blocks and the tasks outside of them. Blocks that wait for each
// other in turn are one: the owner cannot leave between them.
func groups(p *Problem) []group {
	of, prev := make([]int, len(p.Tasks)), make([]int, len(p.Tasks))
	for i := range of {
		of[i], prev[i] = len(p.Blocks)+i, -1
	}
	for b := range p.Blocks {
		for k, i := range p.Blocks[b].Tasks {
			of[i] = b
			if k > 0 {
				prev[i] = p.Blocks[b].Tasks[k-1]
			}
		}
	}
	next := make([][]int, len(p.Blocks)+len(p.Tasks))
	for l := range p.Lags {
		if a, b := of[p.Lags[l].Before], of[p.Lags[l].After]; a != b {
			next[a] = append(next[a], b)
		}
	}
	ring := rings(next)
	members := make([][]int, len(next))
	for i := range of {
		members[ring[of[i]]] = append(members[ring[of[i]]], i)
	}
	rank := taskOrder(p)
	var out []group
	for r := range members {
		if len(members[r]) == 0 {
			continue
		}
		g := group{tasks: members[r]}
		slices.SortFunc(g.tasks, func(a, b int) int { return cmp.Compare(rank[a], rank[b]) })
		where := map[int]int{}
		for k, i := range g.tasks {
			where[i] = k
			g.merged = g.merged || of[i] != of[g.tasks[0]]
			g.before = append(g.before, -1)
			if prev[i] >= 0 {
				g.before[k] = where[prev[i]]
			}
		}
		out = append(out, g)
	}
	return out
}

// taskOrder ranks tasks so that each comes after those it waits for, by lags and
// blocks; in a circle, which valid refuses, the rank is that of the list. It is
// Kahn's algorithm, the lowest index first.
func taskOrder(p *Problem) []int {
	n := len(p.Tasks)
	next, waits := make([][]int, n), make([]int, n)
	link := func(a, b int) { next[a], waits[b] = append(next[a], b), waits[b]+1 }
	for l := range p.Lags {
		link(p.Lags[l].Before, p.Lags[l].After)
	}
	for b := range p.Blocks {
		for k := 1; k < len(p.Blocks[b].Tasks); k++ {
			link(p.Blocks[b].Tasks[k-1], p.Blocks[b].Tasks[k])
		}
	}
	rank := make([]int, n)
	var ready []int
	for i := n - 1; i >= 0; i-- {
		rank[i] = n + i
		if waits[i] == 0 {
			ready = append(ready, i)
		}
	}
	for k := 0; len(ready) > 0; k++ {
		i := ready[len(ready)-1]
		ready = ready[:len(ready)-1]
		rank[i] = k
		for _, j := range next[i] {
			if waits[j]--; waits[j] == 0 {
				ready = append(ready, j)
			}
		}
	}
	return rank
}

// rings names, for each node, the first node of its strongly connected part
// (Tarjan 1972, without recursion).
func rings(next [][]int) []int {
	n := len(next)
	ring, index, low := make([]int, n), make([]int, n), make([]int, n)
	for i := range ring {
		ring[i], index[i] = -1, -1
	}
	type frame struct{ node, edge int }
	var stack []int
	var calls []frame
	count := 0
	for root := range next {
		if index[root] >= 0 {
			continue
		}
		calls = append(calls, frame{root, 0})
		for len(calls) > 0 {
			c := &calls[len(calls)-1]
			v := c.node
			if c.edge == 0 {
				index[v], low[v] = count, count
				count++
				stack = append(stack, v)
			}
			if c.edge > 0 {
				if w := next[v][c.edge-1]; ring[w] < 0 {
					low[v] = min(low[v], low[w])
				}
			}
			if c.edge < len(next[v]) {
				w := next[v][c.edge]
				c.edge++
				if index[w] < 0 {
					calls = append(calls, frame{w, 0})
				}
				continue
			}
			calls = calls[:len(calls)-1]
			if low[v] != index[v] {
				continue
			}
			at := slices.Index(stack, v)
			least := slices.Min(stack[at:])
			for _, w := range stack[at:] {
				ring[w] = least
			}
			stack = stack[:at]
		}
	}
	return ring
}
