package planner

import (
	"encoding/json"
	"testing"
	"time"
)

// A kept plan made again says same; one that was tampered with says different, and where.
func TestAgain(t *testing.T) {
	t.Parallel()
	p := problem(fleet(3)...)
	plan := solved(t, p)
	keeps := func(change func(*Plan)) Plan {
		text, err := json.Marshal(plan)
		if err != nil {
			t.Fatal(err)
		}
		var kept Plan
		if err := json.Unmarshal(text, &kept); err != nil {
			t.Fatal(err)
		}
		if change != nil {
			change(&kept)
		}
		return kept
	}
	for _, c := range []struct {
		name   string
		change func(*Plan)
		is     Sameness
		of     string
	}{
		{"as it was kept", nil, Same, ""},
		{"a start an hour sooner", func(p *Plan) { p.Stages[2].Start = p.Stages[2].Start.Add(-time.Hour) }, Different, "stage"},
		{"another cause", func(p *Plan) { p.Stages[1].Waits = []Wait{{Cause: LateBoat}} }, Different, "stage"},
		{"a stage left out", func(p *Plan) { p.Stages = p.Stages[1:] }, Different, "stage"},
		{"a stage put in", func(p *Plan) { p.Stages = append(p.Stages, Planned{Key: Key{Boat: "nobody's"}}) }, Different, "stage"},
		{"a launch sooner", func(p *Plan) { p.Launches[0].Likely = p.Launches[0].Likely.Add(-time.Hour) }, Different, "launch"},
		{"a smaller cost", func(p *Plan) { p.Cost[0].Amount++ }, Different, "cost"},
		{"another bound", func(p *Plan) { p.Bound-- }, Different, "bound"},
		{"another order", func(p *Plan) { p.Stages[0], p.Stages[1] = p.Stages[1], p.Stages[0] }, Different, "order"},
		{"by another version", func(p *Plan) { p.Version-- }, OtherVersion, ""},
	} {
		r, err := Again(keeps(c.change), p)
		if err != nil || r.Is != c.is {
			t.Errorf("%s: %q (%v), want %q", c.name, r.Is, err, c.is)
			continue
		}
		if c.of != "" && (len(r.Differs) == 0 || r.Differs[0].Of != c.of) {
			t.Errorf("%s: differs in %+v, want a %s", c.name, r.Differs, c.of)
		}
	}
}
