package main

import (
	"strconv"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// airAsk is what the flags say of the air.
type airAsk struct{ temp, humidity, dew, wet, ratio, pressure, elevation string }

// known reads it; measured says that a pressure was given.
func (ask airAsk) known(measured bool) (conditions.Known, error) {
	nan := unit.NaN[unit.Temperature]()
	known := conditions.Known{Temperature: nan, DewPoint: nan, WetBulb: nan, Humidity: unit.NaN[unit.Humidity]()}
	given := 0
	for _, g := range []struct {
		flag, text string
		into       *unit.Temperature
	}{{"--temp", ask.temp, &known.Temperature}, {"--dew-point", ask.dew, &known.DewPoint}, {"--wet-bulb", ask.wet, &known.WetBulb}} {
		if g.text == "" {
			continue
		}
		t, err := unit.Parse[unit.Temperature](g.text)
		if err != nil {
			return known, usage("%s: %w", g.flag, err)
		}
		*g.into = t.SI
		given++
	}
	if ask.humidity != "" {
		h, err := unit.Parse[unit.Humidity](strings.TrimSuffix(ask.humidity, "%") + "%")
		if err != nil {
			return known, usage("--humidity: %w", err)
		}
		if h.SI > 0 && h.SI <= 1 && !strings.HasSuffix(ask.humidity, "%") {
			return known, usage("--humidity: %s may be a share or percent; write %g%% or %s%%", ask.humidity, 100*float64(h.SI), ask.humidity)
		}
		known.Humidity = h.SI
		given++
	}
	if ask.ratio != "" {
		w, err := ratioOf(ask.ratio)
		if err != nil {
			return known, err
		}
		known.Ratio = w
		given++
	}
	switch {
	case given < 2 && ask.temp == "":
		return known, usage("--temp is missing: the air's temperature, such as --temp 18C")
	case given != 2:
		return known, usage("give exactly one of --humidity, --dew-point and --wet-bulb beside --temp, or --ratio, or two of these without it")
	}
	p, err := unit.Parse[unit.Pressure](ask.pressure)
	if err != nil {
		return known, usage("--pressure: %w", err)
	}
	known.Pressure = p.SI
	if ask.elevation == "" {
		return known, nil
	}
	if measured {
		return known, usage("give --pressure or --elevation, not both: the one follows from the other")
	}
	h, err := unit.Parse[unit.Length](ask.elevation)
	if err != nil {
		return known, usage("--elevation: %w", err)
	}
	if !(h.SI >= lowestYard && h.SI <= highestYard) {
		return known, usage("--elevation: %s is no height of a yard: it lies between %.0f and %.0f m", h, float64(lowestYard), float64(highestYard))
	}
	known.Pressure = conditions.StandardPressure(h.SI)
	return known, nil
}

// Between these is all water that boats lie on, with room.
const (
	lowestYard  unit.Length = -450
	highestYard unit.Length = 5500
)

// ratioOf reads a humidity ratio: 8.7g/kg, 61gr/lb (7000 grains are a pound), or a
// bare number of kg to the kg.
func ratioOf(text string) (float64, error) {
	for _, u := range []struct {
		sign string
		per  float64
	}{{"kg/kg", 1}, {"g/kg", 1000}, {"gr/lb", 7000}, {"", 1}} {
		if number, ok := strings.CutSuffix(text, u.sign); ok {
			w, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
			if err != nil || !(w > 0) {
				break
			}
			return w / u.per, nil
		}
	}
	return 0, usage("--ratio: %q is not a humidity ratio; write it like 8.7g/kg, 61gr/lb or 0.0087", text)
}
