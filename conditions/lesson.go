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
	// Bias, observed less forecast: the mean over the day, the day's first two
	// harmonics (cosine and sine of the UTC hour: they fit a day that begins at
	// any hour), and how much more the mean is at a lead of 48 h than at 24 h.
	Bias [terms]float64 `json:"bias"`
	// Doubt is the covariance of what is not known of Bias.
	Doubt [terms][terms]float64 `json:"doubt"`
	// Rest is the variance of what no bias explains, at the leads 0, 6, 12, 24,
	// 48, 96 and 168 h, as a share of the published one.
	Rest [nodesOfLead]float64 `json:"rest"`
}

const (
	terms       = 6
	nodesOfLead = 7
)

var leads = [nodesOfLead]time.Duration{
	0, 6 * time.Hour, 12 * time.Hour, 24 * time.Hour, 48 * time.Hour, 96 * time.Hour, 168 * time.Hour,
}

// believed is how the published variance is shared among Bias before anything is
// learned: the mean has the share that is the station's own, of the pairs of
// spread.go; that of the hours and of the lead are our judgement, no source. What
// they leave is the rest.
var believed = [terms]float64{standing, 0.05, 0.05, 0.025, 0.025, 0.025}

func termsAt(at time.Time, lead time.Duration) [terms]float64 {
	day := 2 * math.Pi * float64(at.Unix()%86400) / 86400
	s1, c1 := math.Sincos(day)
	s2, c2 := math.Sincos(2 * day)
	return [terms]float64{1, c1, s1, c2, s2, max(-1, min(1, lead.Hours()/24-1))}
}

// unexplained is the share of the published variance that no bias explains.
func unexplained(x [terms]float64) float64 {
	left := 1.0
	for i, v := range x {
		left -= believed[i] * v * v
	}
	return left
}

// between the two nodes i and i+1 a lead lies, at part of the way.
func nodeOfLead(lead time.Duration) (i int, part float64) {
	lead = max(leads[0], min(leads[nodesOfLead-1], lead))
	for i < nodesOfLead-2 && lead > leads[i+1] {
		i++
	}
	return i, float64(lead-leads[i]) / float64(leads[i+1]-leads[i])
}

func nearest(lead time.Duration) int {
	i, part := nodeOfLead(lead)
	return i + int(math.Round(part))
}

func (l *Lesson) restAt(lead time.Duration) float64 {
	i, part := nodeOfLead(lead)
	return between(l.Rest[i], l.Rest[i+1], part)
}

// at is the bias at a time and lead, and the variances of what is not known of
// it and of the rest.
func (l *Lesson) at(at time.Time, lead time.Duration) (bias, doubt, rest float64) {
	x := termsAt(at, lead)
	for i := range x {
		bias += l.Bias[i] * x[i]
		for j := range x {
			doubt += x[i] * l.Doubt[i][j] * x[j]
		}
	}
	return bias, doubt, unexplained(x) * l.restAt(lead)
}

// correct is a value without its bias, and the error that it keeps.
func (l *Lesson) correct(v unit.Temperature, published unit.TempDiff, at time.Time, lead time.Duration) (unit.Temperature, unit.TempDiff) {
	if l.Pairs == 0 || !unit.Known(v) {
		return v, published
	}
	bias, doubt, rest := l.at(at, lead)
	return v.Plus(published * unit.TempDiff(bias)), max(read, published*unit.TempDiff(math.Sqrt(doubt+rest)))
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
		x := termsAt(m.at, m.lead)
		weight := m.counts / (unexplained(x) * l.restAt(m.lead))
		for i := range x {
			sums[i] += weight * x[i] * m.by
			for j := range x {
				precision[i*terms+j] += weight * x[i] * x[j]
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
	var sums, pairs [nodesOfLead]float64
	for _, m := range misses {
		bias, doubt, _ := l.at(m.at, m.lead)
		off := m.by - bias
		ratio := (off*off + doubt) / unexplained(termsAt(m.at, m.lead))
		i, part := nodeOfLead(m.lead)
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
		bias, _, rest := l.at(m.at, m.lead)
		misses[i].by = (m.by - bias) / math.Sqrt(rest)
	}
}
