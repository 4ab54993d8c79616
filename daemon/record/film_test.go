package record

import (
	"bytes"
	"encoding/csv"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/planner"
)

func TestReadingsAsTyped(t *testing.T) {
	for typed, want := range map[string][][]float64{
		"110 120 115":           {{110, 120, 115}},
		"110 um 4.7 mil":        {{110, 119.38}},
		"48 50; 52,5 51\n49 50": {{48, 50}, {52.5, 51}, {49, 50}},
		"0.2mm":                 {{200}},
		"":                      nil,
	} {
		if got, err := Spots(typed, "µm"); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%q: %v, %v", typed, got, err)
		}
	}
	if got, err := Reading("5", "mil"); err != nil || math.Abs(got-127) > 1e-9 { // 25.4 µm to the mil, exactly
		t.Errorf("5 mil is %g µm, %v", got, err)
	}
	for typed, says := range map[string]string{
		"1200 mm": "was it 1200 um?", "9000": "more than any film", "0.2": "less than any film", "thick": "is not a film thickness", "12 kg": "not a unit", "-5 um": "less than any",
	} {
		if _, err := Spots(typed, "µm"); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v; want %q", typed, err, says)
		}
	}
}

func FuzzSpots(f *testing.F) {
	for _, s := range []string{"110 120", "4.7 mil; 3", "1200 mm", "1e9 um", "; ;", "NaN", "5 um um"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		spots, err := Spots(typed, "µm")
		for _, spot := range spots {
			if err != nil || len(spot) == 0 {
				t.Fatalf("%q: %v, %v", typed, spots, err)
			}
			for _, um := range spot {
				if !(um >= thinnest && um <= thickest) {
					t.Fatalf("%q is taken as a film of %g µm", typed, um)
				}
			}
		}
	})
}

// A spot is the mean of its readings, and the film's figures are those of spots.
func TestFilmFigures(t *testing.T) {
	got := film([][]float64{{40, 50, 60}, {61}, {}, {20, 40}}, false)
	if want := (Film{Readings: 6, Spots: 3, Least: 30, Mean: 47, Greatest: 61}); got == nil || *got != want {
		t.Errorf("%+v", got)
	}
	if film(nil, true) != nil {
		t.Error("a film of no reading")
	}
	rapid.Check(t, func(t *rapid.T) {
		spots := rapid.SliceOfN(rapid.SliceOfN(rapid.Float64Range(1, 5000), 1, 4), 1, 8).Draw(t, "spots")
		f := film(spots, false)
		if !(f.Least <= f.Mean+.1 && f.Mean <= f.Greatest+.1) {
			t.Errorf("%+v", f)
		}
	})
}

// What a spreadsheet would run is kept from it, and a second reader finds every row whole.
func TestCSV(t *testing.T) {
	s := painted()
	s.add(planner.Held, "look", at(2, 10, 0), note("=HYPERLINK(\"x\"), \"quoted\"\nsecond line"))
	s.add(planner.Freed, "look", at(2, 11, 0), note("-5 was too cold"))
	f := facts(s)
	f.Entries = []Entry{{ID: 1, Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: "first"}, At: at(1, 8, 30), By: "@Ines", Wet: []float64{110, 120}, Dry: [][]float64{{40, 41}}, Instrument: "comb", Base: Pot{"+B1", 2.4}}}
	f.Signatures = []Signature{{Key: planner.Key{Boat: "Alder"}, Act: Signed, By: "Rui", Role: "manager", At: at(3, 8, 0), Digest: "ab"}}
	r := Of(measured(f, func(t time.Time) (conditions.Moment, bool) {
		m, _ := fair(t)
		m.DewPoint = -4
		return m, !t.Equal(at(1, 8, 30))
	}))
	var b bytes.Buffer
	if err := r.CSV(&b); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
	if err != nil || !bytes.Contains(b.Bytes(), []byte("\r\n")) {
		t.Fatal(err)
	}
	kinds := map[string]int{}
	column := map[string]int{}
	for i, name := range rows[0] {
		column[name] = i
	}
	for _, row := range rows[1:] {
		kinds[row[0]]++
		for _, cell := range row {
			if strings.ContainsAny(cell[:min(1, len(cell))], "=+@") || strings.HasPrefix(cell, "-") && cell != "-4" {
				t.Errorf("a spreadsheet would run %q", cell)
			}
		}
		if row[0] == "conditions" && row[column["at_utc"]] == "2026-05-04T08:30:00Z" && (row[column["what"]] != "not measured" || row[column["air_C"]] != "") {
			t.Errorf("%v", row)
		}
	}
	// two wet readings, two dry ones and a pot; eight reports; 5 + 3 samples; one gap
	if want := map[string]int{"report": 8, "conditions": 8, "gap": 1, "entry": 5, "signature": 1}; !reflect.DeepEqual(kinds, want) {
		t.Errorf("%v", kinds)
	}
	if !strings.Contains(b.String(), "'=HYPERLINK(") || !strings.Contains(b.String(), "'-5 was") || !strings.Contains(b.String(), ",-4,") {
		t.Errorf("%s", b.String())
	}
}

// A spreadsheet runs no text and adds up every number.
func TestGuarded(t *testing.T) {
	for v, want := range map[string]string{"": "", "plain": "plain", "=1+1": "'=1+1", "@x": "'@x", "-5 was": "'-5 was", "\n=1": "'\n=1", "\t=1": "'\t=1", "-4": "-4", "+0.5": "+0.5"} {
		if got := Guarded(v); got != want {
			t.Errorf("%q is written %q, want %q", v, got, want)
		}
	}
}
