package conditions

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions/unit"
)

// Answer is what a verdict comes to.
type Answer string

// The three answers. Undecided shuts as No does, but is said differently.
const (
	Yes       Answer = "yes"
	No        Answer = "no"
	Undecided Answer = "unknown"
)

// Margin is how far one bound is kept.
type Margin struct {
	Bound
	// Value is what the bound bounds, By how far it lies inside (+) or outside
	// (−), both in the bound's SI unit; NaN when the value is not known.
	Value float64 `json:"value"`
	By    float64 `json:"by"`
	// Chance that the bound is kept, given the moment's errors; 0 when not known.
	Chance float64 `json:"chance"`
}

// MarshalJSON writes an unknown value as null.
func (m Margin) MarshalJSON() ([]byte, error) {
	return json.Marshal(marginJSON{m.Bound, known(m.Value), known(m.By), m.Chance})
}

// UnmarshalJSON reads null as an unknown value.
func (m *Margin) UnmarshalJSON(text []byte) error {
	var j marginJSON
	if err := json.Unmarshal(text, &j); err != nil {
		return err
	}
	*m = Margin{j.Bound, orNaN(j.Value), orNaN(j.By), j.Chance}
	return nil
}

type marginJSON struct {
	Bound
	Value  *float64 `json:"value"`
	By     *float64 `json:"by"`
	Chance float64  `json:"chance"`
}

func known(v float64) *float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &v
}

func orNaN(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}

// Verdict is all margins of one moment under its rules.
type Verdict struct {
	At      time.Time `json:"at,omitzero"` // zero: of no time
	Answer  Answer    `json:"answer"`
	Sure    Sureness  `json:"sure"`
	Margins []Margin  `json:"margins"` // one for each rule, in the rules' order
	// Binding is the index of the margin that decides: of a no the worst kept,
	// of a yes the first that would go; −1 when unknown or when there is no rule.
	Binding int `json:"binding"`
	// Wet is water on the surface, or a coldest spot at or below the dew point: it
	// may be neither wiped, sanded nor coated, whatever the rules.
	Wet bool `json:"wet"`
	// Chance of a yes is that of the binding margin: the errors of the values
	// go together, so it is no product of the margins' chances.
	Chance float64 `json:"chance"`
	Why    string  `json:"why,omitempty"` // what is missing, of an unknown
}

// tolerance of every comparison with a bound, in its SI unit: the last digits
// of a conversion such as 5 °F to 25/9 K, and nothing that an instrument shows.
const tolerance = 1e-9

// Judge holds a moment against rules. The margin is the coldest spot's over the
// dew point; least surface temperatures bind the coldest spot and greatest the
// warmest; humidity is that of the air at its own temperature; wind is the
// greater of mean and gust, or the one that is known, but a bound of its own on
// gusts needs them known. A measured rain counts as certain. A surface over the
// air or the paint is the warmest spot, one under the air the coldest. What a rule needs and is not known makes the answer unknown, and so
// does a moment that is not sure.
func Judge(m Moment, r Rules) Verdict {
	v := Verdict{
		At: m.At, Sure: m.Sure, Margins: make([]Margin, len(r)), Binding: -1,
		Wet: m.Wet || m.Coldest <= m.DewPoint,
	}
	var missing []string
	for i, b := range r {
		value, deviation := b.of(&m)
		by := b.inside(value)
		v.Margins[i] = Margin{Bound: b, Value: value, By: by}
		if math.IsNaN(value) {
			if b.IfKnown {
				continue
			}
			for _, name := range b.lacks(&m) {
				if !slices.Contains(missing, name) {
					missing = append(missing, name)
				}
			}
			continue
		}
		v.Margins[i].Chance = Chance(deviations(by, deviation))
	}
	if len(missing) > 0 {
		v.Why = strings.TrimPrefix(m.Why+"; no "+strings.Join(missing, ", no "), "; ")
	}
	z, binding := Score(&m, r)
	if m.unsure() || len(missing) > 0 && binding < 0 {
		v.Answer, v.Sure = Undecided, Unknown
		if v.Why == "" {
			v.Why = m.Why
		}
		if v.Why == "" {
			v.Why = "the values are doubtful, stale or have no source"
		}
		return v
	}
	v.Binding, v.Answer, v.Chance = binding, No, Chance(z)
	if z >= 0 {
		v.Answer = Yes
	}
	return v
}

// Score is how many standard deviations of its error the binding rule is kept
// by, and which rule that is: Judge's decision without its words, for a search
// that asks millions of times. It allocates nothing. A value without error is
// +Inf inside its bound and −Inf outside. Unknown is −Inf with −1, unless another
// rule is not kept: a no is a no whatever else is unknown. No rules are +Inf with
// −1. Below zero is no. Among equals the rule with the smallest
// amount in common steps (1 K, 5 % of humidity, 1 m/s, a tenth of a chance, 1 K/h) is
// the binding one, then the first.
func Score(m *Moment, r Rules) (z float64, binding int) {
	if m.unsure() {
		return math.Inf(-1), -1
	}
	z, binding = math.Inf(1), -1
	least, known := math.Inf(1), true
	for i := range r {
		value, deviation := r[i].of(m)
		if math.IsNaN(value) {
			known = known && r[i].IfKnown
			continue
		}
		by := r[i].inside(value)
		score, amount := deviations(by, deviation), by/r[i].Of.step()
		if binding < 0 || score < z || score == z && amount < least {
			z, binding, least = score, i, amount
		}
	}
	if !known && z >= 0 {
		return math.Inf(-1), -1
	}
	return z, binding
}

// unsure is a moment that shuts whatever its values are.
func (m *Moment) unsure() bool {
	return m.Sure != Measured && m.Sure != Foretold && m.Sure != Pencilled
}

// of is the value that the bound bounds, NaN if not known, and the standard
// deviation of its error, both in the bound's SI unit.
func (b *Bound) of(m *Moment) (value, deviation float64) {
	switch b.Of {
	case OfMargin:
		return float64(m.Coldest - m.DewPoint), both(m.MarginError, m.SurfaceError)
	case OfHumidity:
		// ln RH is ln es(dew point) − ln es(air), two curves of nearly one slope:
		// its error is that slope times the error of the difference, in which the
		// errors of air and dew point partly cancel as they do in the margin.
		dew, _ := lnSaturation(m.DewPoint)
		air, slope := lnSaturation(m.Air)
		value = worse(b, 100*math.Exp(dew-air), m.Airs.Driest, m.Airs.Dampest)
		return value, value * slope * float64(m.MarginError)
	case OfAir:
		return worse(b, float64(m.Air), m.Airs.Coldest, m.Airs.Warmest), float64(m.AirError)
	case OfSurface:
		if b.Least {
			return float64(m.Coldest), m.surfaceDeviation()
		}
		return float64(m.Warmest), m.surfaceDeviation()
	case OfWind:
		if math.IsNaN(float64(m.Gust)) || m.Wind > m.Gust {
			return float64(m.Wind), 0
		}
		return float64(m.Gust), 0
	case OfMeanWind:
		return float64(m.Wind), 0
	case OfGust:
		if m.Wind > m.Gust {
			return float64(m.Wind), 0
		}
		return float64(m.Gust), 0
	case OfRain:
		return m.rainChance(), 0
	// Differences of a surface from the air or the paint: at most as wrong as the surface.
	case OfAboveAir:
		return float64(m.Warmest - m.Air), m.surfaceDeviation()
	case OfBelowAir:
		return float64(m.Air - m.Coldest), m.surfaceDeviation()
	case OfPaint:
		return float64(m.Warmest - m.Paint.OrNaN()), m.surfaceDeviation()
	case OfDrip:
		return float64(m.Film.OrNaN() - m.DewPoint), both(m.MarginError, m.SurfaceError)
	// Errors persist for hours, so that of a change within one is taken for none:
	// our judgement, no source.
	case OfFall:
		return 0 - float64(m.Rate.OrNaN()), 0
	case OfRise:
		return float64(m.MarginRate.OrNaN()), 0
	}
	return math.NaN(), 0
}

// surfaceDeviation is the standard deviation of a surface, which follows the air, K.
func (m *Moment) surfaceDeviation() float64 { return both(m.AirError, m.SurfaceError) }

// both is the standard deviation of two errors that have nothing to do with each other.
func both(a, b unit.TempDiff) float64 {
	if b == 0 {
		return float64(a)
	}
	return math.Sqrt(float64(a*a + b*b))
}

// rainChance is 1 in a measured rain, and takes an amount for certain when no
// chance was given.
func (m *Moment) rainChance() float64 {
	if m.Rain > 0 && (m.Sure == Measured || math.IsNaN(float64(m.RainChance))) {
		return 1
	}
	if m.Rain == 0 && math.IsNaN(float64(m.RainChance)) {
		return 0
	}
	return float64(m.RainChance)
}

// lacks names what is missing for the bound.
func (b *Bound) lacks(m *Moment) []string {
	var names []string
	need := func(v float64, name string) {
		if math.IsNaN(v) {
			names = append(names, name)
		}
	}
	switch b.Of {
	case OfMargin:
		need(float64(m.Coldest), "surface temperature")
		need(float64(m.DewPoint), "dew point")
	case OfHumidity:
		need(float64(m.Air), "air temperature")
		need(float64(m.DewPoint), "dew point")
	case OfAir:
		need(float64(m.Air), "air temperature")
	case OfSurface:
		if b.Least {
			need(float64(m.Coldest), "surface temperature")
		} else {
			need(float64(m.Warmest), "surface temperature")
		}
	case OfWind, OfMeanWind:
		names = []string{"wind"}
	case OfGust:
		names = []string{"gusts"}
	case OfAboveAir:
		need(float64(m.Warmest), "surface temperature")
		need(float64(m.Air), "air temperature")
	case OfBelowAir:
		need(float64(m.Coldest), "surface temperature")
		need(float64(m.Air), "air temperature")
	case OfPaint:
		need(float64(m.Warmest), "surface temperature")
		need(float64(m.Paint.OrNaN()), "paint temperature")
	case OfDrip:
		need(float64(m.Film.OrNaN()), "temperature of the tent's film")
		need(float64(m.DewPoint), "dew point")
	case OfFall:
		names = []string{"rate of the surface temperature"}
	case OfRise:
		names = []string{"rate of the margin"}
	case OfRain:
		names = []string{"figure for the chance of rain"} // "no chance of rain" is another thing
	default:
		names = []string{string(b.Of)}
	}
	return names
}

// inside is how far a value lies inside the bound; on it is inside.
func (b *Bound) inside(value float64) float64 {
	by := b.At - value
	if b.Least {
		by = value - b.At
	}
	if by < 0 && by >= -tolerance {
		return 0
	}
	return by
}

// step is about as much of a quantity as 1 K is of the margin, to compare
// unlike amounts: 3 % of humidity goes with 0.6 K of margin. The rest is common
// practice, no source.
func (q Quantity) step() float64 {
	switch q {
	case OfHumidity:
		return 5
	case OfRain:
		return 0.1
	}
	return 1
}

func deviations(by, deviation float64) float64 {
	if deviation > 0 {
		return by / deviation
	}
	if by >= 0 {
		return math.Inf(1)
	}
	return math.Inf(-1)
}

// Chance is the normal distribution's share below z standard deviations.
func Chance(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// Deviations is the z whose Chance is given: −Inf at 0, +Inf at 1, NaN outside.
func Deviations(chance float64) float64 { return math.Sqrt2 * math.Erfinv(2*chance-1) }
