package conditions

import (
	"cmp"
	"math"
	"slices"
	"time"
)

const day = 24 * time.Hour

// judged is how many days back sources of forecasts are compared. Our judgement: long
// enough for several kinds of weather, short enough for a model that was changed.
const judged = 14

// leadGroups are where the groups of leads end that are scored apart: the hours that a
// reading corrects, today and tomorrow, and the days that a plan is told for.
var leadGroups = [...]time.Duration{6 * time.Hour, 24 * time.Hour, 72 * time.Hour}

// Skill is how right one source of forecasts has lately been, by groups of leads: up
// to 6 h, 24 h and 72 h. It is scored as a plan would have used it: without the bias
// that had been learned of it before each day.
type Skill struct {
	Source string                  `json:"source"`
	Leads  [len(leadGroups)]Errors `json:"leads"`
	// Behind is how it did beside the leading source; nothing of that itself.
	Behind Duel `json:"behind,omitzero"`
}

// Errors are those of one group of leads: root mean squares, and of air and margin
// also the continuous ranked probability score, which counts what a forecast said of
// its own doubt. All are 0 where there are no pairs.
type Errors struct {
	Pairs      int     `json:"pairs"`
	Air        float64 `json:"air"`       // K
	DewPoint   float64 `json:"dew_point"` // K
	Margin     float64 `json:"margin"`    // K
	AirCRPS    float64 `json:"air_crps"`
	MarginCRPS float64 `json:"margin_crps"`
	WindPairs  int     `json:"wind_pairs"`
	Wind       float64 `json:"wind"` // m/s
}

// ranked is the continuous ranked probability score of a normal distribution:
// Gneiting and Raftery 2007, closed form. Without a deviation it is the absolute error.
func ranked(value, mean, deviation float64) float64 {
	if deviation <= 0 {
		return math.Abs(value - mean)
	}
	z := (value - mean) / deviation
	return deviation * (z*(2*Chance(z)-1) + 2*math.Exp(-z*z/2)/math.Sqrt(2*math.Pi) - 1/math.Sqrt(math.Pi))
}

// cell is one hour in one place at one group of leads, where sources are compared.
type cell struct {
	place string
	at    int64
	group int
}

// grade is what one source scored in a cell, as sums over its issues.
type grade struct {
	pairs int
	score float64 // CRPS of air and of margin, each half
	day   int     // how many days ago
}

// report is one source's errors and grades.
type report struct {
	leads  [len(leadGroups)]Errors
	cells  []cell // in order of time
	grades map[cell]grade
}

// graded scores each source's pairs of the last days before now, each day by the
// experience of the days before it.
func graded(pairs []Pair, now time.Time) map[string]*report {
	by := map[string][]Pair{}
	for _, p := range pairs {
		if teaches(p) && !p.At.After(now) && !math.IsNaN(float64(p.Forecast.Air+p.Forecast.DewPoint+p.Observed.Air+p.Observed.DewPoint)) {
			by[p.Source] = append(by[p.Source], p)
		}
	}
	reports := map[string]*report{}
	for source, own := range by {
		slices.SortStableFunc(own, func(a, b Pair) int {
			return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Place, b.Place), a.Issued.Compare(b.Issued))
		})
		r := &report{grades: map[cell]grade{}}
		reports[source] = r
		for ago := judged - 1; ago >= 0; ago-- {
			from := until(own, now.Add(-time.Duration(ago+1)*day))
			to := until(own, now.Add(-time.Duration(ago)*day))
			if from == to {
				continue
			}
			x := Learn(own[:from])
			for _, p := range own[from:to] {
				r.add(p, x.Correct(p.Forecast, p.Place, p.Issued), ago)
			}
		}
		for i := range r.leads {
			r.leads[i].finish()
		}
	}
	return reports
}

// until is how many of the pairs, in order of time, are of a time or before.
func until(pairs []Pair, t time.Time) int {
	n, _ := slices.BinarySearchFunc(pairs, t, func(p Pair, t time.Time) int {
		if p.At.After(t) {
			return 1
		}
		return -1
	})
	return n
}

// add grades one pair, whose forecast is w when its bias is out.
func (r *report) add(p Pair, w Weather, ago int) {
	group := slices.IndexFunc(leadGroups[:], func(end time.Duration) bool { return p.At.Sub(p.Issued) <= end })
	if group < 0 {
		return
	}
	air, dew := float64(p.Observed.Air.Over(w.Air)), float64(p.Observed.DewPoint.Over(w.DewPoint))
	e := &r.leads[group]
	e.Pairs++
	e.Air += air * air
	e.DewPoint += dew * dew
	e.Margin += (air - dew) * (air - dew)
	ofAir := ranked(air, 0, float64(w.AirError))
	ofMargin := ranked(air-dew, 0, float64(difference(w.AirError, w.DewError, w.correlation())))
	e.AirCRPS += ofAir
	e.MarginCRPS += ofMargin
	if wind := float64(p.Observed.Wind - w.Wind); !math.IsNaN(wind) {
		e.WindPairs++
		e.Wind += wind * wind
	}
	at := cell{p.Place, p.At.Unix(), group}
	g, known := r.grades[at]
	if !known {
		r.cells = append(r.cells, at)
	}
	g.pairs++
	g.score += (ofAir + ofMargin) / 2
	g.day = ago
	r.grades[at] = g
}

// finish makes means of sums.
func (e *Errors) finish() {
	if n := float64(e.Pairs); n > 0 {
		e.Air, e.DewPoint, e.Margin = math.Sqrt(e.Air/n), math.Sqrt(e.DewPoint/n), math.Sqrt(e.Margin/n)
		e.AirCRPS, e.MarginCRPS = e.AirCRPS/n, e.MarginCRPS/n
	}
	if e.WindPairs > 0 {
		e.Wind = math.Sqrt(e.Wind / float64(e.WindPairs))
	}
}
