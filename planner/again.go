package planner

import (
	"bytes"
	"encoding/json"
)

// Sameness is how a plan that was kept compares with one made again.
type Sameness string

// What recomputing a plan may show.
const (
	Same         Sameness = "same"
	Different    Sameness = "different"
	OtherVersion Sameness = "other version"
)

// Remade is a kept plan held against one made again of the problem that it answers.
type Remade struct {
	Is      Sameness `json:"is"`
	Version int      `json:"version"` // of the planner that made it again
	Was     int      `json:"was"`     // of the one that made it first
	Stages  int      `json:"stages"`  // compared
	Differs []Differ `json:"differs,omitempty"`
}

// Differ is one thing that is not as it was kept. A stage with one start in both differs
// in something else than that.
type Differ struct {
	Of   string `json:"of"` // stage, launch, cost, or the plan's own field: blocks, bound
	Key  Key    `json:"key,omitzero"`
	Was  Told   `json:"was,omitzero"`
	Is   Told   `json:"is,omitzero"`
	Name string `json:"name,omitempty"` // of a term of the cost
	From int64  `json:"from,omitempty"`
	To   int64  `json:"to,omitempty"`
}

// Again makes a kept plan once more from its problem. A plan by another version of the
// planner is not made: it may differ, and that would say nothing.
func Again(kept Plan, p Problem) (Remade, error) {
	r := Remade{Is: OtherVersion, Version: Version, Was: kept.Version}
	if kept.Version != Version {
		return r, nil
	}
	made, err := Solve(p)
	if err != nil {
		return r, err
	}
	r.Stages = len(made.Stages)
	if r.Is = Same; sameForm(kept, made) {
		return r, nil
	}
	r.Is = Different
	r.stages(kept, made)
	was := map[string]Launch{}
	for _, l := range kept.Launches {
		was[l.Boat] = l
	}
	for _, l := range made.Launches {
		if !sameForm(was[l.Boat], l) {
			r.Differs = append(r.Differs, Differ{Of: "launch", Key: Key{Boat: l.Boat}, Was: Told{Start: was[l.Boat].Likely}, Is: Told{Start: l.Likely}})
		}
	}
	for _, t := range termPairs(kept.Cost, made.Cost) {
		if t.Before != t.After {
			r.Differs = append(r.Differs, Differ{Of: "cost", Name: t.Name, From: t.Before, To: t.After})
		}
	}
	for _, field := range []struct {
		name    string
		was, is any
	}{{"blocks", kept.Blocks, made.Blocks}, {"turns", kept.Turns, made.Turns}, {"bound", kept.Bound, made.Bound}, {"retold", kept.Retold, made.Retold},
		{"bought", kept.Bought, made.Bought}, {"at", kept.At, made.At}, {"until", kept.Until, made.Until}} {
		if !sameForm(field.was, field.is) {
			r.Differs = append(r.Differs, Differ{Of: field.name})
		}
	}
	if len(r.Differs) == 0 { // such as the launches' or the stages' own order
		r.Differs = []Differ{{Of: "order"}}
	}
	return r, nil
}

func (r *Remade) stages(kept, made Plan) {
	was := map[Key]Planned{}
	for _, s := range kept.Stages {
		was[s.Key] = s
	}
	for _, s := range made.Stages {
		old, ok := was[s.Key]
		delete(was, s.Key)
		if !ok || !sameForm(old, s) {
			r.Differs = append(r.Differs, Differ{Of: "stage", Key: s.Key, Was: Told{Start: old.Start, Place: old.Place}, Is: Told{Start: s.Start, Place: s.Place}})
		}
	}
	for _, s := range kept.Stages {
		if _, only := was[s.Key]; only {
			r.Differs = append(r.Differs, Differ{Of: "stage", Key: s.Key, Was: Told{Start: s.Start, Place: s.Place}})
		}
	}
}

// sameForm compares by what would be kept, to the last digit.
func sameForm(a, b any) bool {
	x, err := json.Marshal(a)
	if err != nil {
		return false
	}
	y, err := json.Marshal(b)
	return err == nil && bytes.Equal(x, y)
}
