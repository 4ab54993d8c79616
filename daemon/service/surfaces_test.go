package service

import (
	"math"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// People see what the clocks go by: each part that is coated, warmest where the sun
// stands, and by how much the model was off when the hull was last read.
func TestWorkedOutForPeople(t *testing.T) {
	f := ashore(config.Slip, "dark")
	f.boats[0].Areas = append(f.boats[0].Areas, config.Area{Name: "foredeck"})
	w := f.workedOut("Teal", noon)
	if len(w.Parts) != 2 || w.Parts[0].Part != conditions.Sides || w.Parts[1].Part != conditions.Deck {
		t.Fatalf("parts %+v, want the sides and the deck", w.Parts)
	}
	if !(w.Parts[1].Coldest > w.Parts[0].Coldest+5) || !w.Read.IsZero() || unit.Known(w.Model) || unit.Known(w.Coldest) {
		t.Errorf("never read, at noon: %+v", w)
	}
	read := noon.Add(-20 * time.Minute)
	f.surfaceReads(read, float64(w.Parts[0].Coldest)+4)
	is := f.workedOut("Teal", noon)
	if !is.Read.Equal(read) || is.Coldest != w.Parts[0].Coldest+4 || math.Abs(float64(is.Model-w.Parts[0].Coldest)) > 1 {
		t.Errorf("read 4 K over %v: %+v", w.Parts[0].Coldest, is)
	}
	if moved := is.Parts[0].Coldest.Over(w.Parts[0].Coldest); !(moved > 1 && moved < 5) {
		t.Errorf("the reading moves it by %v K", moved)
	}
	f.surfaceReads(noon.Add(time.Hour), 12) // by a clock that runs ahead
	if is := f.workedOut("Teal", noon); !is.Read.Equal(read) {
		t.Errorf("last read %v, want %v", is.Read, read)
	}
	later := noon.Add(9 * time.Hour)
	f.followHulls(later)
	if w := f.workedOut("Teal", later); len(w.Parts) != 0 {
		t.Errorf("nine hours after the last word of the air: %+v", w.Parts)
	}
}

// What a place's own probe read before the boat came was another hull.
func TestTheHullBeforeIsNotThisOne(t *testing.T) {
	f := ashore(config.Shed, "white")
	ago := noon.Add(-time.Hour)
	f.add(sensors.Reading{Source: "probe", Place: "here", At: ago, Received: ago, Values: map[conditions.Variable]float64{conditions.Surface: 14, conditions.SurfaceWarmest: 15}}, noon)
	if w := f.workedOut("Teal", noon); w.Coldest != 14 {
		t.Fatalf("the place's own probe counts not: %+v", w)
	}
	for i, place := range []string{"afloat", "here"} {
		f.presses = append(f.presses, planner.Press{ID: int64(i + 2), Kind: planner.Moved, Key: planner.Key{Boat: "Teal"}, Place: place, Happened: noon.Add(time.Duration(i-2) * 20 * time.Minute)})
	}
	f.work = planner.Replay(f.yard, f.boats, f.presses)
	if w := f.workedOut("Teal", noon); !w.Read.IsZero() {
		t.Errorf("read at %v, before it came", w.Read)
	}
	if m := f.hull("Teal", noon); unit.Known(m.Coldest) || unit.Known(m.Warmest) || m.Air != 22 {
		t.Errorf("it is %v to %v °C in air of %v °C by what was read before it came, want unknown in 22 °C", m.Coldest, m.Warmest, m.Air)
	}
	f.add(sensors.Reading{Source: "probe", Place: "here", At: noon, Received: noon, Values: map[conditions.Variable]float64{conditions.Surface: 9}}, noon)
	if m := f.hull("Teal", noon); m.Coldest != 9 || m.Warmest != 9 {
		t.Errorf("it is %v to %v °C, want the 9 °C read since it came", m.Coldest, m.Warmest)
	}
}

// The page has the clock that the notices go by, once there is one.
func TestCoatForPeople(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats")
	r.forecast("a.csv", monday, dry)
	r.measuring(at(0, 7, 0), good)
	if is, _, _, err := r.svc.Coat(t.Context(), "Boat One", "topsides"); err != nil || is.Key.Stage != "" {
		t.Errorf("before any coat: %+v, %v", is, err)
	}
	r.measuring(at(0, 8, 0), good)
	r.coat(first, at(0, 7, 0), at(0, 8, 0))
	r.measuring(at(0, 12, 0), good)
	is, surface, closes, err := r.svc.Coat(t.Context(), "Boat One", "topsides")
	if err != nil || is.Key != first || !is.Clock.Coated.Equal(at(0, 8, 0)) {
		t.Fatalf("%+v, %v", is, err)
	}
	if far := is.Clock.Slow[conditions.Recoat]; far < 0.45 || far > 0.55 {
		t.Errorf("after 4 of 8 h it is %v on its way", far)
	}
	if !(surface.Coldest > 15 && surface.Warmest < 25) {
		t.Errorf("it stands in %+v", surface)
	}
	if d := closes.Sub(at(1, 14, 0)); d.Abs() > 10*time.Minute {
		t.Errorf("closes %v, want Tue 14:00", closes)
	}
}

// What was heard in a place has the boat's own probe, since the boat came.
func TestReadingsGoWithTheBoat(t *testing.T) {
	t.Parallel()
	r := playEvery(t, 15*time.Minute, "two coats", "forecasts:", `  - {name: puck, boat: Boat One, every: 10 min, values: {surface: {path: surface}}}
forecasts:`)
	r.forecast("a.csv", monday, dry)
	puck := func(v string) {
		t.Helper()
		if code, answer := r.send(`{"source": "puck", "values": {"surface": ` + v + `}}`); code != 202 {
			t.Fatalf("%d %s", code, answer)
		}
		r.settle()
	}
	r.press(planner.Press{Kind: planner.Moved, Key: planner.Key{Boat: "Boat One"}, Place: "row"})
	r.measuring(at(0, 6, 30), good)
	puck("9.5")
	r.measuring(at(0, 7, 0), good)
	r.press(planner.Press{Kind: planner.Moved, Key: planner.Key{Boat: "Boat One"}, Place: "booth"})
	r.measuring(at(0, 7, 30), good)
	puck("18.5")
	heard := func(place string) (values []float64) {
		t.Helper()
		all, err := r.svc.Readings(t.Context(), place, monday.Add(-time.Hour), at(0, 9, 0))
		if err != nil {
			t.Fatal(err)
		}
		for i, one := range all {
			if i > 0 && one.At.Before(all[i-1].At) {
				t.Errorf("%v comes after %v", one.At, all[i-1].At)
			}
			if one.Source == "puck" {
				values = append(values, one.Values[conditions.Surface])
			}
		}
		return values
	}
	if got := heard("booth"); len(got) != 1 || got[0] != 18.5 {
		t.Errorf("in the booth the puck said %v, want 18.5 alone", got)
	}
	if got := heard("row"); len(got) != 0 {
		t.Errorf("in the row it said %v", got)
	}
}
