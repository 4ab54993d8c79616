package sensors

import (
	"math"
	"slices"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// air is the dampest air that any source, or two of them together, measured.
// A source with a temperature and a moisture speaks for itself; a lone moisture
// goes with each lone temperature, or with every temperature if none is alone.
func (s sifted) air(p unit.Pressure) (conditions.Air, conditions.Airs, string) {
	if !(p > 0) {
		p = conditions.StandardPressure(0)
	}
	if measured := s.greatest(conditions.AirPressure); !math.IsNaN(measured) {
		p = unit.Pressure(measured)
	}
	var all, alone []float64 // temperatures
	var lone []moisture      // moistures without a temperature of their own
	var found []conditions.Air
	why := ""
	take := func(t float64, w moisture) {
		a, err := conditions.Solve(w.known(t, p))
		if err != nil {
			why = "instruments contradict each other: " + w.source + ": " + err.Error()
			return
		}
		found = append(found, a)
	}
	for _, source := range s.sources {
		t, hasAir := s.value(source, conditions.AirTemperature)
		ws := s.moistures(source)
		if hasAir {
			all = append(all, t)
		}
		switch {
		case hasAir && len(ws) == 0:
			alone = append(alone, t)
		case hasAir:
			for _, w := range ws {
				take(t, w)
			}
		default:
			lone = append(lone, ws...)
		}
	}
	if len(alone) == 0 {
		alone = all
	}
	for _, w := range lone {
		for _, t := range alone {
			take(t, w)
		}
	}
	if why != "" {
		return conditions.Air{}, conditions.Airs{}, why
	}
	if len(found) == 0 {
		return conditions.Air{}, conditions.Airs{}, s.why(len(all) > 0, len(lone) > 0)
	}
	worst := found[0]
	for _, a := range found[1:] {
		if a.DewPoint > worst.DewPoint || a.DewPoint == worst.DewPoint && a.Temperature < worst.Temperature {
			worst = a
		}
	}
	return worst, extremes(all, found), ""
}

// extremes are those of several instruments, which a limit of the air is judged by.
func extremes(temperatures []float64, airs []conditions.Air) (x conditions.Airs) {
	if len(temperatures) > 1 {
		x.Coldest = unit.Some(unit.Temperature(slices.Min(temperatures)))
		x.Warmest = unit.Some(unit.Temperature(slices.Max(temperatures)))
	}
	if len(airs) > 1 {
		var humidities []float64
		for _, a := range airs {
			humidities = append(humidities, float64(conditions.RelativeHumidity(a.Temperature, a.DewPoint)))
		}
		x.Driest = unit.Some(unit.Humidity(slices.Min(humidities)))
		x.Dampest = unit.Some(unit.Humidity(slices.Max(humidities)))
	}
	return x
}

type moisture struct {
	source string
	of     conditions.Variable
	x      float64
}

func (s sifted) moistures(source string) []moisture {
	var ws []moisture
	for _, v := range []conditions.Variable{conditions.RelHumidity, conditions.DewPointTemp, conditions.WetBulbTemp} {
		if x, ok := s.value(source, v); ok {
			ws = append(ws, moisture{source, v, x})
		}
	}
	return ws
}

func (w moisture) known(t float64, p unit.Pressure) conditions.Known {
	k := conditions.Known{
		Temperature: unit.Temperature(t), Pressure: p,
		Humidity: unit.NaN[unit.Humidity](), DewPoint: unit.NaN[unit.Temperature](), WetBulb: unit.NaN[unit.Temperature](),
	}
	switch w.of {
	case conditions.RelHumidity:
		k.Humidity = unit.Humidity(math.Min(w.x, 100))
	case conditions.DewPointTemp:
		k.DewPoint = unit.Temperature(rounded(w.x, t))
	default:
		k.WetBulb = unit.Temperature(rounded(w.x, t))
	}
	return k
}

// rounded forgives an instrument's rounding that puts x just above the air.
func rounded(x, air float64) float64 {
	if x > air && x <= air+slack {
		return air
	}
	return x
}
