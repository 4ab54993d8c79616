package engine

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// maker makes random problems from a source of small numbers: rapid's, which
// shrinks, or a seeded stream.
type maker struct {
	below func(n int) int
	p     Problem
}

func drawn(t *rapid.T) *maker {
	return &maker{below: func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "n") }}
}

func seeded(seed uint64) *maker {
	r := rand.New(rand.NewPCG(seed, 7))
	return &maker{below: r.IntN}
}

func (m *maker) chance(of int) bool { return m.below(of) == of-1 }

// starts is a table of a few shut spans.
func (m *maker) starts() int {
	return m.table(func(table []Slot) {
		shut := make([]bool, len(table))
		for range 1 + m.below(2) {
			from := m.below(len(table))
			for s := from; s < min(from+1+m.below(6), len(table)); s++ {
				shut[s] = true
			}
		}
		next := None
		for s := len(table) - 1; s >= 0; s-- {
			if !shut[s] {
				next = Slot(s)
			}
			table[s] = next
		}
	})
}

// later is a table of slots after each slot, rising.
func (m *maker) later(most int) int {
	return m.table(func(table []Slot) {
		by, last := m.below(most+1), Slot(0)
		for s := range table {
			if m.chance(8) {
				by = m.below(most + 1)
			}
			last = max(last, Slot(s+by))
			table[s] = last
		}
	})
}

// sum is a table of progress.
func (m *maker) sum() int {
	return m.table(func(table []Slot) {
		rate, sum := m.below(3), Slot(0)
		for s := range table {
			if m.chance(6) {
				rate = m.below(3)
			}
			table[s] = sum
			sum += Slot(rate)
		}
	})
}

func (m *maker) cost() int {
	return m.table(func(table []Slot) {
		c := m.below(8)
		for s := range table {
			if m.chance(4) {
				c = m.below(8)
			}
			table[s] = Slot(c)
		}
	})
}

func (m *maker) table(fill func([]Slot)) int {
	table := make([]Slot, m.p.Slots)
	fill(table)
	m.p.Tables = append(m.p.Tables, table)
	return len(m.p.Tables) - 1
}

// maybe is what of gives in one case of n, else -1.
func (m *maker) maybe(n int, of func() int) int {
	if m.chance(n) {
		return of()
	}
	return -1
}

// problem is small and uses every field now and then.
func (m *maker) problem(owners, blocks, tasks int) Problem {
	m.p = Problem{Slots: Slot(40 + m.below(3)*20), Airs: m.below(3)}
	p := &m.p
	for c := range 1 + m.below(3) {
		crew := Crew{Name: fmt.Sprint("crew ", c), Hours: []Level{{0, 1 + m.below(2)}}}
		if m.chance(2) {
			for at := Slot(8); at < p.Slots; at += 12 {
				crew.Hours = append(crew.Hours, Level{at, 0}, Level{at + 4, 1 + m.below(2)})
			}
		}
		p.Crews = append(p.Crews, crew)
	}
	for q := range 1 + m.below(3) {
		place := Place{Name: fmt.Sprint("place ", q), Room: 1 + m.below(2), Move: Slot(m.below(3)), Hold: int64(m.below(3))}
		if m.chance(2) {
			place.Movers = []int{m.below(len(p.Crews))}
		}
		if m.chance(3) {
			from := Slot(m.below(int(p.Slots) - 5))
			place.Shut = []Span{{from, from + 1 + Slot(m.below(4))}}
		}
		place.Waits = q > 0 && m.chance(3)
		p.Places = append(p.Places, place)
	}
	for o := range 1 + m.below(owners) {
		w := Owner{Name: fmt.Sprint("owner ", o), Arrives: Slot(m.below(6)), Place: -1}
		if m.chance(4) && o < p.Places[0].Room {
			w.Place, w.Held = 0, w.Arrives+Slot(m.below(4))
		}
		p.Owners = append(p.Owners, w)
		for range 1 + m.below(blocks) {
			m.block(o, 1+m.below(tasks))
		}
	}
	if m.chance(3) {
		m.p.Owners = append(m.p.Owners, Owner{Name: "none", Place: -1})
		m.block(len(p.Owners)-1, 1)
		p.Owners = p.Owners[:len(p.Owners)-1]
		p.Tasks[len(p.Tasks)-1].Owner = -1
		if last := len(p.Blocks) - 1; last >= 0 && p.Blocks[last].Owner == len(p.Owners) {
			p.Blocks = p.Blocks[:last]
		}
	}
	m.lags()
	p.Weights = Weights{Makespan: int64(m.below(2)), Move: int64(m.below(4)), Unplaced: 500}
	return m.p
}

func (m *maker) block(o, tasks int) {
	p := &m.p
	block := Block{Owner: o}
	into := len(p.Blocks)
	if n := len(p.Blocks); n > 0 && p.Blocks[n-1].Owner == o && m.chance(5) {
		// A block that the one before it goes on after: the two are interleaved.
		defer func() {
			if into < len(p.Blocks) {
				p.Blocks[n-1].Tasks = append(p.Blocks[n-1].Tasks, p.Blocks[into].Tasks[len(p.Blocks[into].Tasks)-1])
				if p.Blocks[into].Tasks = p.Blocks[into].Tasks[:len(p.Blocks[into].Tasks)-1]; len(p.Blocks[into].Tasks) == 0 {
					p.Blocks = p.Blocks[:into]
				}
			}
		}()
	}
	free := m.chance(6)
	for range tasks {
		t := Task{Name: fmt.Sprint("task ", len(p.Tasks)), Owner: o, Release: Slot(m.below(4)) * Slot(m.below(4))}
		t.Pauses, t.Least = m.chance(3), Slot(m.below(3))
		if free || m.chance(3) {
			t.Modes = append(t.Modes, m.mode(-1))
		} else {
			for q := range p.Places {
				if !p.Places[q].Waits && !m.chance(4) || q == 0 {
					t.Modes = append(t.Modes, m.mode(q))
				}
			}
		}
		if m.chance(3) {
			t.Due = &Due{At: Slot(m.below(int(p.Slots))), Weight: int64(1 + m.below(4)), Ready: m.maybe(3, func() int { return m.later(4) })}
		}
		if m.chance(5) {
			t.Told = &Told{Start: Slot(m.below(int(p.Slots))), Place: m.below(len(p.Places)+1) - 1, Weight: int64(m.below(3)), Other: int64(m.below(5))}
		}
		t.Fixed = m.chance(12)
		block.Tasks = append(block.Tasks, len(p.Tasks))
		p.Tasks = append(p.Tasks, t)
	}
	if len(block.Tasks) > 1 || m.chance(2) {
		p.Blocks = append(p.Blocks, block)
	}
}

func (m *maker) mode(q int) Mode {
	p := &m.p
	mode := Mode{Place: q, Long: Slot(1 + m.below(6)), Uses: nil}
	if !m.chance(4) {
		mode.Uses = []Use{{m.below(len(p.Crews)), 1}}
	}
	mode.Starts = m.maybe(4, m.starts)
	mode.Works = m.maybe(5, m.starts)
	mode.Soak = m.maybe(6, func() int { return m.later(3) })
	mode.Keeps = m.maybe(4, func() int { return m.later(5) })
	mode.Cost = m.maybe(5, m.cost)
	if p.Airs > 0 && m.chance(3) {
		mode.Sides = []Side{{Air: m.below(p.Airs), Far: m.chance(2), Upto: m.maybe(3, func() int { return m.later(8) }), Past: Slot(m.below(3))}}
	}
	return mode
}

// lags link tasks of one owner in the order of the list.
func (m *maker) lags() {
	p := &m.p
	for a := range p.Tasks {
		for b := a + 1; b < len(p.Tasks); b++ {
			same := p.Tasks[a].Owner == p.Tasks[b].Owner
			if !(same && b == a+1 && !m.chance(3)) && !m.chance(12) {
				continue
			}
			lag := Lag{Before: a, After: b, Least: Slot(m.below(5) - 1)}
			modes := len(p.Tasks[a].Modes)
			if m.chance(4) {
				for range modes {
					lag.Opens = append(lag.Opens, m.maybe(2, func() int { return m.later(6) }))
				}
			}
			if same && m.chance(5) {
				for range p.Places {
					lag.Ripe = append(lag.Ripe, m.maybe(2, m.sum))
				}
				lag.Need = Slot(m.below(6))
			}
			if m.chance(3) {
				lag.Bounded, lag.Greatest = true, max(lag.Least, 0)+Slot(m.below(8))
				if m.chance(3) {
					for range modes {
						lag.Closes = append(lag.Closes, m.maybe(2, func() int { return m.later(9) }))
					}
				}
				if m.chance(2) {
					lag.Repair = &Repair{Long: Slot(m.below(3)), Uses: []Use{{m.below(len(p.Crews)), 1}}, Cost: int64(1 + m.below(9))}
				}
			}
			p.Lags = append(p.Lags, lag)
		}
	}
}

// What Solve returns keeps every rule, whatever the problem says.
func TestCheckAccepts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawn(t).problem(3, 3, 3)
		r := solve(t, context.Background(), p, Effort{Rounds: 2, Workers: 2, Seed: 1})
		for _, fault := range Check(p, r) {
			t.Error(fault)
		}
	})
}
