package conditions

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/mat"

	"fairwindow/conditions/unit"
)

// Season is the usual weather of a site by day of the year and hour of the day,
// from its records: a mean, the year's and the day's first two harmonics, and
// their products, so that the day swings as its season has it. Hours are UTC,
// which harmonics fit at any longitude. It is plain data and has a JSON form.
type Season struct {
	Air      Cycle `json:"air"`       // °C
	DewPoint Cycle `json:"dew_point"` // °C
	Wind     Cycle `json:"wind"`      // m/s; nothing when there were no records
	Wet      Cycle `json:"wet"`       // share of hours with rain; nothing when there were no records
	// AirScatter and DewScatter are the variances about the means, K².
	AirScatter Cycle `json:"air_scatter"`
	DewScatter Cycle `json:"dew_scatter"`
}

// Cycle holds the coefficients of one quantity's harmonics, those of the day
// within those of the year; none is a quantity of which nothing is known.
type Cycle []float64

const (
	harmonics = 2
	waves     = 1 + 2*harmonics // 1, cosine, sine, cosine, sine
	// year is the mean year of the Gregorian calendar, 365.2425 days.
	year = 31556952 * time.Second
	// enough is how many different days of the year make a season. Our
	// judgement, no source: a gap of two months is what two harmonics can bridge.
	enough = 300
	// solid is the condition beyond which a fit is no fit: of hourly records of
	// one whole year it is below 10. Our judgement, no source.
	solid = 1e6
)

// SeasonOf fits a season to the records of a site, in any order; records without
// air or dew point and those that are Unknown do not count. It needs 300
// different days of the year and records all round the clock.
func SeasonOf(records []Weather) (Season, error) {
	var s Season
	days := map[int]bool{}
	for i := range records {
		if w := &records[i]; w.Sure != Unknown && unit.Known(w.Air) && unit.Known(w.DewPoint) {
			days[w.At.UTC().YearDay()] = true
		}
	}
	if len(days) < enough {
		return s, fmt.Errorf("the records hold %d different days of the year with air and dew point; a season needs %d: give a longer file, or the months' usual weather in the yard file", len(days), enough)
	}
	air := func(w *Weather) float64 { return float64(w.Air) }
	dew := func(w *Weather) float64 { return float64(w.DewPoint) }
	var err error
	for _, f := range []struct {
		into     *Cycle
		of       func(*Weather) float64
		name     string
		required bool
	}{
		{&s.Air, air, "air temperature", true},
		{&s.DewPoint, dew, "dew point", true},
		{&s.AirScatter, func(w *Weather) float64 { return square(air(w) - s.Air.at(w.At)) }, "air temperature", true},
		{&s.DewScatter, func(w *Weather) float64 { return square(dew(w) - s.DewPoint.at(w.At)) }, "dew point", true},
		{&s.Wind, func(w *Weather) float64 { return float64(w.Wind) }, "wind", false},
		{&s.Wet, wet, "rain", false},
	} {
		*f.into, err = cycle(records, f.of)
		if err != nil && f.required {
			return Season{}, fmt.Errorf("%s: %w", f.name, err)
		}
	}
	return s, nil
}

func square(v float64) float64 { return v * v }

func wet(w *Weather) float64 {
	if !(w.Rain >= 0) {
		return math.NaN()
	}
	if w.Rain > 0 {
		return 1
	}
	return 0
}

// cycle is the least squares fit of what is known of a quantity.
func cycle(records []Weather, of func(*Weather) float64) (Cycle, error) {
	const n = waves * waves
	var products [n * n]float64
	var sums [n]float64
	for i := range records {
		w := &records[i]
		v := of(w)
		if w.Sure == Unknown || !unit.Known(v) {
			continue
		}
		x := cyclesAt(w.At)
		for i := range x {
			sums[i] += x[i] * v
			for j := range x[:i+1] {
				products[j*n+i] += x[i] * x[j]
			}
		}
	}
	var chol mat.Cholesky
	if ok := chol.Factorize(mat.NewSymDense(n, products[:])); !ok || chol.Cond() > solid {
		return nil, fmt.Errorf("the records do not cover the year and the clock: they leave its cycle undetermined; give hourly records of a whole year")
	}
	out := make(Cycle, n)
	_ = chol.SolveVecTo(mat.NewVecDense(n, out), mat.NewVecDense(n, sums[:])) // its error only tells of an ill condition
	return out, nil
}

func cyclesAt(at time.Time) (x [waves * waves]float64) {
	annual := wavesAt(float64(at.Unix()) / year.Seconds())
	daily := wavesAt(float64(at.Unix()) / 86400)
	for i, a := range annual {
		for j, d := range daily {
			x[i*waves+j] = a * d
		}
	}
	return x
}

func wavesAt(turns float64) (x [waves]float64) {
	x[0] = 1
	for k := 1; k <= harmonics; k++ {
		x[2*k], x[2*k-1] = math.Sincos(2 * math.Pi * float64(k) * turns)
	}
	return x
}

// at is the quantity's value at a time, NaN when there is none.
func (c Cycle) at(t time.Time) float64 {
	if len(c) != waves*waves {
		return math.NaN()
	}
	sum := 0.0
	for i, x := range cyclesAt(t) {
		sum += c[i] * x
	}
	return sum
}

// Weather is the season's usual weather at a time, which is pencilled: its
// errors are the scatter of the records about it. A season that was never fitted
// knows nothing, and neither does any of the sun, the clouds and the gusts.
func (s Season) Weather(at time.Time) Weather {
	w := nothing(at)
	w.Air, w.DewPoint = unit.Temperature(s.Air.at(at)), unit.Temperature(s.DewPoint.at(at))
	if !unit.Known(w.Air) || !unit.Known(w.DewPoint) {
		return nothing(at)
	}
	w.Sure = Pencilled
	w.DewPoint = min(w.DewPoint, w.Air)
	w.Wind = max(0, unit.Speed(s.Wind.at(at)))
	w.RainChance = max(0, min(1, unit.Share(s.Wet.at(at))))
	// A fitted variance may swing below what an instrument has.
	w.AirError, w.DewError = scatter(s.AirScatter.at(at)), scatter(s.DewScatter.at(at))
	return w
}

// ColdestDay is the usual weather of the day that is coldest in the mean, by whole
// days of UTC; unknown of a season that was never fitted.
func (s Season) ColdestDay() Weather {
	coldest := nothing(time.Time{})
	for day := range 365 {
		var air, dew unit.Temperature
		for hour := range 24 {
			w := s.Weather(time.Date(2001, 1, 1+day, hour, 0, 0, 0, time.UTC))
			air, dew = air+w.Air/24, dew+w.DewPoint/24
		}
		if !(coldest.Air <= air) {
			coldest.Air, coldest.DewPoint = air, dew
		}
	}
	return coldest
}

func scatter(variance float64) unit.TempDiff {
	return max(read, unit.TempDiff(math.Sqrt(max(0, variance))))
}
