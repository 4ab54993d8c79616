package engine

import (
	"bytes"
	"context"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"
)

func compiled(t testing.TB, name string) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(Schema()))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("engine.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("engine.json#/$defs/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func held(t testing.TB, s *jsonschema.Schema, v any) error {
	t.Helper()
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return s.Validate(doc)
}

// Problems and their results are what the schema says, and come back from JSON as
// they were.
func TestSchema(t *testing.T) {
	problem, result := compiled(t, "Problem"), compiled(t, "Result")
	for seed := range uint64(30) {
		p := seeded(seed).problem(3, 3, 3)
		r := solve(t, context.Background(), p, Effort{Seed: seed})
		if err := held(t, problem, p); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		if err := held(t, result, r); err != nil {
			t.Errorf("seed %d: %v", seed, err)
		}
		text, _ := json.Marshal(r)
		var back Result
		if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(r, back) {
			t.Errorf("seed %d: came back another: %v", seed, err)
		}
	}
	if held(t, problem, map[string]any{"slots": 0, "tasks": nil, "weights": map[string]any{}}) == nil {
		t.Error("no slots are right by the schema")
	}
}

// The schema has the fields that the types have, and no others.
func TestSchemaFields(t *testing.T) {
	var doc struct {
		Defs map[string]struct {
			Properties map[string]any
		} `json:"$defs"`
	}
	if err := json.Unmarshal(Schema(), &doc); err != nil {
		t.Fatal(err)
	}
	seen := map[reflect.Type]bool{}
	var walk func(reflect.Type)
	walk = func(v reflect.Type) {
		for v.Kind() == reflect.Slice || v.Kind() == reflect.Pointer {
			v = v.Elem()
		}
		if v.Kind() != reflect.Struct || seen[v] {
			return
		}
		seen[v] = true
		var want, got []string
		for i := range v.NumField() {
			name, _, _ := strings.Cut(v.Field(i).Tag.Get("json"), ",")
			want = append(want, name)
			walk(v.Field(i).Type)
		}
		for name := range doc.Defs[v.Name()].Properties {
			got = append(got, name)
		}
		slices.Sort(want)
		slices.Sort(got)
		if !slices.Equal(want, got) {
			t.Errorf("%s: has %v, the schema %v", v.Name(), want, got)
		}
	}
	walk(reflect.TypeFor[Problem]())
	walk(reflect.TypeFor[Result]())
	if len(seen) != len(doc.Defs) {
		t.Errorf("%d types, %d definitions", len(seen), len(doc.Defs))
	}
}

// Whatever the JSON says, it is refused with a reason or solved within the rules.
func FuzzProblem(f *testing.F) {
	for seed := range uint64(4) {
		text, _ := json.Marshal(seeded(seed).problem(2, 2, 2))
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		var p Problem
		if json.Unmarshal(text, &p) != nil || p.Slots > 500 || len(p.Tasks) > 30 {
			return
		}
		r, err := Solve(context.Background(), p, Effort{Rounds: 1})
		if err != nil {
			return
		}
		for _, fault := range Check(p, r) {
			t.Error(fault)
		}
	})
}
