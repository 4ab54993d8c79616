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
