package unit

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestParse: the same words are a point on one scale and a distance on another.
// Factors are those of NIST SP 811; 5 °F is 25/9 K.
func TestParse(t *testing.T) {
	near := func(text string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9*math.Max(1, math.Abs(want)) {
			t.Errorf("%s is %v, want %v", text, got, want)
		}
	}
	for text, want := range map[string]float64{
		"18 C": 18, "18C": 18, "18 °C": 18, " 64 F ": 160.0 / 9, "5 F": -15, "-40F": -40, "293.15 K": 20, "+3 C": 3, ".5 C": 0.5,
	} {
		w, err := Parse[Temperature](text)
		if err != nil {
			t.Error(err)
		}
		near(text, float64(w.SI), want)
	}
	for text, want := range map[string]float64{"5 F": 25.0 / 9, "3 C": 3, "3 K": 3} {
		w, err := Parse[TempDiff](text)
		if err != nil {
			t.Error(err)
		}
		near(text, float64(w.SI), want)
	}
	speed, _ := Parse[Speed]("15 mph")
	near("15 mph", float64(speed.SI), 6.7056)
	knots, _ := Parse[Speed]("10 kn")
	near("10 kn", float64(knots.SI), 5.144444444)
	film, _ := Parse[Film]("2.5 mil")
	near("2.5 mil", float64(film.SI), 63.5)
	flow, _ := Parse[Flow]("1000 cfm")
	near("1000 cfm", float64(flow.SI), 1699.01082)
	share, _ := Parse[Share]("20 %")
	near("20 %", float64(share.SI), 0.2)
	pressure, _ := Parse[Pressure]("23 inHg")
	near("23 inHg", float64(pressure.SI), 77886.947)
}

// TestFeetAndInches: a foot is 0.3048 m and has 12 inches (NIST Handbook 44, appendix C), and
// what was written comes back to the letter.
func TestFeetAndInches(t *testing.T) {
	for text, want := range map[string]struct {
		m       float64
		written string
	}{
		"13 ft 6 in": {4.1148, "13 ft 6 in"}, "13ft6in": {4.1148, "13 ft 6 in"}, ` 13' 6" `: {4.1148, "13 ft 6 in"}, "13’6”": {4.1148, "13 ft 6 in"}, "13′ 6.5″": {4.1275, "13 ft 6.5 in"}, "13 ft 6.1 in": {4.11734, "13 ft 6.1 in"}, "100 ft 0.1 in": {30.48254, "100 ft 0.1 in"},
		"40 ft 0 in": {12.192, "40 ft 0 in"}, "40'": {12.192, "40 ft"}, `6"`: {0.1524, "6 in"}, "0 ft 11.75 in": {0.29845, "0 ft 11.75 in"}, "13.5 ft": {4.1148, "13.5 ft"},
	} {
		w, err := Parse[Length](text)
		if err != nil || math.Abs(float64(w.SI)-want.m) > 1e-12 || w.String() != want.written {
			t.Errorf("%s is %v m, written %q, want %+v: %v", text, w.SI, w, want, err)
		}
	}
	for _, text := range []string{"13 ft 12 in", "13.5 ft 6 in", "13 ft 6", "13 ft in", "6 in 13 ft", "13 ft -6 in", "1234567 ft 1 in", `13" 6'`, "ft 6 in"} {
		if w, err := Parse[Length](text); err == nil || !strings.Contains(err.Error(), `13 ft 6 in`) {
			t.Errorf("%q was read as %v: %v", text, w, err)
		}
	}
	if w, err := Parse[Film](`6"`); err == nil {
		t.Errorf("a film of %v", w)
	}
}

// TestParseRefuses with what is wrong and what would be right.
func TestParseRefuses(t *testing.T) {
	for text, says := range map[string][]string{
		"":           {"is not a temperature", `like "18 C"`},
		"warm":       {`"warm" is not a temperature`, "C, F, K"},
		"18":         {`"18" has no unit`, "C, F, K"},
		"18 X":       {`"X" is not a unit of temperature`, "C, F, K"},
		"18 c":       {`"c" is not a unit of temperature`},
		"1,5 C":      {"has a comma", "4.2 C"},
		"1-2 C":      {"is not a temperature"},
		"1e3 C":      {"not a unit of temperature"},
		"NaN C":      {"is not a temperature"},
		"18 % humid": {"not a unit of temperature"},
		",5 C":       {"has a comma"},
	} {
		w, err := Parse[Temperature](text)
		if err == nil {
			t.Errorf("%q was read as %v", text, w)
			continue
		}
		for _, part := range says {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%q does not say %q", err, part)
			}
		}
	}
	if w, err := Parse[Film](strings.Repeat("9", 308) + " mm"); err == nil {
		t.Errorf("read as %v", w)
	}
}

// TestWrittenRoundTrip: what a person wrote is shown and stored as written.
func TestWrittenRoundTrip(t *testing.T) {
	roundTrip[Temperature](t)
	roundTrip[TempDiff](t)
	roundTrip[Humidity](t)
	roundTrip[Pressure](t)
	roundTrip[Speed](t)
	roundTrip[RainRate](t)
	roundTrip[Length](t)
	roundTrip[Film](t)
	roundTrip[Area](t)
	roundTrip[Volume](t)
	roundTrip[Share](t)
	roundTrip[Power](t)
	roundTrip[Flow](t)
	roundTrip[WaterRate](t)
	roundTrip[Mass](t)
	roundTrip[WorkRate](t)
	roundTrip[Rate](t)
	roundTrip[Conductance](t)
}

func roundTrip[T ~float64](t *testing.T) {
	t.Helper()
	name, units := kind[T]()
	if units == nil {
		t.Fatalf("%T has no units", T(0))
	}
	rapid.Check(t, func(t *rapid.T) {
		symbol := rapid.SampledFrom(order(units)).Draw(t, "unit")
		value := rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		w := Written[T]{Value: value, Unit: symbol}
		text, err := w.MarshalText()
		if err != nil {
			t.Fatal(err)
		}
		var back Written[T]
		if err := back.UnmarshalText(text); err != nil {
			t.Fatal(name, err)
		}
		if back.Value != value || back.Unit != symbol {
			t.Fatalf("%s: %s came back as %v", name, text, back)
		}
		if in := In(back.SI, symbol); math.Abs(in-value) > 1e-6 {
			t.Fatalf("%s: %s is %v %s", name, text, in, symbol)
		}
		of := Of(back.SI)
		again, err := Parse[T](of.String())
		if err != nil || math.Abs(float64(again.SI-back.SI)) > 1e-9*math.Max(1, math.Abs(float64(back.SI))) {
			t.Fatalf("%s: Of(%v) is written %s: %v, %v", name, back.SI, of, again.SI, err)
		}
	})
}

func TestNothingWritten(t *testing.T) {
	var w Written[Temperature]
	text, err := w.MarshalText()
	if err != nil || len(text) != 0 || !w.IsZero() {
		t.Errorf("%q, %v", text, err)
	}
	w, _ = Parse[Temperature]("18 C")
	if err := w.UnmarshalText(nil); err != nil || !w.IsZero() {
		t.Errorf("%v, %v", w, err)
	}
	w, _ = Parse[Temperature]("18 C")
	if err := w.UnmarshalText([]byte("cold")); err == nil || w.Value != 18 {
		t.Errorf("a bad text left %v, %v", w, err)
	}
	if s := Of(Share(0.07)).String(); s != "7 %" {
		t.Errorf("0.07 is written %q", s)
	}
	if v := In(Temperature(20), "mph"); !math.IsNaN(v) {
		t.Errorf("20 °C in mph is %v", v)
	}
}

// TestUnknownIsNull in JSON, both ways, and a text is refused.
func TestUnknownIsNull(t *testing.T) {
	type all struct {
		T Temperature
		D TempDiff
		H Humidity
		S Speed
		R RainRate
		P Share
	}
	unknown := all{NaN[Temperature](), NaN[TempDiff](), NaN[Humidity](), NaN[Speed](), NaN[RainRate](), NaN[Share]()}
	text, err := json.Marshal(unknown)
	if err != nil || string(text) != `{"T":null,"D":null,"H":null,"S":null,"R":null,"P":null}` {
		t.Fatalf("%s, %v", text, err)
	}
	var back all
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if Known(back.T) || Known(back.D) || Known(back.H) || Known(back.S) || Known(back.R) || Known(back.P) {
		t.Errorf("came back as %+v", back)
	}
	if err := json.Unmarshal([]byte(`{"T":18.123456789,"D":-1,"H":85,"S":6.7,"R":0.2,"P":0.5}`), &back); err != nil || back.T != 18.123456789 || back.P != 0.5 {
		t.Errorf("%+v, %v", back, err)
	}
	if err := json.Unmarshal([]byte(`{"T":"warm"}`), &back); err == nil || !strings.Contains(err.Error(), "not a number") {
		t.Errorf("a text for a number: %v", err)
	}
	if back.T.Over(18) <= 0 || Temperature(18).Plus(2.5) != 20.5 {
		t.Error("over and plus")
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"18 C", "5F", "°C", "-.", "1e9 K", "18 °F", "0x10 C", " 3\tC", strings.Repeat("9", 400) + " C", "13 ft 6 in", `13' 6.25"`, "-1 ft 0 in", "0 ft 11.99999999999999999 in"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		readBack[Temperature](t, text)
		readBack[Length](t, text)
	})
}

// readBack: what was read is known, and reads the same as it is written.
func readBack[T ~float64](t *testing.T, text string) {
	w, err := Parse[T](text)
	if err != nil {
		return
	}
	if !Known(w.SI) || w.IsZero() {
		t.Fatalf("%q gave %+v", text, w)
	}
	again, err := Parse[T](w.String())
	if err != nil || again != w {
		t.Fatalf("%q is %q, which gave %+v, %v", text, w, again, err)
	}
}
