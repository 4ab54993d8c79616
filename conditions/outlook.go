package conditions

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions/unit"
)

const (
	// gap is the longest time between two points of a series that is bridged: the
	// far end of common forecasts comes in steps of 6 h.
	gap = 6 * time.Hour
	// persists is the time constant with which a forecast's error of now fades:
	// near a first-order process of 5 to 6 h, in pairs of one Nordic 2.5 km model
	// with its stations, February 2019.
	persists = 6 * time.Hour
	// standing is the share of a forecast's error variance, in the same pairs,
	// that is the station's own bias.
	standing = 0.4
	// read is the error of an instrument that a corrected forecast keeps: ±0.3 K.
	read unit.TempDiff = 0.3
)

// At is the weather at t from a series in the order of time: straight between
// two points no more than 6 h apart. Rain is that of the hour t lies in. Beyond
// the ends and in wider gaps nothing is known.
func At(series []Weather, t time.Time) Weather {
	i, exact := slices.BinarySearchFunc(series, t, func(w Weather, t time.Time) int { return w.At.Compare(t) })
	if exact {
		return series[i]
	}
	if i == 0 || i == len(series) || series[i].At.Sub(series[i-1].At) > gap {
		return nothing(t)
	}
	a, b := series[i-1], series[i]
	part := float64(t.Sub(a.At)) / float64(b.At.Sub(a.At))
	correlated := 0.0
	if a.Together != 0 || b.Together != 0 {
		correlated = between(a.correlation(), b.correlation(), part)
	}
	return Weather{
		At:         t,
		Air:        between(a.Air, b.Air, part),
		DewPoint:   between(a.DewPoint, b.DewPoint, part),
		Wind:       between(a.Wind, b.Wind, part),
		Gust:       between(a.Gust, b.Gust, part),
		Rain:       b.Rain,
		RainChance: b.RainChance,
		Cloud:      between(a.Cloud, b.Cloud, part),
		Shortwave:  between(a.Shortwave, b.Shortwave, part),
		Sure:       less(a.Sure, b.Sure),
		AirError:   between(a.AirError, b.AirError, part),
		DewError:   between(a.DewError, b.DewError, part),
		Learned:    between(a.Learned, b.Learned, part),
		Together:   correlated,
	}
}

func between[T ~float64](a, b T, part float64) T { return a + T(part)*(b-a) }

// nothing is the weather of which nothing is known.
func nothing(t time.Time) Weather {
	return Weather{
		At: t, Sure: Unknown,
		Air: unit.NaN[unit.Temperature](), DewPoint: unit.NaN[unit.Temperature](),
		Wind: unit.NaN[unit.Speed](), Gust: unit.NaN[unit.Speed](),
		Rain: unit.NaN[unit.RainRate](), RainChance: unit.NaN[unit.Share](),
		Cloud: unit.NaN[unit.Share](), Shortwave: math.NaN(),
		AirError: unit.NaN[unit.TempDiff](), DewError: unit.NaN[unit.TempDiff](),
	}
}

// less is the less sure of two.
func less(a, b Sureness) Sureness {
	order := []Sureness{Unknown, Pencilled, Foretold, Measured}
	return order[max(0, min(slices.Index(order, a), slices.Index(order, b)))]
}

// Correct moves a forecast towards the latest of the measured values: how far
// it was off then is added, fading with a time constant of 6 h. Points up to
// that reading stay as they are. What the reading tells of the error makes the
// errors smaller for the same hours, but never less than the instrument's. Air
// and dew point are corrected each by its own reading. The model is not changed.
// A model that Experience has corrected has little bias left that a reading could
// tell of: its Learned says so, and the errors grow again the sooner.
func Correct(model []Weather, measured ...Weather) []Weather {
	out := slices.Clone(model)
	air := offset(model, measured, func(w Weather) unit.Temperature { return w.Air })
	dew := offset(model, measured, func(w Weather) unit.Temperature { return w.DewPoint })
	for i := range out {
		w := &out[i]
		w.Air, w.AirError = air.apply(w.At, w.Air, w.AirError, w.Learned)
		w.DewPoint, w.DewError = dew.apply(w.At, w.DewPoint, w.DewError, w.Learned)
		if w.DewPoint > w.Air { // an unknown one stays
			w.DewPoint = w.Air
		}
	}
	return out
}

// miss is how far a forecast was off at a reading.
type miss struct {
	at time.Time
	by unit.TempDiff
	ok bool
}

func offset(model, measured []Weather, of func(Weather) unit.Temperature) miss {
	var last miss
	for _, r := range measured {
		off := of(r).Over(of(At(model, r.At)))
		if unit.Known(off) && r.Sure == Measured && (!last.ok || !r.At.Before(last.at)) {
			last = miss{at: r.At, by: off, ok: true}
		}
	}
	return last
}

// apply corrects a value and its error. With w = exp(−age/6 h), a standing bias
// b and a fading error a leave b(1−w) + (a(t) − w·a(0)), whose variance is
// s(1−w)² + (1−s)(1−w²) of the forecast's. The bias's share s is 0.4 of a forecast
// as it came; of the variance that is left when l of the bias is known and out,
// it is 0.4(1−l) / (1 − 0.4 l).
func (m miss) apply(at time.Time, v unit.Temperature, e unit.TempDiff, learned unit.Share) (unit.Temperature, unit.TempDiff) {
	if !m.ok || !at.After(m.at) {
		return v, e
	}
	w := Decay(persists, at.Sub(m.at))
	l := float64(learned)
	s := standing * (1 - l) / (1 - standing*l)
	left := math.Sqrt(s*(1-w)*(1-w) + (1-s)*(1-w*w))
	return v.Plus(m.by * unit.TempDiff(w)), max(min(e, read), e*unit.TempDiff(left))
}

// Usual is the usual weather of one season at the site.
type Usual struct {
	Air       unit.Temperature // mean of the day
	Swing     unit.TempDiff    // daily maximum less minimum
	DewPoint  unit.Temperature
	Scatter   unit.TempDiff // standard deviation of daily means
	Wind      unit.Speed
	RainHours unit.Share // share of hours with rain
}

// warmestHour is the local hour of the day's highest air temperature. Common
// practice, no source.
const warmestHour = 15

// Weather is the usual weather at a time, whose hour of the day at the site is
// localHour: the air swings as a sine, warmest at 15 h; the dew point stays but
// for hours in which the air is colder. What a season cannot tell is unknown.
func (u Usual) Weather(at time.Time, localHour float64) Weather {
	w := nothing(at)
	w.Sure = Pencilled
	w.Air = u.Air.Plus(u.Swing / 2 * unit.TempDiff(math.Cos(2*math.Pi*(localHour-warmestHour)/24)))
	w.DewPoint = min(u.DewPoint, w.Air)
	w.Wind, w.RainChance = u.Wind, u.RainHours
	w.AirError, w.DewError = u.Scatter, u.Scatter
	return w
}
