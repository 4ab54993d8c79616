package conditions

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// still is a measured moment without wind, rain or errors.
func still(air, dew, coldest, warmest unit.Temperature) Moment {
	return Moment{
		At: time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC), Air: air, DewPoint: dew,
		Coldest: coldest, Warmest: warmest, Sure: Measured,
	}
}

// humid is still air of a humidity round a hull of one temperature.
func humid(air unit.Temperature, rh unit.Humidity, hull unit.Temperature) Moment {
	return still(air, DewPoint(air, rh), hull, hull)
}

// TestTradeCases are the numbered cases of the trade notes, by the default
// profile there (margin 3 °C: ISO 8502-4, second hand; 85 %: project painting
// specifications; wind 6.7 m/s: a city's specification of 15 mph). The margins
// are computed there with another formulation, so ±0.05.
func TestTradeCases(t *testing.T) {
	profile, finishes := usual(t), finish(t)
	in5F := Owned{"spec in F", Limits{Margin: lim[unit.TempDiff](t, "5 F")}}
	gusty := humid(20, 50, 20)
	gusty.Wind, gusty.Gust = 4, 9
	black := humid(24, 55, 45)
	black.Coldest = 24
	hot := Owned{"magazine", Limits{SurfaceMax: lim[unit.Temperature](t, "105 F")}}
	unread := humid(18, 70, noTemp)
	unread.Sure = Unknown
	unread.Why = "the last reading is 5 h 10 min old"
	for _, c := range []struct {
		name    string
		m       Moment
		rules   Rules
		answer  Answer
		binding Quantity
		by      float64
		owner   string
	}{
		{"1 hull 1.3 too cold", humid(18, 84, 17), Strictest(&profile), No, OfMargin, 1.7 - 3, "profile usual"},
		{"2 hull in sun, default", humid(18, 84, 19), Strictest(&profile), Yes, OfHumidity, 85 - 84, "profile usual"},
		{"2 hull in sun, finish", humid(18, 84, 19), Strictest(&profile, finishes), No, OfHumidity, 75 - 84, "profile finish"},
		{"3 humidity met", humid(20, 85, 20), Strictest(&profile), No, OfMargin, 2.6 - 3, "profile usual"},
		{"4 under 3 C", humid(20, 83.3, 20), Strictest(&profile), No, OfMargin, 2.92 - 3, "profile usual"},
		{"4 under 5 F", humid(20, 83.3, 20), Strictest(&profile, in5F), Yes, OfMargin, 2.92 - 25.0/9, "spec in F"},
		{"5 wet", still(8.9, 7.8, 6.7, 6.7), Strictest(&profile), No, OfMargin, -1.1 - 3, "profile usual"},
		{"6 dew at 20:00", humid(14, 88, 12), Strictest(&profile), No, OfMargin, -0.05 - 3, "profile usual"},
		{"7 warming hull", still(20, 3.5, 9, 9), Strictest(&profile), No, OfSurface, -1, "profile usual"},
		{"8 warm front", humid(16, 95, 11), Strictest(&profile), No, OfMargin, -4.2 - 3, "profile usual"},
		{"9 unvented heater", humid(18, 85, 13), Strictest(&profile), No, OfMargin, -2.4 - 3, "profile usual"},
		{"18 gust", gusty, Strictest(&profile), No, OfWind, 6.7 - 9, "profile usual"},
		{"25 black hull", black, Strictest(&profile, hot), No, OfSurface, 40.6 - 45, "magazine"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := Judge(c.m, c.rules)
			if v.Answer != c.answer || v.Binding < 0 {
				t.Fatalf("answer %s binding %d, want %s: %+v", v.Answer, v.Binding, c.answer, v)
			}
			b := v.Margins[v.Binding]
			if b.Of != c.binding || b.Owner != c.owner {
				t.Errorf("binding is %s of %s, want %s of %s", b.Of, b.Owner, c.binding, c.owner)
			}
			near(t, "by", b.By, c.by, 0.055)
			if wet := float64(c.m.Coldest-c.m.DewPoint) <= 0; v.Wet != wet {
				t.Errorf("wet is %t", v.Wet)
			}
		})
	}
	// Case 2: the margin is 3.7, inside by 0.7.
	near(t, "case 2", Judge(humid(18, 84, 19), Strictest(&profile)).Margins[0].By, 0.7, 0.055)
	// Case 3: 85.0 % under a bound of 85 % is met.
	if v := Judge(humid(20, 85, 20), Strictest(&profile)); v.Margins[1].By < 0 {
		t.Errorf("85.0 %% fails 85 %% by %g", v.Margins[1].By)
	}
	// Case 22: unknown, and it says what is missing.
	v := Judge(unread, Strictest(&profile))
	if v.Answer != Undecided || v.Binding != -1 || !strings.Contains(v.Why, "5 h 10 min") || !strings.Contains(v.Why, "no surface temperature") {
		t.Errorf("case 22: %+v", v)
	}
}

// TestWrittenBoundIsExact: 5 °F is 25/9 K, neither 2.8 nor 3.
func TestWrittenBoundIsExact(t *testing.T) {
	rules := Strictest(nil, Owned{"spec", Limits{Margin: lim[unit.TempDiff](t, "5 F")}})
	if v := Judge(still(20, 10, 10+25.0/9, 20), rules); v.Answer != Yes {
		t.Errorf("on the bound: %+v", v)
	}
	if v := Judge(still(20, 10, 10+25.0/9-1e-6, 20), rules); v.Answer != No {
		t.Errorf("a millionth below: %+v", v)
	}
	if rules[0].Written != "5 F" {
		t.Errorf("written as %q", rules[0].Written)
	}
}

// TestUnknownShuts: each value that a rule needs, left out, makes the answer
// unknown and is named; what no rule needs may be missing.
func TestUnknownShuts(t *testing.T) {
	profile := usual(t)
	profile.Limits.RainMax = lim[unit.Share](t, "20 %")
	rules := Strictest(&profile)
	nan := math.NaN()
	for says, spoil := range map[string]func(*Moment){
		"no air temperature":               func(m *Moment) { m.Air = noTemp },
		"no dew point":                     func(m *Moment) { m.DewPoint = noTemp },
		"no surface temperature":           func(m *Moment) { m.Warmest = noTemp },
		"no wind":                          func(m *Moment) { m.Wind, m.Gust = unit.Speed(nan), unit.Speed(nan) },
		"no figure for the chance of rain": func(m *Moment) { m.Rain, m.RainChance = unit.RainRate(nan), unit.Share(nan) },
		"doubtful":                         func(m *Moment) { m.Sure = Unknown },
		"no source":                        func(m *Moment) { m.Sure = "" },
	} {
		m := humid(20, 50, 20)
		if v := Judge(m, rules); v.Answer != Yes {
			t.Fatalf("whole moment: %+v", v)
		}
		spoil(&m)
		v := Judge(m, rules)
		if v.Answer != Undecided || v.Sure != Unknown || v.Chance != 0 || !strings.Contains(v.Why, says) {
			t.Errorf("%s: %+v", says, v)
		}
		if z, binding := Score(&m, rules); z != math.Inf(-1) || binding != -1 {
			t.Errorf("%s: score %v, %d", says, z, binding)
		}
		if changes := Remedies(m, rules, 0); changes != nil {
			t.Errorf("%s: remedies %+v", says, changes)
		}
	}
	m := humid(20, 50, 20)
	m.Gust = unit.Speed(nan)
	if v := Judge(m, rules); v.Answer != Yes {
		t.Errorf("a wind without gust: %+v", v)
	}
}

// TestRain: a measured rain is certain whatever was foretold; an amount without
// a chance is taken at its word.
func TestRain(t *testing.T) {
	rules := Strictest(nil, Owned{"card", Limits{RainMax: lim[unit.Share](t, "20 %")}})
	none := unit.NaN[unit.Share]()
	for _, c := range []struct {
		rain   unit.RainRate
		chance unit.Share
		sure   Sureness
		want   Answer
	}{
		{0, 0.2, Foretold, Yes},
		{0, 0.21, Foretold, No},
		{0.1, 0.1, Foretold, Yes},
		{0.1, 0.1, Measured, No},
		{0.1, none, Foretold, No},
		{0, none, Foretold, Yes},
	} {
		m := humid(20, 50, 20)
		m.Rain, m.RainChance, m.Sure = c.rain, c.chance, c.sure
		if v := Judge(m, rules); v.Answer != c.want {
			t.Errorf("%+v: %s", c, v.Answer)
		}
	}
}

// TestChance: a normal distribution; values from its printed tables.
func TestChance(t *testing.T) {
	for z, want := range map[float64]float64{0: 0.5, 1: 0.8413, 1.645: 0.9500, -1.645: 0.0500, 0.524: 0.6999, 3: 0.99865} {
		near(t, "chance", Chance(z), want, 6e-5)
	}
	near(t, "deviations", Deviations(0.95), 1.6449, 1e-4)
	near(t, "deviations", Deviations(0.7), 0.5244, 1e-4)
	if !math.IsInf(Deviations(1), 1) || !math.IsInf(Deviations(0), -1) {
		t.Error("certainty is no finite number of deviations")
	}
	profile := usual(t)
	m := humid(20, 70, 20)
	m.Sure, m.AirError, m.MarginError = Foretold, 1.8, 1.6
	v := Judge(m, Strictest(&profile))
	margin := float64(m.Coldest - m.DewPoint)
	near(t, "margin's chance", v.Margins[0].Chance, Chance((margin-3)/1.6), 1e-12)
	near(t, "air's chance", v.Margins[2].Chance, Chance(10/1.8), 1e-12)
}

// TestHumidityError: with the published error of the dew point depression at
// 24 h (1.635 K), humidity near the pairs' mean of about 80 % has an error near
// the published 8.74 %.
func TestHumidityError(t *testing.T) {
	m := humid(0, 80, 0)
	m.MarginError = 1.635
	_, deviation := (&Bound{Of: OfHumidity}).of(&m)
	near(t, "humidity's error", deviation, 8.736, 1)
}

func moments() *rapid.Generator[Moment] {
	return rapid.Custom(func(t *rapid.T) Moment {
		air := unit.Temperature(rapid.Float64Range(-5, 40).Draw(t, "air"))
		m := humid(air, unit.Humidity(rapid.Float64Range(10, 100).Draw(t, "humidity")), air)
		m.Coldest += unit.Temperature(rapid.Float64Range(-8, 3).Draw(t, "coldest"))
		m.Warmest = m.Coldest + unit.Temperature(rapid.Float64Range(0, 15).Draw(t, "spread"))
		m.Wind = unit.Speed(rapid.Float64Range(0, 10).Draw(t, "wind"))
		m.Gust = m.Wind * unit.Speed(rapid.Float64Range(1, 2).Draw(t, "gust"))
		if rapid.Bool().Draw(t, "foretold") {
			m.Sure = Foretold
			m.AirError = unit.TempDiff(rapid.Float64Range(0, 3).Draw(t, "air error"))
			m.MarginError = unit.TempDiff(rapid.Float64Range(0, 3).Draw(t, "margin error"))
		}
		if rapid.IntRange(0, 9).Draw(t, "gap") == 0 {
			m.Coldest = noTemp
		}
		if rapid.IntRange(0, 9).Draw(t, "nobody measured the paint") > 0 {
			m.Paint = unit.Some(m.Warmest + unit.Temperature(rapid.Float64Range(-5, 3).Draw(t, "paint")))
		}
		m.Rate = unit.Some(unit.Rate(rapid.Float64Range(-4, 4).Draw(t, "rate")))
		m.MarginRate = unit.Some(unit.Rate(rapid.Float64Range(-1, 4).Draw(t, "margin's rate")))
		m.Film = unit.Some(m.DewPoint + unit.Temperature(rapid.Float64Range(-1, 6).Draw(t, "film")))
		return m
	})
}

// TestScoreAgreesWithJudge, and every remedy makes a yes while half of it does not.
func TestScoreAgreesWithJudge(t *testing.T) {
	profile, finishes := usual(t), finish(t)
	plain, full := Strictest(&profile, finishes), Strictest(&profile, every(t)).And(Rules{noDrip})
	remedied := map[Lever]int{}
	rapid.Check(t, func(t *rapid.T) {
		m := moments().Draw(t, "moment")
		rules := rapid.SampledFrom([]Rules{plain, full, full[len(full)/2:]}).Draw(t, "rules")
		v := Judge(m, rules)
		z, binding := Score(&m, rules)
		if binding != v.Binding || (z >= 0) != (v.Answer == Yes) || v.Chance != Chance(z) {
			t.Fatalf("score %v binding %d, verdict %+v", z, binding, v)
		}
		if v.Answer == Yes {
			for _, b := range v.Margins {
				if b.By < 0 || b.Chance < v.Chance {
					t.Fatalf("a yes with %+v", b)
				}
			}
		}
		for _, c := range Remedies(m, rules, 0) {
			remedied[c.Of]++
			// To the bound or past it by a hair: the inversion of humidity is not exact, and
			// past one bound may be past the next.
			to, past := Judge(apply(m, c, 1), rules), Judge(apply(m, c, 1+1e-6), rules)
			if to.Answer != Yes && past.Answer != Yes {
				t.Fatalf("%+v leaves %+v", c, past)
			}
			// Half of next to nothing is within the tolerance of every comparison.
			if half := apply(m, c, 0.5); math.Abs(c.By) > 1e-6 && Judge(half, rules).Answer == Yes {
				t.Fatalf("half of %+v is enough", c)
			}
		}
	})
	if len(remedied) == 0 {
		t.Error("no remedy was ever given")
	}
}

// apply moves a lever by part of a change.
func apply(m Moment, c Change, part float64) Moment {
	by := unit.Temperature(c.By * part)
	switch c.Of {
	case TheSurface:
		m.Coldest, m.Warmest = m.Coldest+by, m.Warmest+by
	case TheWater:
		m.DewPoint += by
	case TheAir:
		m.Air += by
	case ThePlace:
		m.Air, m.Coldest, m.Warmest = m.Air+by, m.Coldest+by, m.Warmest+by
	case TheWind:
		m.Wind, m.Gust = m.Wind+unit.Speed(by), m.Gust+unit.Speed(by)
	case TheRain:
		m.RainChance += unit.Share(by)
	case ThePaint:
		m.Paint = unit.Some(m.Paint.OrNaN() + by)
	}
	return m
}

// TestMarginFallsWithHumidity, and the chance rises with the margin.
func TestMarginFallsWithHumidity(t *testing.T) {
	profile := usual(t)
	rules := Strictest(nil, Owned{"card", Limits{Margin: profile.Limits.Margin}})
	rapid.Check(t, func(t *rapid.T) {
		air := unit.Temperature(rapid.Float64Range(-5, 40).Draw(t, "air"))
		dry := unit.Humidity(rapid.Float64Range(5, 99).Draw(t, "drier"))
		wet := dry + unit.Humidity(rapid.Float64Range(0.01, 1).Draw(t, "more"))
		a, b := humid(air, dry, air), humid(air, wet, air)
		a.MarginError, b.MarginError = 1.5, 1.5
		drier, wetter := Judge(a, rules), Judge(b, rules)
		if !(drier.Margins[0].By > wetter.Margins[0].By) {
			t.Fatalf("margins %v, %v", drier.Margins[0].By, wetter.Margins[0].By)
		}
		if drier.Chance < wetter.Chance {
			t.Fatalf("chances %v, %v", drier.Chance, wetter.Chance)
		}
	})
}

// TestVerdictJSON: unknown values are null, and come back unknown.
func TestVerdictJSON(t *testing.T) {
	profile := usual(t)
	v := Judge(still(20, 10, noTemp, noTemp), Strictest(&profile))
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(text), `"value":null,"by":null`) {
		t.Errorf("no null in %s", text)
	}
	var back Verdict
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if !math.IsNaN(back.Margins[0].Value) || back.Margins[2].Value != 20 || back.Margins[2].Owner != "profile usual" {
		t.Errorf("came back as %+v", back)
	}
}

// TestScoreAllocatesNothing: the search asks it millions of times.
func TestScoreAllocatesNothing(t *testing.T) {
	rules := Strictest(nil, usual(t), every(t)).And(Rules{noDrip})
	m := humid(18, 70, 18)
	m.Paint, m.Film = unit.Some(unit.Temperature(20)), unit.Some(unit.Temperature(20))
	m.Rate, m.MarginRate = unit.Some(unit.Rate(0)), unit.Some(unit.Rate(0))
	if z, _ := Score(&m, rules); z < 0 {
		t.Fatal("it shuts before it has looked at every rule")
	}
	if n := testing.AllocsPerRun(100, func() { Score(&m, rules) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkScore(b *testing.B) {
	profile := usual(b)
	rules := Strictest(&profile)
	m := humid(18, 70, 18)
	b.ReportAllocs()
	for b.Loop() {
		Score(&m, rules)
	}
}
