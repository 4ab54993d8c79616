package engine

import (
	"context"
	"reflect"
	"runtime"
	"testing"

	"pgregory.net/rapid"
)

func solve(t rapid.TB, ctx context.Context, p Problem, e Effort) Result {
	t.Helper()
	r, err := Solve(ctx, p, e)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The same effort gives the same result, however many cores there are and after a
// context that is done from the start there is a first plan.
func TestSameAgain(t *testing.T) {
	done, cancel := context.WithCancel(context.Background())
	cancel()
	for seed := range uint64(20) {
		p := seeded(seed).problem(4, 3, 3)
		e := Effort{Rounds: 3, Workers: 3, Seed: seed}
		first := solve(t, context.Background(), p, e)
		was := runtime.GOMAXPROCS(1)
		again := solve(t, context.Background(), p, e)
		runtime.GOMAXPROCS(was)
		if !reflect.DeepEqual(first, again) {
			t.Errorf("seed %d: two results of the same effort", seed)
		}
		r := solve(t, done, p, e)
		if faults := Check(p, r); r.Rounds != 0 || len(faults) > 0 {
			t.Errorf("seed %d: %d rounds after the context was done; %v", seed, r.Rounds, faults)
		}
	}
}

// A trial allocates nothing once its lists have grown.
func TestTrialAllocatesNothing(t *testing.T) {
	p := yardLike(12, 1)
	k := newGeneral(&p).newWorker(1, 0)
	k.first(0)
	for range 300 {
		k.trial(0.01)
	}
	if n := testing.AllocsPerRun(200, func() { k.trial(0.01) }); n >= 1 {
		t.Errorf("%v allocations in a trial", n)
	}
}

// What a trial took out and laid is as it was once it is undone.
func TestUndo(t *testing.T) {
	for seed := range uint64(60) {
		p := seeded(seed).problem(4, 3, 3)
		g := newGeneral(&p)
		k, was := g.newWorker(seed, 0), newFull(&p, g.plan)
		k.first(int(seed) % rules)
		for kind := range int(ruins) {
			was.copyFrom(k.f)
			k.f.begin()
			k.order = k.order[:0]
			k.ruin(kind)
			k.recreate(20)
			k.f.undo()
			for c := range was.crews {
				same(t, &was.crews[c], &k.f.crews[c])
			}
			for q := range was.rooms {
				same(t, &was.rooms[q], &k.f.rooms[q])
			}
			for a := range was.airs {
				same(t, &was.airs[a], &k.f.airs[a])
			}
			if was.cost() != k.f.cost() || !reflect.DeepEqual(was.done, k.f.done) {
				t.Fatalf("seed %d: costs %d, was %d", seed, k.f.cost(), was.cost())
			}
		}
	}
}

func same(t *testing.T, a, b *stock) {
	t.Helper()
	for s := range a.free {
		if a.at(Slot(s)) != b.at(Slot(s)) {
			t.Fatalf("slot %d: %d, was %d", s, b.at(Slot(s)), a.at(Slot(s)))
		}
	}
	for run := range b.low {
		if low := lowest(b.free[run*stockRun:min((run+1)*stockRun, len(b.free))]) + b.more[run]; low != b.low[run] {
			t.Fatalf("run %d: the least is %d, kept as %d", run, low, b.low[run])
		}
	}
}

// A stock agrees with looking at every slot.
func TestStock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const slots = 200
		s, plain := newStock(slots, 3), [slots]int{}
		for range rapid.IntRange(1, 12).Draw(t, "bookings") {
			from := rapid.IntRange(-5, slots).Draw(t, "from")
			to, n := from+rapid.IntRange(0, 150).Draw(t, "long"), rapid.IntRange(-2, 2).Draw(t, "n")
			s.take(Slot(from), Slot(to), n)
			for i := max(from, 0); i < min(to, slots); i++ {
				plain[i] += n
			}
		}
		from := rapid.IntRange(0, slots-1).Draw(t, "from")
		to, n := rapid.IntRange(from, slots).Draw(t, "to"), rapid.IntRange(0, 4).Draw(t, "n")
		first, last := Slot(to), None
		for i := to - 1; i >= from; i-- {
			if 3-plain[i] < n {
				first, last = Slot(i), max(last, Slot(i))
			}
		}
		if got := s.first(Slot(from), Slot(to), n); got != first {
			t.Errorf("first %d, want %d", got, first)
		}
		if got := s.lack(Slot(from), Slot(to), n); got != last {
			t.Errorf("last %d, want %d", got, last)
		}
	})
}
