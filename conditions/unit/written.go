package unit

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"
)

// Written is a quantity as a person wrote it: 5 F, 250 um, 42 m2. SI is what
// formulas take; Value and Unit are what is shown, so that no rule is
// silently rounded into another unit.
type Written[T ~float64] struct {
	SI    T
	Value float64
	Unit  string
}

// scale turns a written value into SI: SI = (value + shift) × factor.
type scale struct{ shift, factor float64 }

var (
	temperatures = map[string]scale{"C": {0, 1}, "F": {-32, 5.0 / 9}, "K": {-273.15, 1}}
	differences  = map[string]scale{"C": {0, 1}, "K": {0, 1}, "F": {0, 5.0 / 9}}
	humidities   = map[string]scale{"%": {0, 1}}
	pressures    = map[string]scale{"Pa": {0, 1}, "hPa": {0, 100}, "kPa": {0, 1000}, "mbar": {0, 100}, "inHg": {0, 3386.389}}
	speeds       = map[string]scale{"m/s": {0, 1}, "km/h": {0, 1 / 3.6}, "mph": {0, 0.44704}, "kn": {0, 1852.0 / 3600}}
	lengths      = map[string]scale{"m": {0, 1}, "cm": {0, 0.01}, "mm": {0, 0.001}, "ft": {0, 0.3048}, "in": {0, 0.0254}, feetInches: {0, 0.0254}}
	films        = map[string]scale{"um": {0, 1}, "µm": {0, 1}, "mil": {0, 25.4}, "mm": {0, 1000}}
	areas        = map[string]scale{"m2": {0, 1}, "m²": {0, 1}, "ft2": {0, 0.09290304}, "ft²": {0, 0.09290304}}
	volumes      = map[string]scale{"L": {0, 1}, "l": {0, 1}, "mL": {0, 0.001}, "ml": {0, 0.001}, "gal": {0, 3.785411784}, "qt": {0, 0.946352946}}
	shares       = map[string]scale{"%": {0, 0.01}}
	powers       = map[string]scale{"kW": {0, 1}, "W": {0, 0.001}, "BTU/h": {0, 0.00029307107}}
	flows        = map[string]scale{"m3/h": {0, 1}, "m³/h": {0, 1}, "m3/s": {0, 3600}, "cfm": {0, 1.69901082}}
	waterRates   = map[string]scale{"kg/h": {0, 1}, "L/h": {0, 1}, "lb/h": {0, 0.45359237}}
	masses       = map[string]scale{"t": {0, 1}, "kg": {0, 0.001}, "lb": {0, 0.00045359237}}
	workRates    = map[string]scale{"m2/h": {0, 1}, "m²/h": {0, 1}, "ft2/h": {0, 0.09290304}}
	conductances = map[string]scale{"W/K": {0, 1}, "kW/K": {0, 1000}, "BTU/h/F": {0, 0.527527926}}
	// The pound and the US gallon are exact: 0.45359237 kg, 3.785411784 L (NIST Handbook 44, appendix C).
	densities = map[string]scale{"kg/L": {0, 1}, "g/mL": {0, 1}, "lb/gal": {0, 0.45359237 / 3.785411784}}
	rates     = map[string]scale{"K/h": {0, 1}, "C/h": {0, 1}, "F/h": {0, 5.0 / 9}}
	rainRates = map[string]scale{"mm/h": {0, 1}, "in/h": {0, 25.4}}
)

// kind names T for people and gives its units.
func kind[T ~float64]() (name string, units map[string]scale) {
	switch any(T(0)).(type) {
	case Temperature:
		return "temperature", temperatures
	case TempDiff:
		return "temperature difference", differences
	case Humidity:
		return "humidity", humidities
	case Pressure:
		return "pressure", pressures
	case Speed:
		return "speed", speeds
	case Length:
		return "length", lengths
	case Film:
		return "film thickness", films
	case Area:
		return "area", areas
	case Volume:
		return "volume", volumes
	case Share:
		return "share", shares
	case Power:
		return "power", powers
	case Flow:
		return "air flow", flows
	case WaterRate:
		return "water rate", waterRates
	case Mass:
		return "weight", masses
	case WorkRate:
		return "work rate", workRates
	case Conductance:
		return "heat loss", conductances
	case Density:
		return "density", densities
	case Rate:
		return "temperature rate", rates
	case RainRate:
		return "rain rate", rainRates
	}
	return "number", nil
}

// Parse reads a value with its unit, such as "18 C", "64F" or "250 um".
func Parse[T ~float64](text string) (Written[T], error) {
	name, units := kind[T]()
	value, unit, err := split(text)
	if _, feet := units["ft"]; feet {
		value, unit, err = splitLength(text)
	}
	if strings.Contains(text, ",") { // of thousands in one country, of tenths in another
		return Written[T]{}, fmt.Errorf("%q has a comma; write %s with a point and no comma, like %s", text, article(name), example("4.2", units))
	}
	if err != nil {
		return Written[T]{}, fmt.Errorf("%q is not %s; write a number and one of %s, like %s", text, article(name), symbols(units), example("18", units))
	}
	s, ok := units[unit]
	if !ok && unit == "" {
		return Written[T]{}, fmt.Errorf("%q has no unit; %s is written in %s, like %s", text, article(name), symbols(units), example(strings.TrimSpace(text), units))
	}
	if !ok {
		return Written[T]{}, fmt.Errorf("%q is not a unit of %s; use %s", unit, name, symbols(units))
	}
	si := (value + s.shift) * s.factor
	if math.IsInf(si, 0) {
		return Written[T]{}, fmt.Errorf("%q is too large a number for a %s", text, name)
	}
	return Written[T]{SI: T(si), Value: value, Unit: unit}, nil
}

// Of is a quantity in the first SI unit of its kind, for values that no person
// wrote; a share is in %.
func Of[T ~float64](si T) Written[T] {
	_, units := kind[T]()
	for _, u := range order(units) {
		if s := units[u]; s.shift == 0 && s.factor == 1 {
			return Written[T]{SI: si, Value: float64(si), Unit: u}
		}
	}
	// Rounded, or 0.07 would be written 7.000000000000001 %.
	return Written[T]{SI: si, Value: math.Round(float64(si)*1e11) / 1e9, Unit: "%"}
}

// In expresses an SI value in a unit of its kind; NaN if the unit is not one.
func In[T ~float64](si T, unit string) float64 {
	_, units := kind[T]()
	s, ok := units[unit]
	if !ok {
		return math.NaN()
	}
	return float64(si)/s.factor - s.shift
}

// String is the quantity as it was written: "5 F".
func (w Written[T]) String() string {
	if w.Unit == feetInches {
		return feetText(w.Value)
	}
	return strconv.FormatFloat(w.Value, 'f', -1, 64) + " " + w.Unit
}

// MarshalText writes the quantity as it was written.
func (w Written[T]) MarshalText() ([]byte, error) {
	if w.Unit == "" {
		return nil, nil
	}
	return []byte(w.String()), nil
}

// UnmarshalText reads a quantity; an empty text is none.
func (w *Written[T]) UnmarshalText(text []byte) error {
	if len(text) == 0 {
		*w = Written[T]{}
		return nil
	}
	parsed, err := Parse[T](string(text))
	if err == nil {
		*w = parsed
	}
	return err
}

// IsZero reports that nothing was written.
func (w Written[T]) IsZero() bool { return w.Unit == "" }

// split parts "18.5 C" into 18.5 and "C".
func split(text string) (float64, string, error) {
	text = strings.TrimSpace(text)
	i := 0
	for i < len(text) && strings.IndexByte("0123456789.+-", text[i]) >= 0 {
		i++
	}
	value, err := strconv.ParseFloat(text[:i], 64)
	if err != nil || math.IsInf(value, 0) || math.IsNaN(value) {
		return 0, "", fmt.Errorf("no number in %q", text)
	}
	unit := strings.TrimSpace(text[i:])
	return value, strings.TrimPrefix(unit, "°"), nil
}

func order(units map[string]scale) []string {
	names := make([]string, 0, len(units))
	for u := range units {
		names = append(names, u)
	}
	sort.Strings(names)
	return names
}

func article(name string) string {
	if strings.IndexByte("aeiou", name[0]) >= 0 {
		return "an " + name
	}
	return "a " + name
}

func symbols(units map[string]scale) string {
	return strings.Join(slices.DeleteFunc(order(units), func(u string) bool { return u == feetInches }), ", ")
}

// example is a number in the unit that formulas take: a boat is 18 m long, not 18 cm.
func example(number string, units map[string]scale) string {
	names := order(units)
	if len(names) == 0 {
		return strconv.Quote(number)
	}
	si := names[0]
	for _, u := range names {
		if (units[u] == scale{0, 1}) {
			si = u
			break
		}
	}
	also := ""
	if _, feet := units[feetInches]; feet {
		also = ` or "13 ft 6 in"`
	}
	return strconv.Quote(number+" "+si) + also
}
