package conditions

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// The unknowns of a booth's fit.
const (
	leakage = iota // m³/h
	loss           // W/K
	reads          // K too warm
	unknowns
)

// squares is the least-squares problem of a booth's fit. It is linear in the
// offset only, so it is solved by Gauss and Newton's steps from the best point
// of a coarse grid.
type squares struct {
	booth Enclosure
	rows  []row
	// doubt is the standard deviation of air and of dew points, K: the two are
	// read by different instruments.
	doubt [2]float64
	x     [unknowns]float64
	// The rows at x, each divided by its doubt.
	miss  *mat.VecDense
	slope *mat.Dense
	sum   float64 // of the misses' squares
	cov   *mat.Dense
}

func newSquares(e Enclosure, rows []row) *squares {
	return &squares{
		booth: e, rows: rows, doubt: [2]float64{1, 1},
		miss: mat.NewVecDense(len(rows), nil), slope: mat.NewDense(len(rows), unknowns, nil),
	}
}

func (s *squares) kind(r row) int {
	if r.dew {
		return 1
	}
	return 0
}

// solve finds x with both kinds of rows in equal doubt, then again with each in
// the doubt that the first solution leaves it.
func (s *squares) solve() error {
	s.begin()
	if err := s.descend(); err != nil {
		return err
	}
	s.weigh()
	return s.descend()
}

// begin puts x on the best point of a grid: leakage and loss nought and from 1
// to 262 144 in steps of eight, which no booth leaves, with each the mean offset.
func (s *squares) begin() {
	best := math.Inf(1)
	var start [unknowns]float64
	for leaks := 0.0; leaks < 3e5; leaks = max(1, 8*leaks) {
		for loses := 0.0; loses < 3e5; loses = max(1, 8*loses) {
			x := [unknowns]float64{leakage: leaks, loss: loses}
			sum, n := 0.0, 0.0
			for _, r := range s.rows {
				if by, _ := r.misses(s.booth, x); !r.dew {
					sum, n = sum+by, n+1
				}
			}
			x[reads] = sum / max(n, 1)
			if s.at(x); s.sum < best {
				best, start = s.sum, x
			}
		}
	}
	s.at(start)
}

// at moves to x.
func (s *squares) at(x [unknowns]float64) {
	s.x, s.sum = x, 0
	for i, r := range s.rows {
		by, per := r.misses(s.booth, x)
		d := s.doubt[s.kind(r)]
		s.miss.SetVec(i, by/d)
		for j := range per {
			s.slope.Set(i, j, per[j]/d)
		}
		s.sum += by / d * by / d
	}
}

// descend takes steps, each halved until it gains, until none does.
func (s *squares) descend() error {
	if s.at(s.x); math.IsNaN(s.sum) || math.IsInf(s.sum, 0) {
		return fmt.Errorf("%d air and dew points lie nowhere near any leakage and wall loss: %s", len(s.rows), notThisBooth)
	}
	for range 100 {
		step, err := s.step()
		if err != nil {
			return err
		}
		from, sum := s.x, s.sum
		part := 1.0
		for ; part > 1e-9; part /= 2 {
			x := from
			for j := range x {
				x[j] += part * step[j]
			}
			if s.at(x); s.sum < sum {
				break
			}
		}
		if !(s.sum < sum) {
			s.at(from)
			return nil
		}
		if s.sum > sum*(1-1e-12) {
			return nil
		}
	}
	return fmt.Errorf("%d air and dew points do not settle on one leakage and wall loss: %s", len(s.rows), notThisBooth)
}

// step is Gauss and Newton's, by the singular values of the slopes; each unknown
// is counted in the unit in which its slopes have length 1, or metres against
// kelvins would look singular. It keeps the covariance for rows of doubt 1.
func (s *squares) step() (step [unknowns]float64, err error) {
	var scale [unknowns]float64
	scaled := mat.DenseCopyOf(s.slope)
	for j := range scale {
		scale[j] = mat.Norm(s.slope.ColView(j), 2)
		if scale[j] == 0 {
			scale[j] = 1
		}
		for i := range s.rows {
			scaled.Set(i, j, s.slope.At(i, j)/scale[j])
		}
	}
	var svd mat.SVD
	if !svd.Factorize(scaled, mat.SVDThin) {
		return step, fmt.Errorf("%d air and dew points are no least-squares problem: one of them is not a number", len(s.rows))
	}
	var v mat.Dense
	svd.VTo(&v)
	values := svd.Values(nil)
	var unseen [unknowns]bool
	for k, value := range values {
		if value > 1e-6*values[0] {
			continue
		}
		for j := range unseen {
			unseen[j] = unseen[j] || math.Abs(v.At(j, k)) > 0.05
		}
	}
	if unseen != [unknowns]bool{} {
		return step, cannotTell(unseen, len(s.rows))
	}
	var d mat.VecDense
	svd.SolveVecTo(&d, s.miss, unknowns)
	s.cov = mat.NewDense(unknowns, unknowns, nil)
	for i := range unknowns {
		step[i] = d.AtVec(i) / scale[i]
		for j := range unknowns {
			sum := 0.0
			for k, value := range values {
				sum += v.At(i, k) * v.At(j, k) / (value * value)
			}
			s.cov.Set(i, j, sum/(scale[i]*scale[j]))
		}
	}
	return step, nil
}

// cannotTell names what the rows leave open and what readings would close it.
func cannotTell(unseen [unknowns]bool, rows int) error {
	var open, ask []string
	for j, name := range []string{"leakage", "wall loss", "the sensor's offset"} {
		if unseen[j] {
			open = append(open, name)
		}
	}
	switch {
	case unseen[leakage] && unseen[loss]:
		ask = append(ask, "with the heater's power known both while spraying and while idle or curing (or curing with the dehumidifier at work)")
	case unseen[leakage]:
		ask = append(ask, "while idle or curing with the heater's power known, or while curing with the dehumidifier at work")
	case unseen[loss]:
		ask = append(ask, "with the heater's power known, or flat out and short of its set point")
	}
	if unseen[reads] {
		ask = append(ask, "with the heater off and the fans on")
	}
	return fmt.Errorf("%d air and dew points cannot tell %s: readings %s would", rows, strings.Join(open, " from "), strings.Join(ask, " and "))
}

// weigh gives each kind of row the doubt that is left in it. One of which there
// are few takes that of all; none is better than the step of a good thermometer.
func (s *squares) weigh() {
	const few, finest = 10, 0.01 // rows; K: our judgement, no source
	var sums, counts [2]float64
	for i, r := range s.rows {
		by := s.miss.AtVec(i) * s.doubt[s.kind(r)]
		sums[s.kind(r)] += by * by
		counts[s.kind(r)]++
	}
	for k := range s.doubt {
		sum, n := sums[k], counts[k]
		if n < few {
			sum, n = sums[0]+sums[1], counts[0]+counts[1]
		}
		s.doubt[k] = max(finest, math.Sqrt(sum/n))
	}
}

// estimate is an unknown with its standard error. Misses that last from row to
// row with a correlation r are worth (1−r)/(1+r) as many that do not: the
// effective number of a first-order autoregressive series (from memory).
func (s *squares) estimate(j int) Estimate {
	free := float64(len(s.rows) - unknowns)
	lasts := s.lasts()
	return Estimate{s.x[j], math.Sqrt(s.cov.At(j, j) * s.sum / free * (1 + lasts) / (1 - lasts))}
}

// lasts is the correlation of each miss with the last one of its kind, from 0 to
// 0.95: less than none is chance, and more would leave nothing to judge by.
func (s *squares) lasts() float64 {
	var last [2]float64
	var both, square float64
	for i, r := range s.rows {
		by := s.miss.AtVec(i)
		both += by * last[s.kind(r)]
		square += by * by
		last[s.kind(r)] = by
	}
	if square == 0 {
		return 0
	}
	return min(max(0, both/square), 0.95)
}

// left is the root mean square of the misses, K.
func (s *squares) left() float64 {
	sum := 0.0
	for i, r := range s.rows {
		by := s.miss.AtVec(i) * s.doubt[s.kind(r)]
		sum += by * by
	}
	return math.Sqrt(sum / float64(len(s.rows)))
}
