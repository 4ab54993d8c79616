package conditions

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// When one source takes over from another. Our judgement, no source.
const (
	leastHours = 24   // that both foretold, in each group of leads that counts
	leastDays  = 5    // on which there were such hours
	leastGain  = 0.05 // of the leader's score
	leastSure  = 2    // standard errors of the mean of the days' differences
)

// Duel is how one source did beside another, over the hours that both foretold at the
// same group of leads. Hours is 0 where there were too few to compare.
type Duel struct {
	Hours int `json:"hours"`
	Days  int `json:"days"`
	// Gain is by how much the other's score is less than the first's, as a share of
	// the first's: above 0 the other was more right. The score is the mean of the groups'
	// CRPS of air and margin.
	Gain float64 `json:"gain"`
	// Sure is the mean of the days' differences over its standard error: errors persist
	// for hours, so that a day is the least that tells something of its own (the test of
	// Diebold and Mariano 1995, by days).
	Sure float64 `json:"sure"`
}

// Ranking is which source of forecasts leads, and how the others did beside it. It is
// plain data and has a JSON form.
type Ranking struct {
	At     time.Time `json:"at"`
	Leader string    `json:"leader"`
	// Skills are of all sources, the leader's first, then those nearest to it, then
	// those that can't be compared with it, in the order in which they were named.
	Skills []Skill `json:"skills"`
}

// Rank compares the named sources by pairs of one site up to now. The leader stays
// until another was more right by a twentieth over five days at least, and by more
// than chance would have it: two sources that are equally right do not take turns. One
// that foretold no hour at all lately gives way to the first that did. An unknown
// leader is the first that is named.
func Rank(pairs []Pair, sources []string, leader string, now time.Time) Ranking {
	r := Ranking{At: now}
	if len(sources) == 0 {
		return r
	}
	reports := graded(pairs, now)
	if !slices.Contains(sources, leader) {
		leader = sources[0]
	}
	if reports[leader].hours() == 0 {
		if i := slices.IndexFunc(sources, func(s string) bool { return reports[s].hours() >= leastHours }); i >= 0 {
			leader = sources[i]
		}
	}
	r.Leader = leader
	best := leastGain
	for _, source := range sources {
		if d := duel(reports[leader], reports[source]); source != leader && d.Days >= leastDays && d.Sure >= leastSure && d.Gain > best {
			r.Leader, best = source, d.Gain
		}
	}
	for _, source := range sources {
		s := Skill{Source: source}
		if own := reports[source]; own != nil {
			s.Leads = own.leads
		}
		if source != r.Leader {
			s.Behind = duel(reports[r.Leader], reports[source])
		}
		r.Skills = append(r.Skills, s)
	}
	slices.SortStableFunc(r.Skills, func(a, b Skill) int { return cmp.Or(r.place(a)-r.place(b), cmp.Compare(b.Behind.Gain, a.Behind.Gain)) })
	return r
}

// place is the part of the ranking a skill belongs to.
func (r *Ranking) place(s Skill) int {
	switch {
	case s.Source == r.Leader:
		return 0
	case s.Behind.Hours > 0:
		return 1
	}
	return 2
}

// hours is how many cells a source has; none has none.
func (r *report) hours() int {
	if r == nil {
		return 0
	}
	return len(r.cells)
}

// tally is two sources' scores over cells that both have.
type tally struct {
	cells int
	a, b  float64
}

func (t *tally) add(a, b grade) {
	t.cells++
	t.a += a.score / float64(a.pairs)
	t.b += b.score / float64(b.pairs)
}

// duel compares b with a. Groups of leads count the same, whatever their hours.
func duel(a, b *report) Duel {
	if a == nil || b == nil {
		return Duel{}
	}
	var all [len(leadGroups)]tally
	var days [judged][len(leadGroups)]tally
	for _, at := range a.cells { // not by the map: sums keep their order
		one := a.grades[at]
		if other, ok := b.grades[at]; ok {
			all[at.group].add(one, other)
			days[one.day][at.group].add(one, other)
		}
	}
	var d Duel
	var first, second, groups float64
	for _, t := range all {
		if t.cells >= leastHours {
			n := float64(t.cells)
			first, second, groups = first+t.a/n, second+t.b/n, groups+1
			d.Hours += t.cells
		}
	}
	if groups == 0 || first == 0 {
		return Duel{}
	}
	d.Gain = 1 - second/first
	var sum, squares float64
	for _, groups := range days {
		by, n := 0.0, 0.0
		for i, t := range groups {
			if all[i].cells >= leastHours && t.cells > 0 {
				by, n = by+(t.a-t.b)/float64(t.cells), n+1
			}
		}
		if n > 0 {
			d.Days++
			sum, squares = sum+by/n, squares+by/n*by/n
		}
	}
	d.Sure = sureness(sum, squares, float64(d.Days))
	return d
}

// sureness is a mean over its standard error, at most 99: days that all say the same
// are as sure as it gets.
func sureness(sum, squares, n float64) float64 {
	const most = 99
	if n < 2 {
		return 0
	}
	mean := sum / n
	variance := max(0, squares/n-mean*mean) * n / (n - 1)
	return max(-most, min(most, mean/max(math.Sqrt(variance/n), 1e-9)))
}
