package unit

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// TestMaybe: what nobody gave is unknown, absent from JSON, and comes back unknown,
// also from a text written before there was such a value.
func TestMaybe(t *testing.T) {
	type moment struct {
		Paint Maybe[Temperature] `json:"paint,omitzero"`
		Rate  Maybe[Rate]        `json:"rate,omitzero"`
	}
	for _, c := range []struct {
		m    moment
		text string
	}{
		{moment{}, `{}`},
		{moment{Some(Temperature(0)), Some(Rate(-2.5))}, `{"paint":0,"rate":-2.5}`},
		{moment{Paint: Some(Temperature(math.NaN())), Rate: Some(Rate(math.Inf(1)))}, `{}`},
	} {
		text, err := json.Marshal(c.m)
		if err != nil || string(text) != c.text {
			t.Errorf("%+v is %s, %v; want %s", c.m, text, err, c.text)
		}
		var back moment
		if err := json.Unmarshal(text, &back); err != nil || back != c.m {
			t.Errorf("%s came back as %+v, %v", text, back, err)
		}
	}
	if !math.IsNaN(float64(Maybe[Rate]{}.OrNaN())) || Some(Rate(3)).OrNaN() != 3 {
		t.Error("the value")
	}
	m := Some(Rate(3))
	if err := json.Unmarshal([]byte(`null`), &m); err != nil || !m.IsZero() {
		t.Errorf("null came back as %+v, %v", m, err)
	}
	if err := json.Unmarshal([]byte(`"fast"`), &m); err == nil || !strings.Contains(err.Error(), "not a number") {
		t.Errorf("a text for a number: %v", err)
	}
}

// TestRate: 5 °F an hour are 25/9 K an hour, and a rate is no temperature.
func TestRate(t *testing.T) {
	if w, err := Parse[Rate]("5 F/h"); err != nil || math.Abs(float64(w.SI)-25.0/9) > 1e-12 || w.String() != "5 F/h" {
		t.Errorf("%+v, %v", w, err)
	}
	if w, err := Parse[Rate]("5 F"); err == nil || !strings.Contains(err.Error(), "C/h, F/h, K/h") {
		t.Errorf("%+v, %v", w, err)
	}
}
