package conditions

import (
	"fmt"
	"math"
	"strings"

	"fairwindow/conditions/unit"
)

// Air is one state of moist air, complete.
type Air struct {
	Temperature unit.Temperature `json:"temperature"` // dry bulb
	DewPoint    unit.Temperature `json:"dew_point"`   // over liquid water, also below 0 °C
	// FrostPoint is where the air would be saturated over ice: up to 2 K over the
	// dew point, and over the air itself where that is saturated over ice but not
	// over water. NaN where it would lie over 0 °C: dew comes first there.
	FrostPoint unit.Temperature `json:"frost_point"`
	WetBulb    unit.Temperature `json:"wet_bulb"` // of a wick that is wet above 0 °C and iced below
	Humidity   unit.Humidity    `json:"humidity"` // over liquid water, also below 0 °C
	Ratio      float64          `json:"ratio"`    // kg of water in each kg of dry air
	Pressure   unit.Pressure    `json:"pressure"`
	Enthalpy   float64          `json:"enthalpy"` // J for each kg of dry air, over dry air and water at 0 °C
	Density    float64          `json:"density"`  // kg of moist air to the m³
}

// Known is what was measured of the air; NaN is not given. Any two of the first
// four suffice, or one and the Ratio, unless that one is the dew point: the two
// tell the same, and only together the pressure. A Ratio of NaN or 0 is not
// given; a Pressure of NaN or 0 is the standard one at sea level.
type Known struct {
	Temperature unit.Temperature
	Humidity    unit.Humidity
	DewPoint    unit.Temperature
	WetBulb     unit.Temperature
	Pressure    unit.Pressure
	Ratio       float64 // kg of water in each kg of dry air
}

// The range in which air is solved. The formulas reach further; no yard does.
const (
	coldestAir      unit.Temperature = -60
	hottestAir      unit.Temperature = 80
	lowestDew       unit.Temperature = -100 // of the driest air
	leastPressure   unit.Pressure    = 50000
	highestPressure unit.Pressure    = 110000
	seaLevel        unit.Pressure    = 101325
)

// Slack for what instruments do near saturation: a humidity up to 100.5 % is
// 100 %, a dew point or wet bulb up to 0.1 K over the air is the air's.
const (
	humiditySlack unit.Humidity = 0.5
	bulbSlack     unit.TempDiff = 0.1
	// agreement is how far two measures of the same moisture may lie apart, in
	// relative humidity: two good instruments of ±3 % seldom differ by more.
	// Common practice, no source.
	agreement unit.Humidity = 5
)

// Solve completes the state of the air from any two of temperature, humidity,
// dew point (or humidity ratio) and wet bulb. More must agree within 5 % of
// humidity, and the wettest then counts. Its errors say which value cannot be,
// and why.
func Solve(k Known) (Air, error) {
	p := k.Pressure
	if math.IsNaN(float64(p)) || p == 0 {
		p = seaLevel
	}
	k.Pressure = p
	if k.Ratio == 0 {
		k.Ratio = math.NaN()
	}
	if err := k.check(); err != nil {
		return Air{}, err
	}
	if !unit.Known(k.Temperature) {
		t, err := k.temperature()
		if err != nil {
			return Air{}, err
		}
		k.Temperature = t
		if !(unit.Known(k.dew()) && unit.Known(k.Humidity)) {
			k.WetBulb = unit.NaN[unit.Temperature]() // it has told all it can
		}
		if !(t >= coldestAir && t <= hottestAir) {
			return Air{}, fmt.Errorf("these values would need air at %.4g C; air is taken from %v to %v C", float64(t), coldestAir, hottestAir)
		}
	}
	t := k.Temperature
	pv, err := k.vapour()
	if err != nil {
		return Air{}, err
	}
	at, _ := lnSaturation(t)
	w := ratio(pv, p)
	return Air{
		Temperature: t,
		DewPoint:    min(saturated(math.Log(pv)), t),
		FrostPoint:  frosted(math.Log(pv)),
		WetBulb:     wetBulb(t, w, p),
		Humidity:    unit.Humidity(min(100, 100*math.Exp(math.Log(pv)-at))),
		Ratio:       w,
		Pressure:    p,
		Enthalpy:    enthalpy(t, w),
		Density:     density(t, w, p),
	}, nil
}

// check refuses each value that cannot be, and each pair.
func (k Known) check() error {
	if k.Pressure < leastPressure || k.Pressure > highestPressure || !unit.Known(k.Pressure) {
		return fmt.Errorf("pressure %.6g Pa is not air pressure: it lies between %v and %v Pa", float64(k.Pressure), float64(leastPressure), float64(highestPressure))
	}
	given := 0
	for _, v := range []struct {
		name      string
		at, least unit.Temperature
	}{
		{"air temperature", k.Temperature, coldestAir},
		{"dew point", k.DewPoint, lowestDew},
		{"wet bulb", k.WetBulb, coldestAir},
	} {
		if math.IsNaN(float64(v.at)) {
			continue
		}
		given++
		if !(v.at >= v.least && v.at <= hottestAir) {
			return fmt.Errorf("%s %.4g C is out of range: it lies between %v and %v C", v.name, float64(v.at), v.least, hottestAir)
		}
	}
	if !math.IsNaN(float64(k.Humidity)) {
		given++
		if !(k.Humidity > 0 && k.Humidity <= 100+humiditySlack) {
			return fmt.Errorf("humidity %.4g %% cannot be: it lies above 0 and up to 100 %%", float64(k.Humidity))
		}
	}
	if !math.IsNaN(k.Ratio) {
		given++
		if pv := vapour(k.Ratio, k.Pressure); !(k.Ratio > 0 && pv >= saturation(lowestDew) && pv <= saturation(hottestAir)) {
			return fmt.Errorf("humidity ratio %.4g cannot be: it is in kg of water to each kg of dry air, such as 0.0087", k.Ratio)
		}
	}
	if given < 2 {
		return fmt.Errorf("two of air temperature, humidity, dew point, wet bulb and humidity ratio are needed, %d given", given)
	}
	if given == 2 && unit.Known(k.DewPoint) && !math.IsNaN(k.Ratio) {
		return fmt.Errorf("dew point %.4g C and humidity ratio %.4g tell the same of the air: together its pressure, never its temperature; air temperature, humidity or wet bulb is needed too", float64(k.DewPoint), k.Ratio)
	}
	for _, over := range []struct {
		upper, lower   unit.Temperature
		above, beneath string
	}{
		{k.Temperature, k.DewPoint, "dew point", "air"},
		{k.Temperature, k.WetBulb, "wet bulb", "dry bulb"},
		{k.WetBulb, k.DewPoint, "dew point", "wet bulb"},
		{k.Temperature, k.ratioDew(), "dew point by the humidity ratio", "air"},
		{k.WetBulb, k.ratioDew(), "dew point by the humidity ratio", "wet bulb"},
	} {
		if over.lower.Over(over.upper) > bulbSlack {
			return fmt.Errorf("%s %.4g C lies over the %s at %.4g C: one of the two is wrong", over.above, float64(over.lower), over.beneath, float64(over.upper))
		}
	}
	return nil
}

// ratioDew is the dew point by the humidity ratio; NaN without one.
func (k Known) ratioDew() unit.Temperature {
	if math.IsNaN(k.Ratio) {
		return unit.NaN[unit.Temperature]()
	}
	return saturated(math.Log(vapour(k.Ratio, k.Pressure)))
}

// dew is the dew point as given, else by the humidity ratio, else NaN.
func (k Known) dew() unit.Temperature {
	if unit.Known(k.DewPoint) {
		return k.DewPoint
	}
	return k.ratioDew()
}

// temperature is the dry bulb, from two of the other four.
func (k Known) temperature() (unit.Temperature, error) {
	dew := k.dew()
	switch {
	case unit.Known(dew) && unit.Known(k.Humidity):
		ln, _ := lnSaturation(dew)
		return saturated(ln - math.Log(min(1, float64(k.Humidity)/100))), nil
	case unit.Known(dew):
		w := ratio(saturation(min(dew, k.WetBulb)), k.Pressure)
		return max(k.WetBulb, wickAt(k.WetBulb, k.Pressure).air(k.WetBulb, w)), nil
	}
	// The warmer the air at one wet bulb, the drier: bisect.
	low, high := k.WetBulb, hottestAir
	balance := wickAt(k.WetBulb, k.Pressure)
	humid := func(t unit.Temperature) float64 {
		return 100 * vapour(balance.ratio(t, k.WetBulb), k.Pressure) / saturation(t)
	}
	if humid(low) < float64(k.Humidity)-float64(humiditySlack) && k.WetBulb < 0 {
		return 0, fmt.Errorf("an iced wick at %.4g C cannot be in air of %.4g %%: over ice the air is saturated at %.3g %%", float64(k.WetBulb), float64(k.Humidity), humid(low))
	}
	if humid(high) > float64(k.Humidity) {
		return 0, fmt.Errorf("wet bulb %.4g C with humidity %.4g %% needs air over %v C", float64(k.WetBulb), float64(k.Humidity), hottestAir)
	}
	for high-low > 1e-7 {
		if mid := (low + high) / 2; humid(mid) > float64(k.Humidity) {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2, nil
}

// vapour is the vapour pressure in Pa by the wettest of the measures given.
func (k Known) vapour() (float64, error) {
	full := saturation(k.Temperature)
	wettest, driest := math.Inf(-1), math.Inf(1)
	var said []string
	add := func(name string, value, pv float64, symbol string) {
		wettest, driest = max(wettest, pv), min(driest, pv)
		said = append(said, fmt.Sprintf("%s %.4g %s (%.3g %%)", name, value, symbol, 100*pv/full))
	}
	if unit.Known(k.Humidity) {
		add("humidity", float64(k.Humidity), min(1, float64(k.Humidity)/100)*full, "%")
	}
	if unit.Known(k.DewPoint) {
		add("dew point", float64(k.DewPoint), saturation(min(k.DewPoint, k.Temperature)), "C")
	}
	if !math.IsNaN(k.Ratio) {
		add("humidity ratio", k.Ratio, min(vapour(k.Ratio, k.Pressure), full), "kg/kg")
	}
	if unit.Known(k.WetBulb) {
		bulb := min(k.WetBulb, k.Temperature)
		pv := vapour(wickAt(bulb, k.Pressure).ratio(k.Temperature, bulb), k.Pressure)
		if !(pv > 0) {
			return 0, fmt.Errorf("wet bulb %.4g C is too far below the dry bulb at %.4g C: the air would hold less than no water; re-wet the wick or wait until it is steady", float64(k.WetBulb), float64(k.Temperature))
		}
		add("wet bulb", float64(k.WetBulb), pv, "C")
	}
	if 100*(wettest-driest)/full > float64(agreement) {
		return 0, fmt.Errorf("at %.4g C %s contradict each other by more than %v %% of humidity", float64(k.Temperature), strings.Join(said, " and "), float64(agreement))
	}
	return wettest, nil
}
