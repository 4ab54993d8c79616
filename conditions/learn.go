package conditions

import (
	"cmp"
	"math"
	"slices"
	"time"

	"fairwindow/conditions/unit"
)

// Pair is one time of a forecast, as it came and uncorrected, and what was
// measured in that place then.
type Pair struct {
	Source   string    `json:"source,omitempty"` // of the forecast
	Place    string    `json:"place"`
	Issued   time.Time `json:"issued"`
	At       time.Time `json:"at"`
	Forecast Weather   `json:"forecast"`
	Observed Weather   `json:"observed"`
}

// What pairs are held against. Our judgement, no source.
const (
	// fades is the age at which a pair counts half, by the newest of its place:
	// models change and seasons pass.
	fades = 30 * 24 * time.Hour
	// weighs is how many independent pairs the published figures count for.
	weighs = 20
	// wild is the greatest error that is believed, in published deviations. A
	// greater one counts as that: one broken reading must not make a bias.
	wild = 4
)

// Learn is what a yard's pairs tell of its forecast. A pair whose forecast is not
// Foretold or was corrected before, or whose reading is not Measured, teaches
// nothing. Errors persist, so pairs close in time say nearly the same: with a
// time constant of 6 h, n hourly pairs count as n/12, and what several issues
// said of one hour counts as one. A pair 30 days older than the newest of its
// place counts half. The order of the pairs does not matter. Where there are
// few, the published figures rule; where there are none, exactly so.
func Learn(pairs []Pair) Experience {
	pairs = slices.DeleteFunc(slices.Clone(pairs), func(p Pair) bool { return !teaches(p) })
	slices.SortFunc(pairs, func(a, b Pair) int {
		return cmp.Or(cmp.Compare(a.Place, b.Place), a.At.Compare(b.At), a.Issued.Compare(b.Issued),
			cmp.Compare(a.Forecast.Air, b.Forecast.Air), cmp.Compare(a.Observed.Air, b.Observed.Air),
			cmp.Compare(a.Forecast.DewPoint, b.Forecast.DewPoint), cmp.Compare(a.Observed.DewPoint, b.Observed.DewPoint))
	})
	x := Experience{Places: map[string]Habit{}}
	var seen likeness
	for len(pairs) > 0 {
		place := pairs[0].Place
		n := slices.IndexFunc(pairs, func(p Pair) bool { return p.Place != place })
		if n < 0 {
			n = len(pairs)
		}
		air, dew := airMisses(pairs[:n]), dewMisses(pairs[:n])
		habit := Habit{Air: lesson(air), DewPoint: lesson(dew), Wind: windFactor(pairs[:n])}
		x.Places[place] = habit
		habit.Air.rest(air)
		habit.DewPoint.rest(dew)
		seen.persistence(air)
		seen.persistence(dew)
		seen.correlation(air, dew)
		pairs = pairs[n:]
	}
	x.Together, x.Persists = seen.together(), seen.persists()
	return x
}

// teaches reports whether a pair is a forecast as it came beside a reading of its time.
func teaches(p Pair) bool {
	return p.Forecast.Sure == Foretold && p.Forecast.Learned == 0 && p.Observed.Sure == Measured && !p.At.Before(p.Issued)
}

// LearnEach is what the pairs of each source of forecasts tell, by source: another
// model errs in another way.
func LearnEach(pairs []Pair) map[string]Experience {
	by := map[string][]Pair{}
	for _, p := range pairs {
		by[p.Source] = append(by[p.Source], p)
	}
	each := map[string]Experience{}
	for source, own := range by {
		each[source] = Learn(own)
	}
	return each
}

// missed is one pair's error of one variable.
type missed struct {
	pair   int // whose
	issued time.Time
	at     time.Time
	lead   time.Duration
	terms  [terms]float64
	by     float64 // observed less forecast, in published deviations of that lead
	counts float64 // as how many independent and fresh pairs
	alone  float64 // the same, were there only pairs of about its lead
}

func airMisses(pairs []Pair) []missed {
	return misses(pairs, func(p *Pair) float64 {
		air, _, _ := Spread(p.At.Sub(p.Issued))
		return float64(p.Observed.Air.Over(p.Forecast.Air) / air)
	})
}

func dewMisses(pairs []Pair) []missed {
	return misses(pairs, func(p *Pair) float64 {
		_, dew, _ := Spread(p.At.Sub(p.Issued))
		return float64(p.Observed.DewPoint.Over(p.Forecast.DewPoint) / dew)
	})
}

func misses(pairs []Pair, of func(*Pair) float64) []missed {
	var out []missed
	var times []time.Time
	for i := range pairs {
		p := &pairs[i]
		by := of(p)
		if !unit.Known(by) {
			continue
		}
		times = append(times, p.At)
		lead := p.At.Sub(p.Issued)
		out = append(out, missed{
			pair: i, issued: p.Issued, at: p.At, lead: lead,
			terms: termsOf(&p.Forecast, lead), by: max(-wild, min(wild, by)),
		})
	}
	for i, n := range effective(times) {
		out[i].counts = n
	}
	for part := range leads {
		var among []int
		times = times[:0]
		for i, m := range out {
			if nearest(m.lead) == part {
				among, times = append(among, i), append(times, m.at)
			}
		}
		for j, n := range effective(times) {
			out[among[j]].alone = n
		}
	}
	return out
}

// effective is as how many fresh, independent ones each of the times counts,
// which are in order: its age's weight over the sum of its correlations with
// all, itself included. Evenly spaced this is the usual n(1−ρ)/(1+ρ) of a
// first-order process.
func effective(times []time.Time) []float64 {
	n := make([]float64, len(times))
	sweep := func(i, before int, sum float64) float64 {
		if before >= 0 && before < len(times) {
			sum *= Decay(persists, times[i].Sub(times[before]).Abs())
		} else {
			sum = 0
		}
		n[i] += sum
		return sum + 1
	}
	sum := 0.0
	for i := range times {
		sum = sweep(i, i-1, sum)
	}
	for i := len(times) - 1; i >= 0; i-- {
		sum = sweep(i, i+1, sum)
	}
	for i := range n {
		age := times[len(times)-1].Sub(times[i])
		n[i] = math.Exp2(-float64(age)/float64(fades)) / (1 + n[i])
	}
	return n
}

// windFactor is the measured wind over the forecast one, of sums: gauges stand
// in lees, and a quotient of calms means nothing.
func windFactor(pairs []Pair) float64 {
	var times []time.Time
	var measured, foretold []float64
	for i := range pairs {
		m, f := float64(pairs[i].Observed.Wind), float64(pairs[i].Forecast.Wind)
		if m >= 0 && f >= 0 && unit.Known(m+f) {
			times, measured, foretold = append(times, pairs[i].At), append(measured, m), append(foretold, f)
		}
	}
	var n, m, f float64
	for i, w := range effective(times) {
		n, m, f = n+w, m+w*measured[i], f+w*foretold[i]
	}
	if f == 0 {
		return 1
	}
	return (n*m/f + weighs) / (n + weighs)
}

// likeness gathers what errors have in common, from what their lessons leave
// of them, in its deviations.
type likeness struct {
	product, air, dew float64       // of one pair's two errors
	later, square     float64       // of one issue's errors of two times
	pairs, prior      float64       // how many those are, and what 6 h would have them be
	lag               time.Duration // their distance, as a sum with weights
}

func (s *likeness) correlation(air, dew []missed) {
	for _, a := range air {
		for len(dew) > 0 && dew[0].pair < a.pair {
			dew = dew[1:]
		}
		if len(dew) > 0 && dew[0].pair == a.pair {
			d := dew[0]
			s.product += a.counts * a.by * d.by
			s.air += a.counts * a.by * a.by
			s.dew += a.counts * d.by * d.by
		}
	}
}

func (s *likeness) together() float64 {
	if s.air == 0 || s.dew == 0 {
		return together
	}
	return (s.product + weighs*together) / math.Sqrt((s.air+weighs)*(s.dew+weighs))
}

func (s *likeness) persistence(misses []missed) {
	last := map[int64]missed{}
	for _, m := range misses {
		before, ok := last[m.issued.UnixNano()]
		last[m.issued.UnixNano()] = m
		lag := m.at.Sub(before.at)
		if !ok || lag <= 0 || lag > persists {
			continue
		}
		s.later += m.counts * m.by * before.by
		s.square += m.counts * (m.by*m.by + before.by*before.by) / 2
		s.pairs += m.counts
		s.prior += m.counts * Decay(persists, lag)
		s.lag += time.Duration(m.counts * float64(lag))
	}
}

// The persistence that is believed. Our judgement, no source: shorter, and a
// reading would correct nothing; longer, and it would be a bias.
const (
	briefest = 2 * time.Hour
	longest  = 12 * time.Hour
)

// persists is the time constant with which the correlation at the mean distance
// of the pairs would come about, in whole minutes.
func (s *likeness) persists() unit.Duration {
	if s.pairs == 0 {
		return unit.Duration(persists)
	}
	rho := (s.later + weighs*s.prior/s.pairs) / (s.square + weighs)
	lag := float64(s.lag) / s.pairs
	constant := longest
	if most := math.Exp(-lag / float64(longest)); rho < most {
		constant = briefest
		if rho > math.Exp(-lag/float64(briefest)) {
			constant = time.Duration(-lag / math.Log(rho))
		}
	}
	return unit.Duration(constant.Round(time.Minute))
}
