package conditions

import (
	"math"
	"time"
)

// oneMoment is how near two moments are taken as one: forecasts come by the hour,
// and the pairs that the persistence of their errors was taken from lie 3 h apart,
// so nothing is known of an error's path within half an hour.
const oneMoment = 30 * time.Minute

// The scores at which the numbers are kept: from −5 to 5.4 in steps of 0.2,
// which is half the width of the narrowest step that an error takes in half an hour.
// A score over certain is never missed, one under −certain never kept.
const (
	certain   = 5.0
	mesh      = 0.2
	meshNodes = int(2*certain/mesh) + 3
)

// Spans tells the chances of spans of one step: what they have in common is worked
// out once.
type Spans struct {
	each  int // moments that are taken as one
	drift drift
}

// Spans is for spans of moments that lie step apart, with the persistence that was learned.
func (x Experience) Spans(step time.Duration) *Spans {
	lasts := persists
	if x.Persists > 0 {
		lasts = min(x.Persists.Std(), longest)
	}
	s := new(Spans)
	s.prepare(step, lasts)
	return s
}

func (s *Spans) prepare(step, persists time.Duration) {
	s.each = math.MaxInt
	if step > 0 {
		s.each = int((oneMoment + step - 1) / step)
		s.drift.fill(Decay(persists, step*time.Duration(s.each)))
	}
}

// Chance is that every moment of a span holds, given each moment's Score in the order of
// time. The error is one first-order process with a time constant of 6 h, or that which was
// learned, as Correct has it: so the chance lies between the product of the moments' chances
// (errors that forget) and the least of them (an error that stays). Moments less than 30 min
// apart count as one, the worst of them: a span's chance does not hang on how finely it was
// cut. All scores count as of one error, too cold or too damp. +Inf holds whatever the error
// is; −Inf and NaN never hold; no moments hold. Within 1e-3 of the exact integral.
func (s *Spans) Chance(z []float64) float64 {
	each := min(s.each, max(1, len(z)))
	least := worst(z)
	for len(z) > 0 && worst(z[max(0, len(z)-lastOf(len(z), each)):]) > certain {
		z = z[:len(z)-lastOf(len(z), each)]
	}
	if len(z) <= each || !(least > -certain) {
		return Chance(least)
	}
	return min(s.drift.all(z, each), Chance(least))
}

// lastOf is how many of n moments the last of groups of each has.
func lastOf(n, each int) int { return (n-1)%each + 1 }

// worst is the least score; NaN is never kept.
func worst(z []float64) float64 {
	least := math.Inf(1)
	for _, v := range z {
		if math.IsNaN(v) {
			return math.Inf(-1)
		}
		least = min(least, v)
	}
	return least
}

// drift is the step of a first-order process from one moment to the next: the
// density of the next error, given this one's, times the mesh.
type drift struct {
	dense      [meshNodes][meshNodes]float64
	from, upTo [meshNodes]int // of each row, what is not next to nothing
}

func node(i int) float64 { return float64(i)*mesh - certain }

func (w *drift) fill(rho float64) {
	sigma := math.Sqrt(1 - rho*rho)
	for i := range w.dense {
		centre, reach := rho*node(i), 4.5*sigma
		w.from[i] = max(0, int(math.Ceil((centre-reach+certain)/mesh)))
		w.upTo[i] = min(meshNodes, int((centre+reach+certain)/mesh)+1)
		row := w.dense[i][w.from[i]:w.upTo[i]]
		sum := 0.0
		for j := range row {
			d := (node(w.from[i]+j) - centre) / sigma
			row[j] = math.Exp(-d * d / 2)
			sum += row[j]
		}
		for j := range row {
			row[j] /= sum
		}
	}
}

// all goes back from the last moment: hold[j] is the chance that this moment and
// all later ones hold, given this one's error. Given the error before, it is the
// integral of the density times hold up to the moment's score.
func (w *drift) all(z []float64, each int) float64 {
	var hold, next [meshNodes]float64
	for i := range hold {
		hold[i] = 1
	}
	for {
		last := lastOf(len(z), each)
		end := cut(&hold, worst(z[len(z)-last:]))
		z = z[:len(z)-last]
		if len(z) == 0 {
			sum := 0.0
			for j, v := range hold[:end] {
				x := node(j)
				sum += math.Exp(-x*x/2) * v
			}
			return max(0, sum*mesh/math.Sqrt(2*math.Pi))
		}
		before := reaches(worst(z[len(z)-lastOf(len(z), each):]))
		for i := range before {
			a := w.from[i]
			b := max(a, min(w.upTo[i], end))
			next[i] = dot(w.dense[i][a:b], hold[a:b])
		}
		hold, next = next, hold
	}
}

// dot is the product of two rows of one length, in four sums that do not wait
// for each other. Gonum's would put both on the heap.
func dot(a, b []float64) float64 {
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i := range min(len(a), len(b)) {
		s0 += a[i] * b[i]
	}
	return s0 + s1 + s2 + s3
}

// reaches is how many meshNodes an integral up to z needs.
func reaches(z float64) int {
	if z >= certain {
		return meshNodes
	}
	return int((z+certain)/mesh) + 3
}

// cut weighs the meshNodes for an integral up to z, which lies anywhere between two
// of them: the trapezoidal rule with its end corrected (Euler and Maclaurin, to the
// third derivative) and the rest of the last mesh from the cubic through the four
// meshNodes about it. What is cut is smooth beyond z.
func cut(v *[meshNodes]float64, z float64) (end int) {
	end = reaches(z)
	if z >= certain {
		return end
	}
	j := end - 3
	t := (z+certain)/mesh - float64(j)
	t2, t3, t4 := t*t, t*t*t, t*t*t*t
	if j > 0 {
		v[j-1] *= 1 + (-t4/4+t3-t2)/6 + 1.0/36 - 1.0/720
	}
	v[j] *= 0.5 + (t4/4-t3*2/3-t2/2+2*t)/2 + 1.0/24 + 3.0/720
	v[j+1] *= (-t4/4+t3/3+t2)/2 - 1.0/12 - 3.0/720
	v[j+2] *= (t4/4-t2/2)/6 + 1.0/72 + 1.0/720
	return end
}
