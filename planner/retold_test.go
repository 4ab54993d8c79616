package planner

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// told is what people were told if they were told all of a plan.
func told(plan Plan) []Told {
	var all []Told
	for _, s := range plan.Stages {
		if s.State != Unplaced && s.State != Running {
			all = append(all, Told{Key: s.Key, Start: s.Start, Place: s.Place, Brought: s.Brought})
		}
	}
	return all
}

// TestNothingMovesWithoutACause: planned again with nothing new, at once or ten minutes
// later, whatever is told anew pays for it.
func TestNothingMovesWithoutACause(t *testing.T) {
	t.Parallel()
	for seed := range seeds(25) {
		p := rapid.Custom(anyProblem).Example(seed)
		first, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		p.Told, p.Turns = told(first), first.Turns
		p.First = p.Told
		now := p.At
		for _, later := range []time.Duration{0, 10 * time.Minute} {
			p.At = now.Add(later)
			if later > 0 && due(p) {
				continue // that it was not begun is something new
			}
			again, err := Solve(p)
			if err != nil {
				t.Fatal(err)
			}
			saved := int64(0)
			for _, term := range again.Bought {
				saved += term.Amount
			}
			for _, r := range again.Retold {
				if saved <= 0 {
					t.Errorf("yard %d, %v later: %s: told %v in %s, now %v in %s, which saves %d: %s", seed, later, r.Key, r.Told.Start, r.Told.Place, r.Start, r.Place, saved, r.Why.Cause)
				}
			}
		}
	}
}

// due reports whether something that was told was to be begun by now.
func due(p Problem) bool {
	return slices.ContainsFunc(p.Told, func(x Told) bool {
		return x.Start.Before(p.At) || !x.Brought.IsZero() && x.Brought.Before(p.At)
	})
}

// TestRetold: after a boat is late, whatever differs from what was told is listed, and
// what begins later, or not at all, has its reason.
func TestRetold(t *testing.T) {
	t.Parallel()
	for seed := range seeds(25) {
		p := rapid.Custom(anyProblem).Example(seed)
		first, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		p.Told = told(first)
		p.First = p.Told
		p.Boats[seed%len(p.Boats)].Arrives = p.At.Add(time.Duration(1+seed%9) * 24 * time.Hour).Format("2006-01-02")
		again, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		listed := map[Key]Retold{}
		for _, r := range again.Retold {
			listed[r.Key] = r
			if (r.Start.IsZero() || r.Start.After(r.Told.Start)) && r.Why.Cause == "" {
				t.Errorf("%s: told %v, now %v, and nobody says why", r.Key, r.Told.Start, r.Start)
			}
		}
		for _, was := range p.Told {
			for _, s := range again.Stages {
				if r, ok := listed[s.Key]; s.Key == was.Key && s.State != Running && (!s.Start.Equal(was.Start) || s.Place != was.Place) && (!ok || !r.Start.Equal(s.Start)) {
					t.Errorf("%s is not listed: told %v in %s, now %v in %s", s.Key, was.Start, was.Place, s.Start, s.Place)
				}
			}
		}
	}
}
