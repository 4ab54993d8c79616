package conditions

import (
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// every sets each limit beyond those of the usual profile. Falls, the differences
// of surface and air and the gusts are made up; "and rising" and a paint at least as
// warm as the surface are MIL-HDBK-1110's, 9.6.6 and 7.4.1.
func every(t testing.TB) Owned {
	return Owned{"card all", Limits{
		WindMax:    lim[unit.Speed](t, "5 m/s"),
		GustMax:    lim[unit.Speed](t, "9 m/s"),
		AboveAir:   lim[unit.TempDiff](t, "12 C"),
		BelowAir:   lim[unit.TempDiff](t, "4 C"),
		Falls:      lim[unit.Rate](t, "3 K/h"),
		Rising:     lim[unit.Rate](t, "0 K/h"),
		PaintBelow: lim[unit.TempDiff](t, "0 K"),
	}}
}

// noDrip is the rule of a tent whose film may not be wet.
var noDrip = Bound{Of: OfDrip, Least: true, At: 0, Written: "0 K", Owner: "a tent that does not drip"}

// fair is a moment within every limit, by 1 K or more where there is a choice.
func fair() Moment {
	m := humid(20, 50, 20)
	m.Wind, m.Gust = 4, 8
	m.Paint, m.Film = unit.Some(unit.Temperature(22)), unit.Some(unit.Temperature(15))
	m.Rate, m.MarginRate = unit.Some(unit.Rate(-1)), unit.Some(unit.Rate(1))
	return m
}

// TestQuantities: each of the newer bounds, met to the last digit, and missed by
// a hair; what is read when it is missed, and what one lever mends it.
func TestQuantities(t *testing.T) {
	profile := usual(t)
	rules := Strictest(&profile, every(t)).And(Rules{noDrip})
	if v := Judge(fair(), rules); v.Answer != Yes {
		t.Fatalf("the fair moment: %+v", v)
	}
	const hair = 1e-6
	for _, c := range []struct {
		name    string
		set     func(m *Moment, by float64) // to the bound, and by more beyond it
		binding Quantity
		value   float64
		levers  []Lever
	}{
		{"the mean alone", func(m *Moment, by float64) { m.Wind = 5 + unit.Speed(by) }, OfMeanWind, 5, []Lever{TheWind}},
		{"gusts alone", func(m *Moment, by float64) { m.Wind, m.Gust = 4, 9+unit.Speed(by) }, OfGust, 9, []Lever{TheWind}},
		{"a hot surface", func(m *Moment, by float64) {
			m.Warmest, m.Air, m.Paint = 30, 18-unit.Temperature(by), unit.Some(unit.Temperature(40))
		}, OfAboveAir, 12, []Lever{TheSurface, TheAir}},
		{"a cold surface", func(m *Moment, by float64) { m.Coldest, m.Warmest = 16-unit.Temperature(by), 16 }, OfBelowAir, 4, []Lever{TheSurface, TheAir}},
		{"a fast fall", func(m *Moment, by float64) { m.Rate = unit.Some(unit.Rate(-3 - by)) }, OfFall, 3, nil},
		{"a falling margin", func(m *Moment, by float64) { m.MarginRate = unit.Some(unit.Rate(-by)) }, OfRise, 0, nil},
		{"cold paint", func(m *Moment, by float64) { m.Paint = unit.Some(unit.Temperature(20 - by)) }, OfPaint, 0, []Lever{TheSurface, ThePlace, ThePaint}},
		{"a dripping film", func(m *Moment, by float64) { m.Film = unit.Some(m.DewPoint - unit.Temperature(by)) }, OfDrip, 0, []Lever{TheWater}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := fair()
			c.set(&m, 0)
			if v := Judge(m, rules); v.Answer != Yes || v.Margins[v.Binding].Of != c.binding {
				t.Errorf("on the bound: %+v", v)
			}
			c.set(&m, hair)
			v := Judge(m, rules)
			if v.Answer != No || v.Margins[v.Binding].Of != c.binding {
				t.Fatalf("a hair beyond: %+v", v)
			}
			near(t, "value", v.Margins[v.Binding].Value, c.value, 2*hair)
			near(t, "by", v.Margins[v.Binding].By, -hair, 1e-9)
			if z, binding := Score(&m, rules); z != math.Inf(-1) || binding != v.Binding {
				t.Errorf("score %v, %d", z, binding)
			}
			var levers []Lever
			for _, change := range Remedies(m, rules, 0) {
				levers = append(levers, change.Of)
				near(t, string(change.Of)+" by", math.Abs(change.By), hair, 1e-8)
			}
			if !reflect.DeepEqual(levers, c.levers) {
				t.Errorf("mended by %v, want %v", levers, c.levers)
			}
		})
	}
}

// TestRemedyTo: where the newer levers must come to rest.
func TestRemedyTo(t *testing.T) {
	rules := Strictest(nil, every(t))
	m := fair()
	m.Wind, m.Gust = 6.5, 8
	near(t, "the mean comes to", remedies(m, rules)[TheWind].To, 5, 1e-9)
	m.Gust = 12
	near(t, "the gusts come to", remedies(m, rules)[TheWind].To, 9, 1e-9)
	near(t, "by", remedies(m, rules)[TheWind].By, -3, 1e-9)
	m = fair()
	m.Paint = unit.Some(unit.Temperature(14))
	near(t, "the paint comes to", remedies(m, rules)[ThePaint].To, 20, 1e-9)
	m = fair()
	m.Coldest, m.Paint = 14, unit.Some(unit.Temperature(25))
	near(t, "the surface comes to", remedies(m, rules)[TheSurface].To, 16, 1e-9)
	m.Wind = 6
	if got := remedies(m, rules); len(got) != 0 {
		t.Errorf("a cold surface in the wind is mended by %+v", got)
	}
}

// TestNobodyGaveThem: a moment made as all were before has none of the newer
// values. It is judged as ever without their rules, and shuts under them, by name.
func TestNobodyGaveThem(t *testing.T) {
	m := humid(20, 50, 20)
	m.Wind, m.Gust = 2, 3
	if v := Judge(m, Strictest(nil, usual(t))); v.Answer != Yes {
		t.Fatalf("without their rules: %+v", v)
	}
	for says, rules := range map[string]Rules{
		"no paint temperature":                 Strictest(nil, Owned{"card", Limits{PaintBelow: lim[unit.TempDiff](t, "0 K")}}),
		"no rate of the surface temperature":   Strictest(nil, Owned{"card", Limits{Falls: lim[unit.Rate](t, "5 F/h")}}),
		"no rate of the margin":                Strictest(nil, Owned{"card", Limits{Rising: lim[unit.Rate](t, "0 K/h")}}),
		"no temperature of the tent's film":    {noDrip},
		"no surface temperature, no paint tem": Strictest(nil, Owned{"card", Limits{PaintBelow: lim[unit.TempDiff](t, "0 K"), AboveAir: lim[unit.TempDiff](t, "3 K")}}),
		"no gusts":                             Strictest(nil, Owned{"card", Limits{GustMax: lim[unit.Speed](t, "9 m/s")}}),
		"no wind":                              Strictest(nil, Owned{"card", Limits{GustMax: lim[unit.Speed](t, "9 m/s"), WindMax: lim[unit.Speed](t, "5 m/s")}}),
		"no air temperature":                   Strictest(nil, Owned{"card", Limits{BelowAir: lim[unit.TempDiff](t, "3 K")}}),
	} {
		bare := m
		switch {
		case strings.HasPrefix(says, "no surface"):
			bare.Warmest = noTemp
		case strings.HasPrefix(says, "no wind"):
			bare.Wind = unit.NaN[unit.Speed]()
		case strings.HasPrefix(says, "no gusts"):
			bare.Gust = unit.NaN[unit.Speed]()
		case strings.HasPrefix(says, "no air"):
			bare.Air = noTemp
		}
		v := Judge(bare, rules)
		if v.Answer != Undecided || !strings.Contains(v.Why, says) {
			t.Errorf("%s: %+v", says, v)
		}
		if z, _ := Score(&bare, rules); z != math.Inf(-1) {
			t.Errorf("%s: score %v", says, z)
		}
	}
}

// TestGustsApart: a set with its own bound on gusts bounds the mean by its wind;
// another's wind still bounds both, and a fallback fills what is left unsaid.
func TestGustsApart(t *testing.T) {
	both := Owned{"card", Limits{WindMax: lim[unit.Speed](t, "5 m/s"), GustMax: lim[unit.Speed](t, "9 m/s")}}
	wind := Owned{"the yard", Limits{WindMax: lim[unit.Speed](t, "7 m/s")}}
	gust := Owned{"card", Limits{GustMax: lim[unit.Speed](t, "9 m/s")}}
	for _, c := range []struct {
		name  string
		rules Rules
		want  []Quantity
	}{
		{"both", Strictest(nil, both), []Quantity{OfMeanWind, OfGust}},
		{"another's wind", Strictest(nil, both, wind), []Quantity{OfWind, OfMeanWind, OfGust}},
		{"gusts only", Strictest(nil, gust), []Quantity{OfGust}},
		{"a fallback's wind is the mean", Strictest(&wind, gust), []Quantity{OfMeanWind, OfGust}},
		{"a wind says something of both", Strictest(&both, wind), []Quantity{OfWind}},
		{"nothing is left", Strictest(&wind, both), []Quantity{OfMeanWind, OfGust}},
		{"all of a fallback", Strictest(&both), []Quantity{OfMeanWind, OfGust}},
	} {
		var got []Quantity
		for _, b := range c.rules {
			got = append(got, b.Of)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	m := humid(20, 50, 20)
	m.Wind, m.Gust = 4, 8.5
	if v := Judge(m, Strictest(nil, both)); v.Answer != Yes {
		t.Errorf("gusts of 8.5 under 9: %+v", v)
	}
	if v := Judge(m, Strictest(nil, both, wind)); v.Answer != No || v.Margins[v.Binding].Owner != "the yard" {
		t.Errorf("gusts of 8.5 under the yard's 7: %+v", v)
	}
}

// TestMomentJSON: values that nobody gave are left out, and a moment written
// before there were any comes back without them.
func TestMomentJSON(t *testing.T) {
	for _, m := range []Moment{fair(), humid(20, 50, 20)} {
		text, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		if given := strings.Contains(string(text), `"paint"`); given == m.Paint.IsZero() {
			t.Errorf("%s", text)
		}
		var back Moment
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		if back.Paint != m.Paint || back.Rate != m.Rate || back.MarginRate != m.MarginRate || back.Air != m.Air {
			t.Errorf("%s came back as %+v", text, back)
		}
	}
	var old Moment
	if err := json.Unmarshal([]byte(`{"at":"2026-05-04T09:00:00Z","air":20,"sure":"measured"}`), &old); err != nil || !old.Paint.IsZero() || !old.Film.IsZero() {
		t.Errorf("an old one: %+v, %v", old, err)
	}
	if !old.At.Equal(time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)) {
		t.Errorf("at %v", old.At)
	}
}

// A bound that nobody wrote shuts where its value is known, and nothing where it is not.
func TestBoundThatNobodyWrote(t *testing.T) {
	rules := Rules{
		{Of: OfMargin, Least: true, At: 3},
		{Of: OfRain, At: 0.2, IfKnown: true},
	}
	m := Moment{Air: 20, DewPoint: 10, Coldest: 20, Warmest: 20, Wind: 2, Gust: 2, Rain: unit.NaN[unit.RainRate](), Sure: Foretold}
	for chance, want := range map[float64]Answer{math.NaN(): Yes, 0.1: Yes, 0.9: No} {
		m.RainChance = unit.Share(chance)
		v := Judge(m, rules)
		z, _ := Score(&m, rules)
		if v.Answer != want || (z >= 0) != (want == Yes) || v.Why != "" {
			t.Errorf("chance %v: %s, score %v, %q", chance, v.Answer, z, v.Why)
		}
	}
	rules[1].IfKnown, m.RainChance = false, unit.NaN[unit.Share]()
	if v := Judge(m, rules); v.Answer != Undecided {
		t.Errorf("a written bound of an unknown value: %s", v.Answer)
	}
}
