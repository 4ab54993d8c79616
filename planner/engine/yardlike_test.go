package engine

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
)

// yardLike is a problem of the size and shape of a yard's: owners with four to six
// blocks of three or four tasks, twelve places, six crews with shifts, six weeks of
// five-minute slots, start tables shut at random for half a day at a time, coats
// that must not wait for long. All of it is invented.
func yardLike(owners int, seed uint64) Problem {
	const day = 288
	r := rand.New(rand.NewPCG(seed, 3))
	p := Problem{Slots: 42 * day, Airs: 12}
	table := func(fill func([]Slot)) int {
		t := make([]Slot, p.Slots)
		fill(t)
		p.Tables = append(p.Tables, t)
		return len(p.Tables) - 1
	}
	for c := range 6 {
		crew := Crew{Name: fmt.Sprint("crew ", c), Hours: nil}
		for d := Slot(0); d < 42; d++ {
			if d%7 < 6 {
				crew.Hours = append(crew.Hours, Level{d*day + 84, 3 + c%2}, Level{d*day + 204, 0})
			}
		}
		p.Crews = append(p.Crews, crew)
	}
	for q := range 12 {
		p.Places = append(p.Places, Place{Name: fmt.Sprint("place ", q), Room: 1 + q%3, Move: 12, Movers: []int{5}, Hold: int64(q % 3)})
	}
	p.Places = append(p.Places, Place{Name: "standing", Room: owners, Move: 12, Movers: []int{5}, Waits: true})
	weather := make([]int, 6)
	for w := range weather {
		weather[w] = table(func(t []Slot) {
			shut := make([]bool, len(t))
			for at := Slot(r.IntN(day)); at < p.Slots; at += Slot(day + r.IntN(2*day)) {
				for s := at; s < min(at+day/2, p.Slots); s++ {
					shut[s] = true
				}
			}
			next := None
			for s := len(t) - 1; s >= 0; s-- {
				if !shut[s] {
					next = Slot(s)
				}
				t[s] = next
			}
		})
	}
	cure := table(func(t []Slot) {
		for s := range t {
			t[s] = min(Slot(s)+60+Slot(s/7%40), p.Slots)
		}
	})
	keeps := table(func(t []Slot) {
		for s := range t {
			t[s] = min(Slot(s)+96, p.Slots)
		}
	})
	for o := range owners {
		arrives := Slot(r.IntN(14)) * day
		p.Owners = append(p.Owners, Owner{Name: fmt.Sprint("owner ", o), Arrives: arrives, Place: -1})
		last := -1
		for range 4 + r.IntN(3) {
			block := Block{Owner: o}
			first := r.IntN(10)
			for k := range 3 + r.IntN(2) {
				coat := k == 2
				t := Task{Name: fmt.Sprint("task ", len(p.Tasks)), Owner: o, Pauses: !coat, Least: 6}
				for q := first; q < first+3; q++ {
					m := Mode{Place: q, Long: Slot(8 + r.IntN(32)), Uses: []Use{{r.IntN(4), 1}}, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
					side := Side{Air: q, Far: coat, Upto: -1}
					if coat {
						m.Long, m.Starts, m.Keeps, m.Uses, side.Past = 36, weather[q%6], keeps, []Use{{4, 1}}, 24
					}
					if k > 0 {
						m.Sides = []Side{side}
					}
					t.Modes = append(t.Modes, m)
				}
				if last >= 0 {
					lag := Lag{Before: last, After: len(p.Tasks)}
					if n := len(p.Tasks[last].Modes); p.Tasks[last].Modes[0].Keeps >= 0 {
						for range n {
							lag.Opens = append(lag.Opens, cure)
						}
						lag.Bounded, lag.Greatest, lag.Repair = true, 5*day, &Repair{Long: 12, Uses: []Use{{0, 1}}, Cost: 200}
					} else if coat {
						lag.Bounded, lag.Greatest, lag.Repair = true, day, &Repair{Long: 6, Uses: []Use{{1, 1}}, Cost: 60}
					}
					p.Lags = append(p.Lags, lag)
				}
				last = len(p.Tasks)
				block.Tasks = append(block.Tasks, last)
				p.Tasks = append(p.Tasks, t)
			}
			p.Blocks = append(p.Blocks, block)
		}
		p.Tasks[last].Due = &Due{At: arrives + Slot(7+r.IntN(14))*day, Weight: int64(1 + r.IntN(3)), Ready: -1}
	}
	p.Weights = Weights{Move: 20, Unplaced: 5000}
	return p
}

// BenchmarkGeneral is a first plan, and an improved one, of forty owners.
func BenchmarkGeneral(b *testing.B) {
	p := yardLike(40, 1)
	for _, rounds := range []int{0, 10, 40} {
		b.Run(fmt.Sprint("rounds", rounds), func(b *testing.B) {
			b.ReportAllocs()
			var r Result
			for b.Loop() {
				r, _ = Solve(context.Background(), p, Effort{Rounds: rounds, Workers: 2, Seed: 1})
			}
			b.ReportMetric(float64(r.Schedules)*float64(b.N)/b.Elapsed().Seconds(), "schedules/s")
			b.ReportMetric(float64(r.Objective-r.Bound)/float64(r.Objective)*100, "pct-gap")
			b.ReportMetric(float64(r.Objective), "objective")
			b.ReportMetric(float64(len(p.Tasks)), "tasks")
		})
	}
}

// A yard of forty is planned whole, within the rules.
func TestYardLike(t *testing.T) {
	p := yardLike(40, 2)
	r := solve(t, context.Background(), p, Effort{Rounds: 1, Workers: 2, Seed: 1})
	for _, fault := range Check(p, r) {
		t.Error(fault)
	}
	for _, term := range r.Terms {
		if term.Name == "unplaced" && term.Amount > 0 {
			t.Errorf("%d for tasks without a start", term.Amount)
		}
	}
}
