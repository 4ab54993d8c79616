package conditions

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fairwindow/conditions/unit"
)

// The reliability study: of the spans that were given a chance of 0.7, did seven
// in ten hold? The air is real, hour by hour, of one year at an airport; the
// forecasts are SYNTHETIC, drawn with a fixed seed, since no archive of a whole
// year's forecasts is at hand. As in the real pairs of TestPairsOfLowland, where a
// forecast's margin changes in 3 h by 0.7 of what the measured one does, a forecast
// is smoother than the air (0.8 to 0.9) and strays less from its season. Its errors
// are made otherwise than Learn supposes: they have fat tails (Student's t with 4
// degrees of freedom), their persistence, size and correlation switch at random
// times, part of them is the hour's own and part each issue's, and the biases by hour
// are a triangle and a step that two harmonics do not fit, which grow with lead.
// The choices of learn.go and lesson.go were made on Newark's year; Seattle's is
// only reported.

// What comes out: at Newark what was foretold came true within 0.07 in issuedEach tenth.
// In Seattle's damper air, whose margins crowd about the limit, the middle tenths
// promise up to 0.13 too much, since the errors there are more skewed than normal
// ones; at the two chances that decide, 0.7 and 0.95, it is 0.05 and 0.02. Cases
// overlap, so that their number is far greater than that of independent ones. How
// forecasts are drawn matters as much as the learner: drawn as the air plus errors
// of their own, so rougher than any real forecast, they made the middle tenths promise
// up to 0.2 too little at Newark, and right in Seattle.

// held is what has to hold: a span of 3 h of spraying and 8 h of protection on a
// slip, of a surface at the air's temperature, hour by hour.
const (
	held       = 11
	behind     = 60 // h, the forecast's length: starts to 48 h, and a span beyond
	issuedEach = 6  // h between issues
)

var heldTo = Rules{{Of: OfMargin, Least: true, At: 3}, {Of: OfHumidity, At: 85}}

// liar makes forecasts of the hours that were measured.
type liar struct {
	draw     *rand.Rand
	truth    []Weather // hourly, without holes
	east     int       // hours that the site's day is ahead of the records' times
	air, dew []float64 // the hours' own errors
	regimes  []regime  // of each hour
	usual    []Weather // each hour's season
}

type regime struct{ constant, size, correlation float64 }

// student is Student's t with 4 degrees of freedom at a variance of 1.
func (l *liar) student() float64 {
	chi := 0.0
	for range 4 {
		v := l.draw.NormFloat64()
		chi += v * v
	}
	return l.draw.NormFloat64() / math.Sqrt(chi/4) / math.Sqrt2
}

// next is one step of two first-order errors.
func (l *liar) next(r regime, air, dew float64) (float64, float64) {
	rho := math.Exp(-1 / r.constant)
	s := math.Sqrt(1 - rho*rho)
	a, b := l.student(), l.student()
	b = r.correlation*a + math.Sqrt(1-r.correlation*r.correlation)*b
	return rho*air + s*a, rho*dew + s*b
}

func newLiar(t *testing.T, truth []Weather, east int) *liar {
	season, err := SeasonOf(truth)
	if err != nil {
		t.Fatal(err)
	}
	l := &liar{draw: rand.New(rand.NewPCG(2014, 4)), truth: truth, east: east}
	now := regime{5, 1, 0.6}
	var air, dew float64
	for _, w := range truth {
		l.usual = append(l.usual, season.Weather(w.At))
		if l.draw.Float64() < 1.0/(10*24) { // about issuedEach ten days
			now = regime{
				constant:    []float64{2, 5, 14}[l.draw.IntN(3)],
				size:        []float64{0.6, 1, 1.6}[l.draw.IntN(3)],
				correlation: []float64{0.3, 0.6, 0.85}[l.draw.IntN(3)],
			}
		}
		air, dew = l.next(now, air, dew)
		l.air, l.dew, l.regimes = append(l.air, air), append(l.dew, dew), append(l.regimes, now)
	}
	return l
}

// issue is the forecast of one hour's issue: hourly, to 60 h.
func (l *liar) issue(hour int) []Weather {
	rough := make([]Weather, 0, behind+1)
	air, dew := l.student(), l.student()
	for lead := 0; lead <= behind; lead++ {
		h := hour + lead
		w, usual := l.truth[h], l.usual[h]
		air, dew = l.next(l.regimes[h], air, dew)
		size := l.regimes[h].size * (0.8 + 1.1*(1-math.Exp(-float64(lead)/15)))
		w.Air = usual.Air.Plus(strays*w.Air.Over(usual.Air) + unit.TempDiff(size*(0.8*l.air[h]+0.6*air)))
		w.DewPoint = usual.DewPoint.Plus(strays*w.DewPoint.Over(usual.DewPoint) + unit.TempDiff(size*(0.8*l.dew[h]+0.6*dew)))
		rough = append(rough, w)
	}
	out := make([]Weather, len(rough))
	for lead := range rough {
		w := rough[lead]
		var airs, dews, n float64
		for _, near := range rough[max(0, lead-smooth):min(len(rough), lead+smooth+1)] {
			if unit.Known(near.Air) && unit.Known(near.DewPoint) {
				airs, dews, n = airs+float64(near.Air), dews+float64(near.DewPoint), n+1
			}
		}
		airBias, dewBias := l.bias(w.At, lead)
		w.Air = unit.Temperature(airs/n + airBias)
		w.DewPoint = min(w.Air, unit.Temperature(dews/n+dewBias))
		w.Sure = Foretold
		out[lead] = w
	}
	return out
}

const (
	strays = 0.85 // how much of the air's departure from its season a forecast has
	smooth = 2    // h to each side that it is the mean of
)

// bias is too warm, most at 16:18 h, and too dry, most from 9:42 to 20 h.
func (l *liar) bias(at time.Time, lead int) (air, dew float64) {
	of := math.Mod(float64(at.Hour()+l.east)+24, 24)
	grown := 1 + float64(lead)/96
	air, dew = grown*(0.5+1.3*max(0, 1-math.Abs(of-16.3)/4)), grown*-0.7
	if of > 9.7 && of < 20 {
		dew -= 0.6
	}
	return air, dew
}

// gapless is the records hour by hour; an hour that is missing is Unknown.
func gapless(records []Weather) []Weather {
	first := records[0].At
	var out []Weather
	for _, w := range records {
		i := int(w.At.Sub(first) / time.Hour)
		for len(out) < i {
			out = append(out, nothing(first.Add(time.Duration(len(out))*time.Hour)))
		}
		if len(out) == i {
			out = append(out, w)
		}
	}
	return out
}

// scored is one way to foretell, and how it did.
type scored struct {
	name   string
	brier  float64
	chance [10]float64 // sum of what was foretold, by tenth
	came   [10]float64
	count  [10]float64
	firm   [2]float64 // of those with at least 0.7: how many, how many came true
	sure   [2]float64 // of those with at least 0.95
}

func (s *scored) add(chance float64, came bool) {
	tenth := min(9, int(chance*10))
	outcome := 0.0
	if came {
		outcome = 1
	}
	s.brier += square(chance - outcome)
	s.chance[tenth] += chance
	s.came[tenth] += outcome
	s.count[tenth]++
	if chance >= 0.7 {
		s.firm[0], s.firm[1] = s.firm[0]+1, s.firm[1]+outcome
	}
	if chance >= 0.95 {
		s.sure[0], s.sure[1] = s.sure[0]+1, s.sure[1]+outcome
	}
}

func (s *scored) mean() float64 {
	n := 0.0
	for _, c := range s.count {
		n += c
	}
	return s.brier / n
}

// chances are of a span, of a forecast: whole, the least of its hours, their product.
func chances(series []Weather, x Experience) (whole, least, product float64) {
	z := make([]float64, len(series))
	least, product = 1, 1
	for i, w := range series {
		m := Moment{At: w.At, Air: w.Air, DewPoint: w.DewPoint, Coldest: w.Air, Warmest: w.Air, Sure: w.Sure, MarginError: Enclosure{}.Moment(w, Idle).MarginError}
		z[i], _ = Score(&m, heldTo)
		least, product = min(least, Chance(z[i])), product*Chance(z[i])
	}
	return x.Spans(time.Hour).Chance(z), least, product
}

// holds reports whether the span that begins with an hour held in the measured
// air, and whether that is known.
func holds(truth []Weather, hour int) (held1, ok bool) {
	held1 = true
	for _, w := range truth[hour : hour+held] {
		if w.Sure != Measured {
			return false, false
		}
		m := Moment{Air: w.Air, DewPoint: w.DewPoint, Coldest: w.Air, Warmest: w.Air, Sure: Measured}
		z, _ := Score(&m, heldTo)
		held1 = held1 && z >= 0
	}
	return held1, true
}

// climatology is the share of spans that held, by month and hour at which they
// begin, of the very year that is reported: it knows of that year what no one
// knew, which makes it harder to beat than one from other years.
func climatology(truth []Weather) func(at time.Time) float64 {
	var came, count [13][24]float64
	for hour := 0; hour+held <= len(truth); hour++ {
		if yes, ok := holds(truth, hour); ok {
			at := truth[hour].At
			count[at.Month()][at.Hour()]++
			if yes {
				came[at.Month()][at.Hour()]++
			}
		}
	}
	return func(at time.Time) float64 { return came[at.Month()][at.Hour()] / count[at.Month()][at.Hour()] }
}

// TestReliability is the study. Experience is learned once a week from the pairs
// of the last 60 days, of nothing that had not been measured by then, and the
// first 30 days are not counted.
func TestReliability(t *testing.T) {
	for _, site := range []struct {
		name, file string
		east       int
		tolerance  float64 // of what came true in a tenth
	}{
		{"Newark 2013, where choices were made", "newark_2013_hourly.csv", -5, 0.1},
		{"Seattle 2014, reported", "seattle_2014_hourly.csv", 0, 0.15},
	} {
		t.Run(site.name, func(t *testing.T) {
			truth := gapless(hoursOf(t, site.file))
			l := newLiar(t, truth, site.east)
			usual := climatology(truth)
			ways := []*scored{
				{name: "learned, whole span"}, {name: "learned, least of its hours"}, {name: "learned, product of its hours"},
				{name: "raw, whole span"}, {name: "raw, least of its hours"}, {name: "raw, product of its hours"},
				{name: "share by month and hour"},
			}
			var pairs []Pair
			var x Experience
			for hour := 0; hour+behind < len(truth); hour += issuedEach {
				now := truth[hour].At
				if hour%(7*24) == 0 {
					x = Learn(recent(pairs, now))
				}
				raw := l.issue(hour)
				for lead := 0; lead <= behind; lead += 3 {
					pairs = append(pairs, Pair{Place: "slip", Issued: now, At: raw[lead].At, Forecast: raw[lead], Observed: truth[hour+lead]})
				}
				if hour < 30*24 {
					continue
				}
				learned, bare := make([]Weather, len(raw)), make([]Weather, len(raw))
				for i, w := range raw {
					learned[i] = x.Correct(w, "slip", now)
					bare[i] = Experience{}.Correct(w, "slip", now)
				}
				for lead := 0; lead <= 48; lead += 3 {
					came, ok := holds(truth, hour+lead)
					if !ok {
						continue
					}
					var c [7]float64
					c[0], c[1], c[2] = chances(learned[lead:lead+held], x)
					c[3], c[4], c[5] = chances(bare[lead:lead+held], Experience{})
					c[6] = usual(truth[hour+lead].At)
					for i, s := range ways {
						s.add(c[i], came)
					}
				}
			}
			t.Logf("synthetic forecasts over real air; together %.2f, persists %v", x.Together, x.Persists)
			reliable(t, ways, site.tolerance)
		})
	}
}

func recent(pairs []Pair, now time.Time) []Pair {
	var out []Pair
	for _, p := range pairs {
		if !p.At.After(now) && now.Sub(p.At) < 60*24*time.Hour {
			out = append(out, p)
		}
	}
	return out
}

func reliable(t *testing.T, ways []*scored, tolerance float64) {
	t.Helper()
	best, raw, usual := ways[0], ways[3], ways[len(ways)-1]
	for _, s := range ways {
		t.Logf("%-30s Brier %.4f, skill against the shares by month and hour %+.3f", s.name, s.mean(), 1-s.mean()/usual.mean())
	}
	t.Log("      tenth  foretold  came true  spans |  raw: foretold  came true  spans")
	for i, n := range best.count {
		t.Logf("%.1f to %.1f     %.3f      %.3f  %5.0f |          %.3f      %.3f  %5.0f", float64(i)/10, float64(i+1)/10,
			best.chance[i]/n, best.came[i]/n, n, raw.chance[i]/raw.count[i], raw.came[i]/raw.count[i], raw.count[i])
		if off := (best.came[i] - best.chance[i]) / n; n >= 200 && math.Abs(off) > tolerance {
			t.Errorf("of %.0f spans in tenth %d, %.3f came true where %.3f was foretold", n, i, best.came[i]/n, best.chance[i]/n)
		}
	}
	t.Logf("of %.0f spans with at least 0.7, %.3f came true; of %.0f with at least 0.95, %.3f (raw: of %.0f, %.3f)",
		best.firm[0], best.firm[1]/best.firm[0], best.sure[0], best.sure[1]/best.sure[0], raw.sure[0], raw.sure[1]/raw.sure[0])
	// What DESIGN's plan_confidence and start_confidence promise.
	if best.firm[1] < 0.7*best.firm[0] || best.sure[1] < 0.95*best.sure[0] {
		t.Error("fewer came true than was promised")
	}
	if best.mean() >= usual.mean() {
		t.Error("no better than the shares by month and hour")
	}
	for _, s := range ways[1:] {
		if best.mean() > s.mean() {
			t.Errorf("%s does better", s.name)
		}
	}
}
