package sensors

import (
	"maps"
	"math"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

const (
	wind     = conditions.WindSpeed
	gust     = conditions.GustSpeed
	rain     = conditions.Rain
	pressure = conditions.AirPressure
	fan      = conditions.Fan
)

// trade are the limits of TRADE.md 7: 3 K, 85 %, air and surface 10 to 32 °C, 6.7 m/s;
// and a rain of nothing.
var trade = conditions.Rules{
	{Of: conditions.OfMargin, Least: true, At: 3}, {Of: conditions.OfHumidity, At: 85},
	{Of: conditions.OfAir, Least: true, At: 10}, {Of: conditions.OfAir, At: 32},
	{Of: conditions.OfSurface, Least: true, At: 10}, {Of: conditions.OfSurface, At: 32},
	{Of: conditions.OfWind, At: 6.7}, {Of: conditions.OfGust, At: 6.7}, {Of: conditions.OfRain, At: 0.2},
}

// doubtOf is by how much a yes may be wrong by the instruments' own doubt (TRADE.md
// 1.2: ±3 %, ±0.5 °C air and surface, at worst 1.6 K of margin); of a humidity made of
// a bulb misread by 0.5 K it is 5 %, which is as much again.
var doubtOf = map[conditions.Quantity]float64{
	conditions.OfMargin: 1.6, conditions.OfHumidity: 5, conditions.OfAir: 0.5, conditions.OfSurface: 0.5,
	conditions.OfWind: 0.5, conditions.OfGust: 0.5,
}

// denied reports whether true conditions are outside a limit by more than the doubt.
func denied(m conditions.Moment) bool {
	return slices.ContainsFunc(conditions.Judge(m, trade).Margins, func(is conditions.Margin) bool { return is.By < -doubtOf[is.Of] })
}

// conditionsOf is the truth that an instrument stands in.
type conditionsOf struct{ air, dew, surface, wind, gust, rain float64 }

func (c conditionsOf) moment() conditions.Moment {
	m := conditions.Moment{
		At: noon, Air: unit.Temperature(c.air), DewPoint: unit.Temperature(c.dew), Coldest: unit.Temperature(c.surface), Warmest: unit.Temperature(c.surface),
		Wind: unit.Speed(c.wind), Gust: unit.Speed(c.gust), Sure: conditions.Measured,
	}
	if c.rain > 0 {
		m.RainChance = 1
	}
	return m
}

// says is what a good instrument says of it, with its moisture as one variable.
func (c conditionsOf) says(moist conditions.Variable) values {
	p := conditions.StandardPressure(0)
	a, err := conditions.Solve(conditions.Known{Temperature: unit.Temperature(c.air), DewPoint: unit.Temperature(c.dew),
		Humidity: unit.NaN[unit.Humidity](), WetBulb: unit.NaN[unit.Temperature](), Pressure: p})
	if err != nil {
		panic(err)
	}
	v := values{air: c.air, surface: c.surface, wind: c.wind, gust: c.gust, rain: c.rain, pressure: float64(p)}
	v[moist] = map[conditions.Variable]float64{rh: float64(a.Humidity), dew: c.dew, wet: float64(a.WetBulb)}[moist]
	return v
}

// fine is within every limit; the hidden values that a fault may repeat are its.
var fine = conditionsOf{air: 20, dew: 9, surface: 19, wind: 2, gust: 4}

// truths are each outside one limit or two, by more than any doubt.
var truths = map[string]conditionsOf{
	"damp":      {air: 20, dew: 18.7, surface: 20, wind: 2, gust: 4},
	"cold hull": {air: 18, dew: 12.4, surface: 13.5, wind: 2, gust: 4},
	"cold":      {air: 6, dew: -2, surface: 6, wind: 2, gust: 4},
	"hot hull":  {air: 24, dew: 14, surface: 35, wind: 2, gust: 4},
	"hot air":   {air: 35, dew: 20, surface: 30, wind: 2, gust: 4},
	"humid air": {air: 15, dew: 13.5, surface: 20, wind: 2, gust: 4},
	// Hulls in other air than they came from.
	"frost":       {air: -1, dew: -12, surface: 12, wind: 2, gust: 4},
	"cool air":    {air: 2, dew: -8, surface: 14, wind: 2, gust: 4},
	"icy hull":    {air: 12, dew: -6, surface: 2, wind: 2, gust: 4},
	"frozen hull": {air: 12, dew: -6, surface: -1, wind: 2, gust: 4},
	"windy":       {air: 20, dew: 9, surface: 19, wind: 9, gust: 12},
	"gusty":       {air: 20, dew: 9, surface: 19, wind: 3, gust: 9},
	"raining":     {air: 20, dew: 9, surface: 19, wind: 2, gust: 4, rain: 2},
}

// story is thirteen hours of one instrument, every ten minutes in the last hour and
// every half hour before (which is quicker), the last one now.
type story struct {
	truth values
	fine  values // what it said while all was well
	all   []Reading
}

const every10 = 10 * time.Minute

func tell(truth conditionsOf, moist conditions.Variable) *story {
	s := &story{truth: truth.says(moist), fine: fine.says(moist)}
	for k := 78; k >= 0; k-- {
		if k > 6 && k%3 != 0 {
			continue
		}
		v := values{}
		for of, x := range s.truth {
			if of != rain && of != pressure { // no true instrument says the same for hours
				x += 0.15 * float64((k+k/3)%3) // 0 of the last one
			}
			v[of] = x
		}
		r := by("s", time.Duration(k)*every10, v)
		r.FromDevice = true
		s.all = append(s.all, r)
	}
	return s
}

func (s *story) last() *Reading { return &s.all[len(s.all)-1] }

// since changes what the instrument said in the last span.
func (s *story) since(ago time.Duration, change func(*Reading)) {
	for i := range s.all {
		if noon.Sub(s.all[i].At) <= ago {
			change(&s.all[i])
		}
	}
}

// judged checks the story's last readings as they came, merges and judges. Those before
// count by their values alone.
func (s *story) judged(others ...Reading) (conditions.Verdict, []Reading) {
	checked := append(slices.Clone(s.all[:len(s.all)-3]), others...)
	for _, r := range s.all[len(s.all)-3:] {
		checked = append(checked, Check(r, checked, config.Sensor{Every: unit.Duration(every10)}, r.Received))
	}
	return conditions.Judge(Merge(checked, Spot{Place: "booth 1"}, noon, Stale), trade), checked
}

// faults are what goes wrong with one variable; one that does not apply to it changes nothing.
var faults = map[string]func(s *story, v conditions.Variable){
	"stale": func(s *story, v conditions.Variable) {
		s.since(Stale+every10, func(r *Reading) { delete(r.Values, v) })
		for i := range s.all {
			if _, has := s.all[i].Values[v]; has {
				s.all[i].Values[v] = s.fine[v]
			}
		}
	},
	"all silent": func(s *story, v conditions.Variable) {
		for i := range s.all {
			s.all[i].Values[v] = s.fine[v]
			s.all[i].At, s.all[i].Received = s.all[i].At.Add(-Stale-every10), s.all[i].Received.Add(-Stale-every10)
		}
	},
	"stuck": func(s *story, v conditions.Variable) {
		s.since(13*time.Hour, func(r *Reading) { r.Values[v] = s.fine[v] })
	},
	"spike":       func(s *story, v conditions.Variable) { s.last().Values[v] = s.fine[v] },
	"over range":  func(s *story, v conditions.Variable) { s.last().Values[v] = bounds[v][1] + 1 },
	"under range": func(s *story, v conditions.Variable) { s.last().Values[v] = bounds[v][0] - 1 },
	"power-on": func(s *story, v conditions.Variable) {
		if v == air || v == wet || v == surface {
			s.last().Values[v] = 85
		}
	},
	"disconnected": func(s *story, v conditions.Variable) { s.last().Values[v] = -127 },
	"no number":    func(s *story, v conditions.Variable) { s.last().Values[v] = math.NaN() },
	"null": func(s *story, v conditions.Variable) {
		s.last().Flags = []Flag{{Of: v, Fault: Missing, Note: "null"}}
		s.last().Values[v] = 0
	},
	"silent for an hour": func(s *story, v conditions.Variable) {
		for i := range s.all {
			s.all[i].Values[v] = s.fine[v]
		}
		s.since(time.Hour, func(r *Reading) { delete(r.Values, v) })
	},
	"saturated": func(s *story, v conditions.Variable) {
		s.since(3*time.Hour, func(r *Reading) { r.Values[v] = 100 })
	},
	"contradiction": func(s *story, v conditions.Variable) {
		switch v {
		case wet, dew:
			s.last().Values[v] = s.last().Values[air] + 1
		case gust:
			s.last().Values[v] = s.last().Values[wind] - 1
		}
	},
	"clock ahead": func(s *story, v conditions.Variable) {
		s.last().Values[v], s.last().At = s.fine[v], s.last().At.Add(time.Hour)
	},
	"clock behind": func(s *story, _ conditions.Variable) {
		s.since(13*time.Hour, func(r *Reading) { r.At = r.At.Add(-time.Hour) })
	},
	"repeated": func(s *story, _ conditions.Variable) {
		again := s.all[len(s.all)-2]
		again.Key, again.Received = "again", noon
		s.all[len(s.all)-1] = again
	},
	"°F as °C":        scaled(func(x float64) float64 { return x*9/5 + 32 }, air, dew, wet, surface),
	"°C as °F":        scaled(func(x float64) float64 { return (x - 32) * 5 / 9 }, air, dew, wet, surface),
	"tenfold":         scaled(func(x float64) float64 { return x * 10 }),
	"a tenth":         scaled(func(x float64) float64 { return x / 10 }),
	"part of one":     scaled(func(x float64) float64 { return x / 100 }, rh),
	"hPa as Pa":       scaled(func(x float64) float64 { return x / 100 }, pressure),
	"drift up":        scaled(func(x float64) float64 { return x + 4 }, dew, wet, air, surface),
	"drift down":      scaled(func(x float64) float64 { return x - 4 }, dew, wet, air, surface),
	"humidity drifts": scaled(func(x float64) float64 { return x - 15 }, rh),
	"within doubt":    scaled(func(x float64) float64 { return x - 0.5 }, rh, dew, wet, surface),
	"over, within it": scaled(func(x float64) float64 { return x + 0.5 }, air, surface),
}

// scaled has said another value all along; of some variables only, if given.
func scaled(f func(float64) float64, only ...conditions.Variable) func(*story, conditions.Variable) {
	return func(s *story, v conditions.Variable) {
		if len(only) == 0 || slices.Contains(only, v) {
			s.since(13*time.Hour, func(r *Reading) { r.Values[v] = f(r.Values[v]) })
		}
	}
}

// blind are the faults that one instrument alone cannot show: the value is one that
// true air may have. Each is the bound of what is promised, and why.
var blind = map[string]map[conditions.Variable]string{
	"silent for an hour": {air: asBefore, rh: asBefore, dew: asBefore, wet: asBefore, surface: asBefore, gust: asBefore, rain: asBefore},
	"spike": {
		rh:   "up to 45 % within ten minutes is what a booth does when it begins to heat",
		dew:  "up to 15 K within ten minutes is what a booth does when it begins to spray",
		wet:  "up to 15 K within ten minutes is what a booth does when it begins to spray",
		air:  "up to 15 K within ten minutes is what a booth does when it begins to heat",
		gust: "a lull is what winds have",
		rain: "a shower ends",
	},
	"stuck":           {rain: "no rain is the same for days"},
	"a tenth":         {dew: otherAir},
	"°C as °F":        {dew: otherAir},
	"°F as °C":        {air: otherAir, surface: otherHull},
	"tenfold":         {air: otherAir, surface: otherHull},
	"drift up":        {air: otherAir, surface: otherHull},
	"drift down":      {air: otherAir, dew: otherAir, wet: otherAir, surface: otherHull},
	"humidity drifts": {rh: otherAir},
}

const (
	asBefore  = "up to the yard's stale the value before counts"
	otherHull = "another hull, in the sun or just brought in, is that warm; a second thermometer on it shows the colder and the warmer"
	otherAir  = "another day has that air: the instrument beside it shows it, by its median over days, and the worse counts meanwhile"
)

var moistures = []conditions.Variable{rh, dew, wet}

// TestFaultMatrix: each fault on each variable in each truth that a limit forbids. No
// verdict is yes but of what is blind; and all that is called blind is.
func TestFaultMatrix(t *testing.T) {
	seen := map[string]bool{}
	for _, name := range slices.Sorted(maps.Keys(truths)) {
		truth := truths[name]
		if !denied(truth.moment()) || denied(fine.moment()) {
			t.Fatalf("%s is within the limits, or what is fine is not", name)
		}
		for _, moist := range moistures {
			if is, _ := tell(fine, moist).judged(); is.Answer != conditions.Yes {
				t.Fatalf("a good instrument of %s in fine weather: %s %s", moist, is.Answer, is.Why)
			}
			for _, fault := range slices.Sorted(maps.Keys(faults)) {
				for _, v := range []conditions.Variable{air, moist, surface, wind, gust, rain, pressure} {
					s := tell(truth, moist)
					faults[fault](s, v)
					if is, checked := s.judged(); is.Answer == conditions.Yes {
						seen[fault+" "+string(v)] = true
						if _, known := blind[fault][v]; !known {
							t.Errorf("%s, %s %s by %s: yes; the last says %v %+v", name, v, fault, moist, checked[len(checked)-1].Values, checked[len(checked)-1].Flags)
						}
					}
					// Beside an instrument that is right nothing is blind.
					if is, _ := s.judged(by("right", time.Minute, truth.says(rh))); is.Answer == conditions.Yes {
						t.Errorf("%s, %s %s by %s, a right instrument beside it: yes", name, v, fault, moist)
					}
				}
			}
		}
	}
	for fault, of := range blind {
		for v := range of {
			if !seen[fault+" "+string(v)] {
				t.Errorf("%s of %s is not blind", fault, v)
			}
		}
	}
}

// TestFaultsOfAnyAir is the same of drawn air, by the doubt.
func TestFaultsOfAnyAir(t *testing.T) {
	names := slices.Sorted(maps.Keys(faults))
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, least, most float64) float64 { return rapid.Float64Range(least, most).Draw(t, name) }
		truth := conditionsOf{air: draw("air", -5, 40), surface: draw("surface", -5, 60), wind: draw("wind", 0, 12)}
		truth.dew = truth.air - draw("spread", 0.3, 20)
		truth.gust = truth.wind + draw("gust", 0, 5)
		moist := rapid.SampledFrom(moistures).Draw(t, "moist")
		fault := rapid.SampledFrom(names).Draw(t, "fault")
		v := rapid.SampledFrom([]conditions.Variable{air, moist, surface, wind, gust, rain, pressure}).Draw(t, "of")
		if _, known := blind[fault][v]; known {
			return
		}
		s := tell(truth, moist)
		faults[fault](s, v)
		if is, checked := s.judged(); is.Answer == conditions.Yes && denied(truth.moment()) {
			t.Fatalf("%s %s: yes of %+v; the last says %v %+v", v, fault, truth, checked[len(checked)-1].Values, checked[len(checked)-1].Flags)
		}
	})
}

// TestFaultsOfAFan: a fan that stands is never taken to run, but by a contact that
// sticks: no value shows that one.
func TestFaultsOfAFan(t *testing.T) {
	said := func(ago time.Duration, x float64, flags ...Flag) Reading {
		r := by("plant", ago, values{fan: x}, flags...)
		r.FromDevice = true
		return r
	}
	ahead := said(0, 1)
	ahead.At = noon.Add(time.Hour)
	y := config.Yard{Sensors: []config.Sensor{{Name: "plant", Place: "booth 1", Every: unit.Duration(every10), Values: map[conditions.Variable]config.Field{fan: {}}}}}
	for _, tt := range []struct {
		name string
		last Reading
		runs bool
	}{
		{"it stands", said(0, 0), false},
		{"silent", said(40*time.Minute, 1), false},
		{"no number", said(0, math.NaN()), false},
		{"null", said(0, 0, Flag{Of: fan, Fault: Missing}), false},
		{"over range", said(0, 2), false},
		{"tenfold", said(0, 10), false},
		{"a tenth", said(0, 0.1), false},
		{"clock ahead", ahead, false},
		{"the contact sticks: blind", said(0, 1), true},
	} {
		last := Check(tt.last, []Reading{said(2*every10+tt.last.Received.Sub(noon).Abs(), 1)}, y.Sensors[0], noon)
		before := said(50*time.Minute, 1)
		stop, stopped := Stopped(y, config.Place{Name: "booth 1", Kind: config.Booth}, []Reading{before, last}, noon, Stale)
		if stopped == tt.runs {
			t.Errorf("%s: stopped %v %q; %+v", tt.name, stopped, stop.Text, last.Flags)
		}
	}
}
