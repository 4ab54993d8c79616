package pages

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
)

func TestPlace(t *testing.T) {
	_, body := get(t, newFake(), "/place/Booth%201")
	has(t, body,
		"measured 0 min ago", `<span>4.5</span> K`, "17.3 °C", "11.6 °C", "16.2 to 17.8 °C",
		"Within the limits of card Gloss topcoat rev 3", "decides",
		"Margin, hull&#39;s coldest spot over dew point, K", `class="band"`, `class="curve margin"`, "surface over dew point ≥ 3 K", "off the scale: surface temperature ≤ 32 °C",
		"gloss coat on Kestrel topsides",
		"booth probe", "4 min ago", "hull puck", "<s>17.1 °C</s>", "hull surface: stuck (same value for 3 h)",
		`<option selected>Kestrel</option>`, "Nobody in the booth unmasked",
	)
	hasNot(t, body, "Wind, m/s", "Chance of rain, %")
	_, slip := get(t, newFake(), "/place/Slip%202")
	has(t, slip, "not measured in the past day", "Unknown: not measured", "Wind, m/s", "Chance of rain, %", "Overspray drifts", "Nothing was heard from here")
}

// Under a roof there is neither wind nor rain, so that a booth with no
// anemometer is not shut for want of one; the figure's colour is the margin's own.
func TestUnderARoof(t *testing.T) {
	f := newFake()
	f.yard.Cards[0].Limits.WindMax = ref[unit.Speed]("5 m/s")
	f.yard.Cards[0].Limits.HumidityMin = ref[unit.Humidity]("90 %")
	for i := range f.moments {
		f.moments[i].Wind, f.moments[i].Gust, f.moments[i].RainChance = unit.NaN[unit.Speed](), unit.NaN[unit.Speed](), unit.NaN[unit.Share]()
	}
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "Outside the limits of card Gloss topcoat rev 3: relative humidity", `class="gauge yes"`)
	hasNot(t, body, "wind ≤", "Unknown")
}

// What was foretold for hours that have passed gives way to what was measured.
func TestTheOutlookBeginsNow(t *testing.T) {
	f := newFake()
	f.early = 6 * time.Hour
	_, late := get(t, f, "/place/Booth%201")
	_, fresh := get(t, newFake(), "/place/Booth%201")
	curve := regexp.MustCompile(`class="curve margin" d="[^"]*"`)
	if got, want := curve.FindString(late), curve.FindString(fresh); got != want || want == "" {
		t.Errorf("an outlook made 6 h ago draws\n%s\nnot\n%s", got, want)
	}
}

func TestPlaceInItsUnits(t *testing.T) {
	f := newFake()
	f.yard.Units = "US"
	_, body := get(t, f, "/place/Booth%201")
	// 4.54 K of margin are 8.2 °F, 17.3 °C are 63.1 °F; the rule keeps its own unit.
	has(t, body, `<span>8.2</span> °F`, "63.1 °F", "surface over dew point ≥ 3 K", `placeholder="65.5 F"`)
}

func TestAStaleReadingIsNone(t *testing.T) {
	f := newFake()
	f.moments = f.moments[:len(f.moments)-6]
	_, body := get(t, f, "/place/Booth%201")
	has(t, body, "last measured 1 h ago, which is too old to count", "Unknown: not measured, so not within the limits")
	hasNot(t, body, "Within the limits")
}

func TestVerdictWords(t *testing.T) {
	rules := conditions.Strictest(nil, conditions.Owned{Owner: "card C rev 2", Limits: conditions.Limits{
		Margin: ref[unit.TempDiff]("5 F"), HumidityMax: ref[unit.Humidity]("85 %"),
	}})
	m := func(coldest unit.Temperature) *conditions.Moment {
		x := momentAt(now, conditions.Measured)
		x.Coldest = coldest
		return &x
	}
	u := unitsOf("SI")
	for _, c := range []struct {
		name  string
		m     *conditions.Moment
		rules conditions.Rules
		class string
		says  string
	}{
		{"inside", m(16), rules, "yes", "Within the limits of card C rev 2: surface over dew point"},
		{"outside", m(13), rules, "no", "Outside the limits of card C rev 2: surface over dew point 2.5 °F, at least 5 °F wanted."},
		{"wet", m(10), rules, "no", "Water stands on the coldest spot"},
		{"no surface", m(unit.NaN[unit.Temperature]()), rules, "unknown", "no surface temperature"},
		{"nothing", nil, rules, "unknown", "not measured"},
		{"no rules", m(16), nil, "unknown", "nobody has set limits here"},
	} {
		v := verdictOf(c.m, c.rules, "card C rev 2", u)
		if v.Class != c.class || !strings.Contains(v.Sentence, c.says) {
			t.Errorf("%s: %s, %q", c.name, v.Class, v.Sentence)
		}
		if (c.class == "no") != (len(v.Remedies) > 0) {
			t.Errorf("%s: remedies %q", c.name, v.Remedies)
		}
	}
}

func TestShutSpansJoin(t *testing.T) {
	start := now.Truncate(time.Hour)
	ax := axis{start, start.Add(10 * time.Hour)}
	rules := conditions.Strictest(nil, conditions.Owned{Owner: "x", Limits: conditions.Limits{AirMin: ref[unit.Temperature]("10 C")}})
	var verdicts []conditions.Verdict
	for i, air := range []unit.Temperature{5, 5, 20, 5, 20, 20, unit.NaN[unit.Temperature](), 20, 20, 5} {
		m := momentAt(start.Add(time.Duration(i)*time.Hour), conditions.Measured)
		m.Air = air
		verdicts = append(verdicts, conditions.Judge(m, rules))
	}
	got := map[string][]shutSpan{}
	for _, g := range shutSpans(verdicts, ax) {
		got[g.Pattern] = g.Spans
	}
	cold := got["cold"]
	if len(got) != 2 || len(cold) != 3 || math.Abs(float64(cold[0].W)-20) > 1e-9 || math.Abs(float64(cold[2].X)-90) > 1e-9 || len(got["unknown"]) != 1 {
		t.Errorf("got %v", got)
	}
}

// Hours of which there is no verdict are unknown, never open; the half hour between what
// was measured on the hour and what is foretold from now is none.
func TestHoursWithoutAVerdictAreUnknown(t *testing.T) {
	start := now.Truncate(time.Hour)
	ax := axis{start, start.Add(10 * time.Hour)}
	yes := func(minutes int) conditions.Verdict {
		return conditions.Verdict{Answer: conditions.Yes, At: start.Add(time.Duration(minutes) * time.Minute)}
	}
	for _, tt := range []struct {
		name     string
		verdicts []conditions.Verdict
		want     string // hours from and to
	}{
		{"nothing yet", nil, "0 10"},
		{"a gap, and nothing at the end", []conditions.Verdict{yes(0), yes(60), yes(240), yes(330)}, "2 4, 6.5 10"},
		{"nothing before", []conditions.Verdict{yes(120), yes(180), yes(240), yes(300), yes(360), yes(420), yes(480), yes(540)}, "0 2"},
		{"before it too", []conditions.Verdict{yes(-60), yes(0)}, "1 10"},
	} {
		var got []string
		for _, g := range shutSpans(tt.verdicts, ax) {
			for _, s := range g.Spans {
				got = append(got, fmt.Sprintf("%v %v", s.From.Sub(start).Hours(), s.To.Sub(start).Hours()))
			}
			if g.Pattern != "unknown" {
				t.Errorf("%s: something shuts as %q", tt.name, g.Pattern)
			}
		}
		if said := strings.Join(got, ", "); said != tt.want {
			t.Errorf("%s: unknown are the hours %s, want %s", tt.name, said, tt.want)
		}
	}
}

func TestChartBreaksAtGaps(t *testing.T) {
	a := axis{now, now.Add(10 * time.Hour)}
	var moments []conditions.Moment
	for _, hour := range []int{0, 1, 2, 5, 6} {
		moments = append(moments, momentAt(now.Add(time.Duration(hour)*time.Hour), conditions.Measured))
	}
	moments[1].Air = unit.NaN[unit.Temperature]()
	ch := chart{Left: 0, Right: 1000, now: a.to}
	p := ch.draw(plot{
		lines:  []series{{"air", "air", func(m conditions.Moment) float64 { return float64(m.Air) }}},
		spread: func(conditions.Moment) float64 { return 1 }, least: 5,
	}, moments, a, 0)
	if n := strings.Count(p.Lines[0].Path, "M"); n != 3 {
		t.Errorf("%d runs, want 3: %s", n, p.Lines[0].Path)
	}
	if strings.Contains(p.Lines[0].Path+p.Band, "NaN") || strings.Count(p.Band, "Z") != 1 {
		t.Errorf("band %s", p.Band)
	}
}

func TestNiceStep(t *testing.T) {
	for v, want := range map[float64]float64{.9: 1, 1: 1, 1.1: 2, 3: 5, 6: 10, 23: 50, .3: .5, 0: 1} {
		if got := niceStep(v); math.Abs(got-want) > 1e-9 {
			t.Errorf("niceStep(%g) = %g, want %g", v, got, want)
		}
	}
}

func readingValues() url.Values {
	return url.Values{"once": {"o1"}, "surface": {"16.4 C"}, "air": {"64 F"}, "humidity": {"62 %"}, "boat": {"Kestrel"}, "instrument": {"surface probe 2"}, "valid": {"2026-09-30"}, "at": {"2026-04-07T10:15"}, "by": {"Ines"}}
}

func TestReading(t *testing.T) {
	f := newFake()
	answer, body := post(t, f, "/place/Booth%201/reading", readingValues())
	if answer.StatusCode != http.StatusSeeOther || answer.Header.Get("Location") != "/place/Booth%201?said=reading" {
		t.Fatalf("%d to %q: %s", answer.StatusCode, answer.Header.Get("Location"), regexp.MustCompile(`class="fault"[^<]*`).FindString(body))
	}
	r := f.taken[0]
	air := r.Values[conditions.AirTemperature]
	if r.Source != "Ines with surface probe 2" || r.Place != "Booth 1" || r.Boat != "Kestrel" || !r.At.Equal(at(7, 10, 15)) || r.Key != "hand/o1" || len(r.Flags) != 0 ||
		r.Values[conditions.Surface] != 16.4 || math.Abs(air-160.0/9) > 1e-9 || r.Values[conditions.RelHumidity] != 62 {
		t.Errorf("kept %+v", r)
	}
}

// The warmest spot is kept beside the coldest, and only beside it.
func TestReadingAtTwoSpots(t *testing.T) {
	f, form := newFake(), readingValues()
	form.Set("warmest", "88 F")
	post(t, f, "/place/Booth%201/reading", form)
	if len(f.taken) != 1 || math.Abs(f.taken[0].Values[conditions.SurfaceWarmest]-280.0/9) > 1e-9 || f.taken[0].Values[conditions.Surface] != 16.4 {
		t.Fatalf("kept %+v", f.taken)
	}
	for _, c := range []struct{ cold, warm, says string }{
		{"", "31 C", "Write the coldest spot too"},
		{"16.4 C", "12 C", "12 C is colder than the coldest spot, 16.4 C"},
		{"16.4 C", "31", "has no unit"},
	} {
		f, form := newFake(), readingValues()
		form.Set("surface", c.cold)
		form.Set("warmest", c.warm)
		answer, body := post(t, f, "/place/Booth%201/reading", form)
		if answer.StatusCode != http.StatusUnprocessableEntity || len(f.taken) != 0 {
			t.Errorf("%+v: status %d, %d kept", c, answer.StatusCode, len(f.taken))
		}
		has(t, body, c.says, `value="`+c.warm+`"`)
	}
	one := momentAt(now, conditions.Measured)
	one.Coldest, one.Warmest = 16, 16
	if got := hull(one, unitsOf("SI")); got != "16.0 °C, read at one spot only: it counts as the coldest and as the warmest" {
		t.Error(got)
	}
	if one.Warmest = 21; hull(one, unitsOf("SI")) != "16.0 to 21.0 °C" {
		t.Error(hull(one, unitsOf("SI")))
	}
}

// A calibration that is over, or not known, is kept and marked: it opens no window.
func TestReadingWithoutCalibration(t *testing.T) {
	for _, valid := range []string{"", "2026-04-06"} {
		f, form := newFake(), readingValues()
		form.Set("valid", valid)
		answer, _ := post(t, f, "/place/Booth%201/reading", form)
		if answer.Header.Get("Location") != "/place/Booth%201?said=doubtful" || len(f.taken) != 1 {
			t.Fatalf("%d to %q", answer.StatusCode, answer.Header.Get("Location"))
		}
		if flags := f.taken[0].Flags; len(flags) != 1 || flags[0].Fault != sensors.Uncalibrated {
			t.Errorf("valid %q: flags %v", valid, flags)
		}
	}
	f, form := newFake(), readingValues()
	form.Set("valid", "2026-04-07") // its last day still counts
	post(t, f, "/place/Booth%201/reading", form)
	if len(f.taken) != 1 || len(f.taken[0].Flags) != 0 {
		t.Errorf("kept %+v", f.taken)
	}
}

func TestReadingForms(t *testing.T) {
	for _, c := range []struct {
		name   string
		change url.Values
		err    error
		status int
		says   []string
	}{
		{"no unit", url.Values{"surface": {"16.4"}}, nil, 422, []string{"has no unit", `value="16.4"`, `value="surface probe 2"`, `value="64 F"`}},
		{"no number", url.Values{"surface": {"warm"}}, nil, 422, []string{"is not a temperature", `value="warm"`}},
		{"a slip of the decimal point", url.Values{"surface": {"164 C"}}, nil, 422, []string{"164 C is outside what can be measured here"}},
		{"too moist", url.Values{"humidity": {"162 %"}}, nil, 422, []string{"162 % is outside"}},
		{"nothing measured", url.Values{"surface": {""}, "air": {""}, "humidity": {""}}, nil, 422, []string{"Write at least one value, with its unit"}},
		{"no instrument", url.Values{"instrument": {" "}}, nil, 422, []string{"a reading without one is no evidence"}},
		{"no name", url.Values{"by": {""}}, nil, 422, []string{"Write who measured"}},
		{"still to come", url.Values{"at": {"2026-04-08T10:00"}}, nil, 422, []string{"still to come"}},
		{"another place's boat", url.Values{"boat": {"Plover"}}, nil, 422, []string{"Plover does not stand here"}},
		{"no day", url.Values{"valid": {"next spring"}}, nil, 422, []string{"Write the day the calibration runs out"}},
		{"no id", url.Values{"once": {""}}, nil, 422, []string{"Nothing was kept"}},
		{"refused", nil, publicError{"The disk is full; write it on paper."}, 409, []string{"The disk is full; write it on paper.", `value="16.4 C"`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, form := newFake(), readingValues()
			f.err = c.err
			for k, v := range c.change {
				form[k] = v
			}
			answer, body := post(t, f, "/place/Booth%201/reading", form)
			if answer.StatusCode != c.status || len(f.taken) != 0 {
				t.Fatalf("status %d, want %d; %d kept", answer.StatusCode, c.status, len(f.taken))
			}
			has(t, body, c.says...)
		})
	}
}

func TestMix(t *testing.T) {
	_, body := get(t, newFake(), "/mix?card=Gloss+topcoat&area=64+m2&temp=20+C")
	// 64 m² at 12.5 m²/L less 30 % are 7.31 L mixed, 2:1; 15 % reducer are 1.10 L.
	has(t, body, "4.88 L", "2.44 L", "1.10 L", "8.41 L", "92 µm", "40 µm", "3 h", "for a surface of 20 °C, as typed", "12.5 m²/L without reducer, before a loss of 30\u00a0%")
	// 12.5 m²/L by 1 ft² = 0.09290304 m² and 1 gal = 3.785412 L (NIST SP 811): 509.3 ft²/gal.
	f := newFake()
	f.yard.Units = "US"
	_, body = get(t, f, "/mix?card=Gloss+topcoat&area=64+m2&temp=20+C")
	has(t, body, "509 ft²/gal without reducer, before a loss of 30\u00a0%", `placeholder="450 ft2"`, `placeholder="65.5 F"`)
	for query, say := range map[string]string{
		"card=&area=64+m2&temp=20+C":             "Choose one of the yard&#39;s cards",
		"card=Gloss+topcoat&area=64&temp=20+C":   "has no unit",
		"card=Gloss+topcoat&area=64+m2&temp=hot": "is not a temperature",
		"card=Gloss+topcoat&area=64+m2&temp=2+C": "no variant is for a surface of 2 C",
	} {
		answer, body := get(t, newFake(), "/mix?"+query)
		if answer.StatusCode != http.StatusUnprocessableEntity {
			t.Errorf("%s: status %d", query, answer.StatusCode)
		}
		has(t, body, say)
	}
}

func TestNotices(t *testing.T) {
	_, body := get(t, newFake(), "/notices")
	has(t, body, "Tue 7 Apr", "Mon 6 Apr", "Wet coat at risk", "surface 2.1 K over dew point, at least 3 K wanted", "at once", "told again, no. 2", "09:55")
	if strings.Index(body, "Wet gloss coat") > strings.Index(body, "Window open for gloss coat") {
		t.Error("the latest does not come first")
	}
	_, today := get(t, newFake(), "/notices?days=1")
	hasNot(t, today, "Mon 6 Apr")
}
