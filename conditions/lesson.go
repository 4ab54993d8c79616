package conditions

import (
	"math"
	"time"

	"gonum.org/v1/gonum/mat"

	"fairwindow/conditions/unit"
)

// Lesson is what pairs tell of one variable's error in one place. All is in
// published deviations of the lead (Spread), so that one lesson serves all leads.
type Lesson struct {
	// Pairs is as how many independent, fresh pairs those count that it was
	// learned from; 0 is none, and then the rest is nothing.
	Pairs float64 `json:"pairs"`
	// Bias, observed less forecast, is the mean over the day; the day's first two
	// harmonics (cosine and sine of the UTC hour: they fit a day that begins at any
	// hour); how much more it is at a lead of 48 h than at 24 h; and how much more
	// where the forecast's air lies 2, 5, 9 and 15 K over its dew point, with straight
	// lines between: near the limits it is a forecast's damp hours that count.
	Bias [terms]float64 `json:"bias"`
	// Doubt is the covariance of what is not known of Bias.
	Doubt [terms][terms]float64 `json:"doubt"`
	// Rest is the variance of what no bias explains, at the leads 0, 6, 12, 24,
	// 48, 96 and 168 h, over what Spread has of it.
	Rest [len(leads)]float64 `json:"rest"`
}

var (
	leads   = [...]float64{0, 6, 12, 24, 48, 96, 168} // h
	margins = [...]float64{2, 5, 9, 15}               // K
)

const (
	waved = 1 + 2*harmonics // where the terms after the hours' begin
	terms = waved + 1 + len(margins)
)

// believed is how the published variance is shared among Bias before anything is
// learned: the mean has the share that is the station's own, of the pairs of
// spread.go; those of hour, lead and damp are our judgement, no source. What
// they leave is the rest.
var believed = [terms]float64{standing, 0.1, 0.1, 0.05, 0.05, 0.025, 0.05, 0.05, 0.05, 0.05}

// termsOf is what each part of Bias counts at a point of a forecast as it came.
// Where its margin is not known, it is no damper and no drier than others.
func termsOf(w *Weather, lead time.Duration) (x [terms]float64) {
	day := wavesAt(float64(w.At.Unix()) / 86400)
	copy(x[:], day[:])
	x[waved] = max(-1, min(1, lead.Hours()/24-1))
	if margin := float64(w.Air.Over(w.DewPoint)); !math.IsNaN(margin) {
		i, part := amid(margins[:], margin)
		x[waved+1+i], x[waved+2+i] = 1-part, part
	}
	return x
}

// amid is between which two of the nodes a value lies, i and i+1, and how far on
// the way; beyond the ends it is the end.
func amid(nodes []float64, v float64) (i int, part float64) {
	v = max(nodes[0], min(nodes[len(nodes)-1], v))
	for i < len(nodes)-2 && v > nodes[i+1] {
		i++
	}
	return i, (v - nodes[i]) / (nodes[i+1] - nodes[i])
}

// unexplained is the share of the published variance that no bias explains.
func unexplained(x [terms]float64) float64 {
	left := 1.0
	for i, v := range x {
		left -= believed[i] * v * v
	}
	return left
}

// nearest is the node of leads that a lead is next to.
func nearest(lead time.Duration) int {
	i, part := amid(leads[:], lead.Hours())
	return i + int(math.Round(part))
}

func (l *Lesson) restAt(lead time.Duration) float64 {
	i, part := amid(leads[:], lead.Hours())
	return between(l.Rest[i], l.Rest[i+1], part)
}

// at is the bias at a point, and the variances of what is not known of it and
// of the rest.
func (l *Lesson) at(x [terms]float64, lead time.Duration) (bias, doubt, rest float64) {
	for i := range x {
		bias += l.Bias[i] * x[i]
		for j := range x {
			doubt += x[i] * l.Doubt[i][j] * x[j]
		}
	}
	return bias, doubt, unexplained(x) * l.restAt(lead)
}

// correct is a value without its bias, and the error that it keeps.
func (l *Lesson) correct(v unit.Temperature, published unit.TempDiff, x [terms]float64, lead time.Duration) (unit.Temperature, unit.TempDiff) {
	if l.Pairs == 0 || !unit.Known(v) {
		return v, published
	}
	bias, doubt, rest := l.at(x, lead)
	return v.Plus(published * unit.TempDiff(bias)), max(read, published*unit.TempDiff(math.Sqrt(max(0, doubt+rest))))
}

// learned is the share of the mean bias's variance that is no longer doubt.
func (l *Lesson) learned() unit.Share {
	if l.Pairs == 0 {
		return 0
	}
	return unit.Share(1 - l.Doubt[0][0]/believed[0])
}

// lesson is Bayes's rule for a linear model with normal errors: what was
// believed and what the pairs say, each by its weight. The variance of the rest
// is then that of the errors about the bias, with the bias's doubt (the step of
// expectation and maximization), and the bias is taken once more with it.
func lesson(misses []missed) Lesson {
	var l Lesson
	if len(misses) == 0 {
		return l
	}
	for i := range l.Rest {
		l.Rest[i] = 1
	}
	for _, m := range misses {
		l.Pairs += m.counts
	}
	for range 2 {
		l.fit(misses)
		l.scale(misses)
	}
	return l
}

func (l *Lesson) fit(misses []missed) {
	var precision [terms * terms]float64
	var sums [terms]float64
	for _, m := range misses {
		weight := m.counts / (unexplained(m.terms) * l.restAt(m.lead))
		for i, x := range m.terms {
			sums[i] += weight * x * m.by
			for j, y := range m.terms {
				precision[i*terms+j] += weight * x * y
			}
		}
	}
	for i, variance := range believed {
		precision[i*terms+i] += 1 / variance
	}
	// What was believed is positive definite, and pairs only add to it.
	var chol mat.Cholesky
	chol.Factorize(mat.NewSymDense(terms, precision[:]))
	var doubt mat.SymDense
	_ = chol.InverseTo(&doubt) // its error only tells of an ill condition
	for i := range terms {
		l.Bias[i] = 0
		for j := range terms {
			l.Doubt[i][j] = doubt.At(i, j)
			l.Bias[i] += doubt.At(i, j) * sums[j]
		}
	}
}

func (l *Lesson) scale(misses []missed) {
	var sums, pairs [len(leads)]float64
	for _, m := range misses {
		bias, doubt, _ := l.at(m.terms, m.lead)
		off := m.by - bias
		ratio := (off*off + doubt) / unexplained(m.terms)
		i, part := amid(leads[:], m.lead.Hours())
		sums[i] += (1 - part) * m.alone * ratio
		pairs[i] += (1 - part) * m.alone
		sums[i+1] += part * m.alone * ratio
		pairs[i+1] += part * m.alone
	}
	for i := range l.Rest {
		l.Rest[i] = (sums[i] + weighs) / (pairs[i] + weighs)
	}
}

// rest takes the bias out of errors and leaves them in deviations of the rest.
func (l *Lesson) rest(misses []missed) {
	for i, m := range misses {
		bias, _, rest := l.at(m.terms, m.lead)
		misses[i].by = (m.by - bias) / math.Sqrt(rest)
	}
}
