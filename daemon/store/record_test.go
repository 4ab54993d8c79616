package store

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// What is entered, struck and signed comes back as it was, in its order, and counts once.
func TestRecordsComeBack(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := open(t, dir)
	coat := planner.Key{Boat: "Alder", Area: "topsides", Stage: "prime"}
	terms := json.RawMessage(`{"card":{}}`)
	digest := record.Sum(terms)
	done := commit(t, s, Change{
		Presses: []planner.Press{{Kind: planner.Started, Key: coat, Happened: noon, Entered: noon, By: "Ines", Terms: digest}},
		Terms:   map[string]json.RawMessage{digest: terms},
	})
	struck := planner.Press{Kind: planner.Struck, Key: coat, Strikes: done.Presses[0].ID, Happened: noon.Add(time.Minute), Entered: noon.Add(time.Minute), By: "Rui", Note: "a slip"}
	commit(t, s, Change{Presses: []planner.Press{struck}, Terms: map[string]json.RawMessage{digest: terms}})

	entry := record.Entry{Key: coat, At: noon, Entered: noon, By: "Ines", Once: "e1", Wet: []float64{110, 119.38}, Instrument: "comb", Base: record.Pot{Batch: "B", Litres: 2.4}}
	for i, want := range []int{1, 0} {
		if done := commit(t, s, Change{Entries: []record.Entry{entry}}); len(done.Entries) != want {
			t.Errorf("time %d: %d entries kept", i, len(done.Entries))
		}
	}
	strike := record.Entry{Key: coat, At: noon, Entered: noon, By: "Rui", Strikes: 1, Note: "misread"}
	commit(t, s, Change{Entries: []record.Entry{strike}})

	text := []byte("{}\n")
	signature := record.Signature{Key: planner.Key{Boat: "Alder"}, Act: record.Signed, By: "Rui", Role: "manager", At: noon, Digest: record.Sum(text), Once: "s1"}
	commit(t, s, Change{Signed: []NewSignature{{signature, text}}})
	if _, err := s.Commit(t.Context(), Change{At: noon, Signed: []NewSignature{{record.Signature{Key: coat, Act: record.Signed, Digest: "00"}, text}}}); err == nil {
		t.Error("a digest that is not the record's was kept")
	}
	s.Close()

	s = open(t, dir)
	presses, err := s.Presses(t.Context())
	if err != nil || len(presses) != 2 || presses[0].Terms != digest || presses[1].Strikes != 1 || len(planner.Standing(presses)) != 0 {
		t.Errorf("%+v, %v", presses, err)
	}
	entry.ID, strike.ID, signature.ID = 1, 2, 1
	if got, err := s.Entries(t.Context(), "Alder"); err != nil || !reflect.DeepEqual(got, []record.Entry{entry, strike}) {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := s.Entries(t.Context(), "Birch"); err != nil || len(got) != 0 {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := s.SignOffs(t.Context()); err != nil || !reflect.DeepEqual(got, []record.Signature{signature}) {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := s.SignedRecord(t.Context(), 1); err != nil || string(got) != string(text) {
		t.Errorf("%q, %v", got, err)
	}
	if got, err := s.Terms(t.Context(), map[string]bool{digest: true}); err != nil || string(got[digest]) != string(terms) {
		t.Errorf("%s, %v", got, err)
	}
	if _, err := s.Terms(t.Context(), map[string]bool{"none": true}); err == nil {
		t.Error("terms that are not there")
	}
}

// A strike names a press that is there.
func TestAStrikeOfNothingIsNotKept(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	_, err := s.Commit(t.Context(), Change{At: noon, Presses: []planner.Press{{Kind: planner.Struck, Key: planner.Key{Boat: "Alder"}, Strikes: 7, Happened: noon, Entered: noon, By: "Rui"}}})
	if err == nil {
		t.Error("it was kept")
	}
}

// The plan behind a coat is the one that people had been given then, else the newest draft.
func TestPlanBehind(t *testing.T) {
	t.Parallel()
	s := open(t, t.TempDir())
	at := func(minutes int) time.Time { return noon.Add(time.Duration(minutes) * time.Minute) }
	first := commit(t, s, Change{At: at(0), Plan: &NewPlan{Plan: plan(1), Problem: problem(1)}}).Plan
	second := commit(t, s, Change{At: at(10), Plan: &NewPlan{Plan: plan(2), Problem: problem(2)}}).Plan
	commit(t, s, Change{At: at(20), Release: &Release{Plan: first, By: "Ines"}})
	for minutes, want := range map[int]int64{-5: 0, 5: first, 15: second, 25: first} {
		row, ok, err := s.PlanBehind(t.Context(), at(minutes))
		if err != nil || ok != (want != 0) || row.ID != want {
			t.Errorf("at %d min: plan %d, %v, want %d", minutes, row.ID, err, want)
		}
	}
}
