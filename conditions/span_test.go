package conditions

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// numeric is the error of a span's chance, which TestSpanAgainstDense finds and
// all tests allow.
const numeric = 1e-4

// TestSpanOfTwoAndThree: the orthant probabilities of two and three normal
// errors, textbook closed forms (Sheppard 1898 for two, and for three
// 1/8 + Σ asin ρ / 4π), at scores of zero.
func TestSpanOfTwoAndThree(t *testing.T) {
	for _, step := range []time.Duration{30 * time.Minute, time.Hour, 3 * time.Hour, 6 * time.Hour, 24 * time.Hour} {
		rho := math.Exp(-step.Hours() / 6)
		near(t, "two, "+step.String(), spanOf([]float64{0, 0}, step), 0.25+math.Asin(rho)/(2*math.Pi), numeric)
		three := 0.125 + (2*math.Asin(rho)+math.Asin(rho*rho))/(4*math.Pi)
		near(t, "three, "+step.String(), spanOf([]float64{0, 0, 0}, step), three, numeric)
	}
}

// TestSpanLimits: errors that forget give the product, errors that stay the least.
func TestSpanLimits(t *testing.T) {
	z := []float64{0.5, 1.2, 0.9, 2, 1.1}
	product := 1.0
	for _, v := range z {
		product *= Chance(v)
	}
	near(t, "forgotten", spanOf(z, 1000*time.Hour), product, numeric)
	near(t, "all at once", spanOf(z, 0), Chance(0.5), 0)
	near(t, "within half an hour", spanOf(z, 5*time.Minute), Chance(0.5), 0)
}

func TestSpanEnds(t *testing.T) {
	inf := math.Inf(1)
	for _, c := range []struct {
		z    []float64
		want float64
	}{
		{nil, 1},
		{[]float64{inf, inf}, 1},
		{[]float64{inf, -inf, inf}, 0},
		{[]float64{1, math.NaN(), inf}, 0},
		{[]float64{inf, 1, inf}, Chance(1)},
		{[]float64{1.3}, Chance(1.3)},
		{[]float64{-7, 3}, 0},
		{[]float64{9, 9, 9}, 1},
	} {
		if got := spanOf(c.z, time.Hour); math.Abs(got-c.want) > numeric || got > 1 || got < 0 {
			t.Errorf("%v: %v, want %v", c.z, got, c.want)
		}
	}
	if spanOf([]float64{inf, inf}, time.Hour) != 1 || spanOf([]float64{1, -inf}, time.Hour) != 0 {
		t.Error("what is certain must be so exactly")
	}
}

// dense is the chance by brute force: Simpson's rule over the density that is
// left after each moment, on 400 strips up to its score.
func dense(z []float64, rho float64) float64 {
	const n, low = 400, -7.0
	grid := func(z float64) (x [n + 1]float64, h float64) {
		h = (min(z, 7) - low) / n
		for i := range x {
			x[i] = low + h*float64(i)
		}
		return x, h
	}
	simpson := func(f *[n + 1]float64, h float64) float64 {
		sum := f[0] + f[n]
		for i := 1; i < n; i++ {
			sum += float64(2+2*(i%2)) * f[i]
		}
		return sum * h / 3
	}
	normal := func(d float64) float64 { return math.Exp(-d*d/2) / math.Sqrt(2*math.Pi) }
	x, h := grid(z[0])
	var f [n + 1]float64
	for i := range f {
		f[i] = normal(x[i])
	}
	s := math.Sqrt(1 - rho*rho)
	for _, next := range z[1:] {
		y, hy := grid(next)
		var g, part [n + 1]float64
		for j := range g {
			for i := range f {
				part[i] = f[i] * normal((y[j]-rho*x[i])/s) / s
			}
			g[j] = simpson(&part, h)
		}
		x, h, f = y, hy, g
	}
	return simpson(&f, h)
}

// TestSpanAgainstDense finds how good the numbers are, wherever a score falls
// between two nodes.
func TestSpanAgainstDense(t *testing.T) {
	worst := 0.0
	for _, c := range []struct{ step, persists time.Duration }{
		{30 * time.Minute, briefest}, {30 * time.Minute, persists}, {30 * time.Minute, longest}, {3 * time.Hour, persists},
	} {
		for _, level := range []float64{-1, 0, 0.77, 1.4, 2.05} {
			z := make([]float64, 10)
			for i := range z {
				z[i] = level + 0.4*math.Sin(float64(i))
			}
			off := math.Abs(Experience{Persists: unit.Duration(c.persists)}.Spans(c.step).Chance(z) - dense(z, Decay(c.persists, c.step)))
			worst = max(worst, off)
		}
	}
	t.Logf("greatest error %.1e", worst)
	if worst > numeric {
		t.Errorf("greatest error %.1e", worst)
	}
}

// TestSpanAgainstChance: a million and a half drawn paths, whose own error is
// 4e-4 (standard deviation); three of those and the 1e-4 of the numbers.
func TestSpanAgainstChance(t *testing.T) {
	const paths = 1_500_000
	draw := rand.New(rand.NewPCG(3, 14))
	z := []float64{1.6, 1.4, 1.2, 1.0, 0.9, 0.8, 1.0, 1.3, 1.8, 2.5, 3, 3}
	rho := math.Exp(-1.0 / 6)
	s := math.Sqrt(1 - rho*rho)
	held := 0
	for range paths {
		x := draw.NormFloat64()
		holds := x <= z[0]
		for _, v := range z[1:] {
			if !holds {
				break
			}
			x = rho*x + s*draw.NormFloat64()
			holds = x <= v
		}
		if holds {
			held++
		}
	}
	near(t, "twelve hours", spanOf(z, time.Hour), float64(held)/paths, 1.3e-3)
}

// TestSpanCutFinely: a span cut into five minutes is the span of its half hours' worst.
func TestSpanCutFinely(t *testing.T) {
	var fine, coarse []float64
	for i := range 24 {
		level := 1.5 + math.Sin(float64(i)/4)
		coarse = append(coarse, level)
		for j := range 6 {
			fine = append(fine, level+float64((j+i)%6)/10)
		}
	}
	near(t, "12 h", spanOf(fine, 5*time.Minute), spanOf(coarse, 30*time.Minute), 1e-12)
}

// TestSpanProperties: it lies between product and least; it grows with every
// score, so with every margin; a further moment never raises it.
func TestSpanProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		z := rapid.SliceOfN(rapid.Float64Range(-2, 6), 1, 40).Draw(t, "z")
		step := time.Duration(rapid.IntRange(5, 400).Draw(t, "minutes")) * time.Minute
		got := spanOf(z, step)
		product, least := 1.0, 1.0
		for _, v := range z {
			product *= Chance(v)
			least = min(least, Chance(v))
		}
		if got > least || got < product-numeric {
			t.Fatalf("%v is not between %v and %v", got, product, least)
		}
		better := append([]float64(nil), z...)
		better[rapid.IntRange(0, len(z)-1).Draw(t, "which")] += rapid.Float64Range(0, 3).Draw(t, "by")
		if more := spanOf(better, step); more < got-numeric {
			t.Fatalf("a better moment: %v after %v", more, got)
		}
		longer := append(append([]float64(nil), z...), rapid.Float64Range(-2, 6).Draw(t, "next"))
		if more := spanOf(longer, step); more > got+numeric {
			t.Fatalf("a further moment: %v after %v", more, got)
		}
	})
}

// TestSpanOfMargins: the chance grows with the margin of a whole span.
func TestSpanOfMargins(t *testing.T) {
	rules := Rules{{Of: OfMargin, Least: true, At: 3}}
	last := 0.0
	for dew := unit.Temperature(18); dew > 5; dew -= 0.25 {
		z := make([]float64, 8)
		for i := range z {
			z[i], _ = Score(&Moment{Sure: Foretold, Coldest: 18, DewPoint: dew, MarginError: 1.6}, rules)
		}
		chance := spanOf(z, time.Hour)
		if chance < last-numeric {
			t.Fatalf("dew point %v: %v after %v", dew, chance, last)
		}
		last = chance
	}
	near(t, "far within", last, 1, 0.001)
}

func TestSpanAllocatesNothing(t *testing.T) {
	z := make([]float64, 288)
	for i := range z {
		z[i] = 2 + math.Sin(float64(i)/40)
	}
	if n := testing.AllocsPerRun(10, func() { spanOf(z, 5*time.Minute) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkSpan(b *testing.B) {
	z := make([]float64, 288)
	for i := range z {
		z[i] = 2 + math.Sin(float64(i)/40)
	}
	b.ReportAllocs()
	for b.Loop() {
		spanOf(z, 5*time.Minute)
	}
}

// spanOf is the chance of one span while nothing was learned yet.
func spanOf(z []float64, step time.Duration) float64 {
	var s Spans // not on the heap: these tests ask for thousands
	s.prepare(step, persists)
	return s.Chance(z)
}
