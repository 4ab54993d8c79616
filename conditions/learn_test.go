package conditions

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// pair is a forecast of 15 °C, dew point 9 °C and 5 m/s, and what was measured.
func pair(issued, at time.Time, air, dew unit.TempDiff, wind unit.Speed) Pair {
	f, o := nothing(at), nothing(at)
	f.Sure, f.Air, f.DewPoint, f.Wind, f.Gust = Foretold, 15, 9, 5, 9
	o.Sure, o.Air, o.DewPoint, o.Wind = Measured, f.Air.Plus(air), f.DewPoint.Plus(dew), wind
	return Pair{Place: "slip", Issued: issued, At: at, Forecast: f, Observed: o}
}

// issues is the pairs of forecasts issued every 6 h for some days, every 3 h to 48 h.
func issues(days int, of func(issued, at time.Time) Pair) []Pair {
	var pairs []Pair
	for i := range 4 * days {
		issued := monday.Add(time.Duration(i) * 6 * time.Hour)
		for lead := time.Duration(0); lead <= 48*time.Hour; lead += 3 * time.Hour {
			pairs = append(pairs, of(issued, issued.Add(lead)))
		}
	}
	return pairs
}

// TestLearnOfNothing: the published figures, exactly.
func TestLearnOfNothing(t *testing.T) {
	unsure := pair(monday, after(3), 2, 2, 3)
	unsure.Observed.Sure = Unknown
	twice := pair(monday, after(3), 2, 2, 3)
	twice.Forecast.Learned = 0.5
	late := pair(after(6), after(3), 2, 2, 3)
	for name, x := range map[string]Experience{
		"nothing": Learn(nil), "doubtful pairs": Learn([]Pair{unsure, twice, late}), "zero value": {},
	} {
		for lead := time.Duration(0); lead < 200*time.Hour; lead += 7 * time.Hour {
			w := pair(monday, monday.Add(lead), 0, 0, 0).Forecast
			got := x.Correct(w, "slip", monday)
			air, dew, margin := Spread(lead)
			if got.Air != w.Air || got.DewPoint != w.DewPoint || got.Wind != w.Wind || got.Learned != 0 {
				t.Fatalf("%s: %+v", name, got)
			}
			if m := (Enclosure{}).Moment(got, Idle).MarginError; got.AirError != air || got.DewError != dew || m != margin {
				t.Fatalf("%s at %v: errors %v, %v, %v", name, lead, got.AirError, got.DewError, m)
			}
		}
		z := []float64{1, 0.5, 2}
		if x.Spans(time.Hour).Chance(z) != spanOf(z, time.Hour) {
			t.Errorf("%s: another span", name)
		}
	}
}

// TestLearnBias: what is always so is recovered, by hour of the day and by
// lead; the wind's factor too. Two months of pairs leave a twentieth of what was
// believed before, and a tenth of a kelvin allows for it.
func TestLearnBias(t *testing.T) {
	air := func(at time.Time, lead time.Duration) unit.TempDiff {
		published, _, _ := Spread(lead)
		return unit.TempDiff(0.5+0.5*math.Cos(2*math.Pi*(float64(at.Hour())-4)/24)+0.3*(min(2, lead.Hours()/24)-1)) * published
	}
	x := Learn(issues(60, func(issued, at time.Time) Pair {
		return pair(issued, at, air(at, at.Sub(issued)), -0.8, 3)
	}))
	issued := monday.Add(80 * 24 * time.Hour)
	for lead := time.Duration(0); lead <= 48*time.Hour; lead += 5 * time.Hour {
		w := pair(issued, issued.Add(lead), 0, 0, 0).Forecast
		got := x.Correct(w, "slip", issued)
		near(t, "air at "+lead.String(), got.Air.Over(w.Air), float64(air(w.At, lead)), 0.2)
		near(t, "dew point at "+lead.String(), got.DewPoint.Over(w.DewPoint), -0.8, 0.15)
		published, _, _ := Spread(lead)
		if !(got.AirError < published*0.65) {
			t.Errorf("%v: an error of %v where all was bias", lead, got.AirError)
		}
	}
	got := x.Correct(pair(issued, issued, 0, 0, 0).Forecast, "slip", issued)
	near(t, "wind", got.Wind, 3, 0.5)
	near(t, "gust", got.Gust, 9*float64(got.Wind)/5, 1e-9)
	if got.Learned < 0.8 {
		t.Errorf("learned %v", got.Learned)
	}
	if other := x.Correct(pair(issued, issued, 0, 0, 0).Forecast, "booth", issued); other.Air != 15 || other.Learned != 0 {
		t.Errorf("of another place: %+v", other)
	}
}

// TestEffective: hourly pairs count as n(1−ρ)/(1+ρ), the usual figure of a
// first-order process; several of one hour count as one.
func TestEffective(t *testing.T) {
	sum := func(times []time.Time) (sum float64) {
		for _, n := range effective(times) {
			sum += n
		}
		return sum
	}
	var hours, thrice []time.Time
	for i := range 240 {
		hours = append(hours, after(float64(i)))
		thrice = append(thrice, after(float64(i)), after(float64(i)), after(float64(i)))
	}
	rho := math.Exp(-1.0 / 6)
	faded := 0.0
	for i := range 240 {
		faded += math.Exp2(-float64(i)/720) / 240
	}
	near(t, "hourly", sum(hours), 240*faded*(1-rho)/(1+rho), 1.1) // the ends count more
	near(t, "thrice", sum(thrice), sum(hours), 0.1)
	near(t, "of one", sum(hours[:1]), 1, 0)
	near(t, "of none", sum(nil), 0, 0)
	month := []time.Time{monday, monday.Add(fades)}
	near(t, "a month old", effective(month)[0], 0.5, 1e-9)
}

// TestLearnLittle: one pair moves the forecast of its hour and lead by the share
// that is believed to be bias there, 0.58 of 2 K; a day by less than 40 days; and a
// single wild reading among many by nothing much.
func TestLearnLittle(t *testing.T) {
	say := func(by unit.TempDiff) func(issued, at time.Time) Pair {
		return func(issued, at time.Time) Pair { return pair(issued, at, by, by, 5) }
	}
	w := pair(monday, after(24), 0, 0, 0).Forecast
	moved := func(pairs []Pair) unit.TempDiff { return Learn(pairs).Correct(w, "slip", monday).Air.Over(w.Air) }
	one, day, month := moved(issues(1, say(2))[8:9]), moved(issues(1, say(2))), moved(issues(40, say(2)))
	if !(one > 1 && one < 1.2 && day > one && day < 0.95*2 && month > day) {
		t.Errorf("one pair moves it by %v, a day by %v, 40 days by %v", one, day, month)
	}
	near(t, "after 40 days", month, 2, 0.1)
	pairs := issues(30, say(0))
	pairs[777].Observed.Air = 60
	if off := Learn(pairs).Correct(w, "slip", monday).Air.Over(15); math.Abs(float64(off)) > 0.1 {
		t.Errorf("one wild reading moves it by %v", off)
	}
	if off := Learn([]Pair{pairs[777]}).Correct(w, "slip", monday).Air.Over(15); off > 4 {
		t.Errorf("a wild reading alone moves it by %v", off)
	}
}

// TestLearnFades: the last months count more than those before.
func TestLearnFades(t *testing.T) {
	turn := monday.Add(60 * 24 * time.Hour)
	x := Learn(issues(120, func(issued, at time.Time) Pair {
		if at.Before(turn) {
			return pair(issued, at, -2, -2, 5)
		}
		return pair(issued, at, 2, 2, 5)
	}))
	w := pair(turn, turn.Add(30*time.Hour), 0, 0, 0).Forecast
	if off := x.Correct(w, "slip", turn).Air.Over(15); off < 0.8 {
		t.Errorf("%v: the two months before have the say", off)
	}
}

// TestLearnInstrument: however little is left of the error, it is the instrument's;
// and what never erred is not moved.
func TestLearnInstrument(t *testing.T) {
	x := Learn(issues(400, func(issued, at time.Time) Pair { return pair(issued, at, 0, 0, 5) }))
	x.Places["slip"] = Habit{Air: shrink(x.Places["slip"].Air), DewPoint: x.Places["slip"].DewPoint}
	got := x.Correct(pair(monday, after(2), 0, 0, 0).Forecast, "slip", monday)
	near(t, "air", got.AirError, 0.3, 0)
	if got.Wind != 5 || got.Air != 15 {
		t.Errorf("%+v, of a wind without a factor and an air that never erred", got)
	}
}

// shrink is a lesson with nothing left but its bias.
func shrink(l Lesson) Lesson {
	l.Doubt, l.Rest = [terms][terms]float64{}, [len(leads)]float64{}
	return l
}

// process draws pairs whose errors are a bias and first-order processes with a
// time constant in hours and a correlation of air and dew point, hourly, of one
// issue a day; each error's standard deviation is a share of the published one.
func process(seed uint64, days int, constant, correlation, bias, share float64) []Pair {
	draw := rand.New(rand.NewPCG(seed, 1))
	rho := math.Exp(-1 / constant)
	var pairs []Pair
	for day := range days {
		issued := monday.Add(time.Duration(day) * 24 * time.Hour)
		var a, d float64
		for hour := range 24 {
			e1, e2 := draw.NormFloat64(), draw.NormFloat64()
			e2 = correlation*e1 + math.Sqrt(1-correlation*correlation)*e2
			if hour == 0 {
				a, d = e1, e2
			} else {
				a, d = rho*a+math.Sqrt(1-rho*rho)*e1, rho*d+math.Sqrt(1-rho*rho)*e2
			}
			air, dew, _ := Spread(time.Duration(hour) * time.Hour)
			at := issued.Add(time.Duration(hour) * time.Hour)
			pairs = append(pairs, pair(issued, at, air*unit.TempDiff(bias+share*a), dew*unit.TempDiff(bias+share*d), 5))
		}
	}
	return pairs
}

// TestLearnTogether: the correlation and the persistence of what the bias
// leaves. Two months hold some 90 effective pairs against the 20 of what was
// published, and have their own luck: a tenth, and a quarter of the constant.
func TestLearnTogether(t *testing.T) {
	for _, c := range []struct{ constant, correlation float64 }{{3, 0}, {6, 0.59}, {11, 0.9}} {
		x := Learn(process(5, 120, c.constant, c.correlation, 0.5, 0.8))
		near(t, "correlation", x.Together, c.correlation+(together-c.correlation)*0.2, 0.13)
		near(t, "hours", x.Persists.Std().Hours(), c.constant, 0.27*c.constant)
		w := Weather{AirError: 2, DewError: 2, Together: x.Together}
		near(t, "margin", Enclosure{}.Moment(w, Idle).MarginError, 2*math.Sqrt(2-2*x.Together), 1e-9)
	}
	// A bias that is not learned stays for ever; 12 h is the most that is believed.
	var long []Pair
	for day := range 200 {
		for hour := range 24 {
			by := unit.TempDiff(2*(day%2) - 1)
			issued := monday.Add(time.Duration(day) * 24 * time.Hour)
			long = append(long, pair(issued, issued.Add(time.Duration(hour)*time.Hour), by, by, 5))
		}
	}
	if x := Learn(long); x.Persists.Std() != longest {
		t.Errorf("persists %v", x.Persists)
	}
}

// TestBiasCountsOnce: forecasts with a bias and a fading error, corrected by
// experience and then by a reading, err by as much as they say at every age of
// the reading. As if the bias were still in them they would say too little.
func TestBiasCountsOnce(t *testing.T) {
	x := Learn(process(7, 100, 6, 0.59, 0.7, 0.8))
	said, forgot := map[int]float64{}, map[int]float64{}
	const days = 3000
	trial := process(8, days, 6, 0.59, 0.7, 0.8)
	for day := range days {
		pairs := trial[24*day : 24*day+24]
		var series, bare []Weather
		for _, p := range pairs {
			w := x.Correct(p.Forecast, "slip", p.Issued)
			series = append(series, w)
			w.Learned = 0
			bare = append(bare, w)
		}
		now := pairs[6].Observed
		series, bare = Correct(series, now), Correct(bare, now)
		for _, age := range []int{2, 4, 8, 16} {
			off := pairs[6+age].Observed.Air.Over(series[6+age].Air)
			said[age] += math.Pow(float64(off/series[6+age].AirError), 2) / days
			forgot[age] += math.Pow(float64(off/bare[6+age].AirError), 2) / days
		}
	}
	for _, age := range []int{2, 4, 8, 16} {
		t.Logf("%2d h after the reading: errors over what was said %.3f, had the bias counted twice %.3f", age, math.Sqrt(said[age]), math.Sqrt(forgot[age]))
		near(t, "errors over what was said", math.Sqrt(said[age]), 1, 0.12)
		if forgot[age] < said[age] {
			t.Errorf("%d h: %v without Learned, %v with", age, forgot[age], said[age])
		}
	}
}

// TestCorrectTouches: only what is foretold, once, and never what is not known;
// the dew point never passes the air.
func TestCorrectTouches(t *testing.T) {
	x := Learn(issues(30, func(issued, at time.Time) Pair { return pair(issued, at, -2, 3, 4) }))
	rapid.Check(t, func(t *rapid.T) {
		w := nothing(monday.Add(time.Duration(rapid.IntRange(-10, 400).Draw(t, "hours")) * time.Hour))
		w.Sure = rapid.SampledFrom([]Sureness{Measured, Foretold, Pencilled, Unknown, ""}).Draw(t, "sure")
		if rapid.Bool().Draw(t, "air") {
			w.Air = unit.Temperature(rapid.Float64Range(-30, 40).Draw(t, "air"))
		}
		if rapid.Bool().Draw(t, "dew") {
			w.DewPoint = unit.Temperature(rapid.Float64Range(-30, 40).Draw(t, "dew point"))
		}
		got := x.Correct(w, "slip", monday)
		if unit.Known(got.Air) != unit.Known(w.Air) || unit.Known(got.DewPoint) != unit.Known(w.DewPoint) {
			t.Fatalf("%+v became %+v", w, got)
		}
		text, _ := json.Marshal(w)
		if same, _ := json.Marshal(got); w.Sure != Foretold && string(same) != string(text) {
			t.Fatalf("%s became %s", text, same)
		}
		if w.Sure == Foretold && got.DewPoint > got.Air {
			t.Fatalf("dew point over air: %+v", got)
		}
		once, _ := json.Marshal(got)
		if again, _ := json.Marshal(x.Correct(got, "slip", monday)); string(again) != string(once) {
			t.Fatalf("%s became %s", once, again)
		}
	})
}

// TestLearnAnyOrder: the same pairs teach the same, bit for bit.
func TestLearnAnyOrder(t *testing.T) {
	pairs := process(9, 20, 6, 0.5, 1, 1)
	for i := range pairs {
		pairs[i].Place = []string{"slip", "shed", "outdoors"}[i%3]
	}
	want := Learn(pairs)
	draw := rand.New(rand.NewPCG(1, 2))
	for range 3 {
		draw.Shuffle(len(pairs), func(i, j int) { pairs[i], pairs[j] = pairs[j], pairs[i] })
		if got := Learn(pairs); !reflect.DeepEqual(got, want) {
			t.Fatalf("another order teaches %+v, not %+v", got, want)
		}
	}
	text, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	var back Experience
	if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(back, want) {
		t.Errorf("%v: came back as %+v", err, back)
	}
	if each := len(text) / 3; each > 4000 {
		t.Errorf("%d bytes for each place", each)
	}
}
