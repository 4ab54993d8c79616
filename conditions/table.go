package conditions

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions/unit"
)

// Rate is the progress an hour at a steady surface temperature. Between two
// points the time's logarithm is straight over the inverse of the absolute
// temperature, which is Arrhenius with the activation energy of those two.
// Beyond the points the card is silent: 0 and false. So a single point holds
// at its own temperature only.
func (t Table) Rate(temp unit.Temperature) (perHour float64, ok bool) {
	if len(t) == 0 || !(temp >= t[0].At.SI-tolerance && temp <= t[len(t)-1].At.SI+tolerance) {
		return 0, false
	}
	for i := range t {
		hours := t[i].Takes.Std().Hours()
		if math.Abs(float64(temp-t[i].At.SI)) <= tolerance {
			return 1 / hours, hours > 0
		}
		if temp < t[i].At.SI {
			before := t[i-1].Takes.Std().Hours()
			a, b, x := inverse(t[i-1].At.SI), inverse(t[i].At.SI), inverse(temp)
			part := (x - a) / (b - a)
			return math.Exp(-(math.Log(before) + part*math.Log(hours/before))), before > 0 && hours > 0
		}
	}
	return 0, false
}

func inverse(t unit.Temperature) float64 { return 1 / (float64(t) + 273.15) }

// fastest is the rate at which a closing comes: Rate, beyond the table that of
// its nearer end, and of an unknown temperature the greatest of the table.
func (t Table) fastest(temp unit.Temperature) float64 {
	if unit.Known(temp) {
		rate, ok := t.Rate(min(max(temp, t[0].At.SI), t[len(t)-1].At.SI))
		if ok {
			return rate
		}
	}
	var rate float64
	for _, p := range t {
		if hours := p.Takes.Std().Hours(); hours > 0 {
			rate = max(rate, 1/hours)
		}
	}
	return rate
}

// column is the window that the bands give for a clock's extremes. The opening
// is of the colder of two bands between which the coolest lies, the closing of
// the hotter of two between which the hottest lies: open by the slower, close by
// the faster. Below the first band the opening waits (Waiting) and the closing is
// the first band's; above the last the window is closed.
func (c Cure) column(k Clock) (opens, closes time.Duration, ok bool) {
	hottest := k.Hottest
	if !unit.Known(hottest) && len(k.Hour) > 0 {
		hottest = slices.Max(k.Hour) // no hour has gone by yet
	}
	if !unit.Known(hottest) {
		hottest = k.Coolest
	}
	if len(c.Bands) == 0 || !unit.Known(k.Coolest) || !unit.Known(hottest) {
		return 0, 0, false
	}
	opens = c.Bands[0].Opens.Std()
	for _, b := range c.Bands {
		if k.Coolest >= b.From.SI-tolerance {
			opens = b.Opens.Std()
		}
	}
	for _, b := range c.Bands {
		if hottest <= b.To.SI+tolerance {
			closes = b.Closes.Std()
			break
		}
	}
	return opens + k.Waiting, closes, true
}

// inBands reports whether the bands say anything at a temperature; between two
// of them they do.
func (c Cure) inBands(t unit.Temperature) bool {
	return t >= c.Bands[0].From.SI-tolerance && t <= c.Bands[len(c.Bands)-1].To.SI+tolerance
}
