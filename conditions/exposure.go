package conditions

import (
	"time"

	"fairwindow/conditions/unit"
)

// Exposure is what a coat stands in: the surface it lies on, and the air over it.
type Exposure struct {
	Coldest  unit.Temperature `json:"coldest"` // surface, coldest spot
	Warmest  unit.Temperature `json:"warmest"` // surface, warmest spot
	Humidity unit.Humidity    `json:"humidity"`
}

// Spell is a stretch of one exposure, from the end of the one before it.
type Spell struct {
	Until time.Time `json:"until"`
	Exposure
}

// slowing is the humidity factor of an opening: the card's slowest while the
// humidity is unknown (NaN or 0), and none, and not ok, beyond its points.
func (c Cure) slowing(rh unit.Humidity) (factor float64, ok bool) {
	if len(c.Humidity) == 0 {
		return 1, true
	}
	if !(rh > 0) {
		factor = c.Humidity[0].Factor
		for _, p := range c.Humidity {
			factor = min(factor, p.Factor)
		}
	} else {
		first, last := c.Humidity[0].At.SI, c.Humidity[len(c.Humidity)-1].At.SI
		rh = min(rh, 100) // a dew point rounded up to over the air's temperature
		if rh < first-tolerance || rh > last+tolerance {
			return 0, false
		}
		factor = c.factor(rh)
	}
	if !(factor > 0) {
		return 0, false
	}
	return factor, true
}

// hastening is the humidity factor of a closing: beyond the points that of the
// nearer end, and while the humidity is unknown the card's fastest.
func (c Cure) hastening(rh unit.Humidity) float64 {
	if len(c.Humidity) == 0 {
		return 1
	}
	if rh > 0 {
		if factor := c.factor(rh); factor > 0 {
			return factor
		}
	}
	var factor float64
	for _, p := range c.Humidity {
		if p.Factor > factor {
			factor = p.Factor
		}
	}
	return factor
}

// factor is linear between the points and flat beyond them.
func (c Cure) factor(rh unit.Humidity) float64 {
	before := c.Humidity[0]
	for _, p := range c.Humidity {
		if rh <= p.At.SI {
			part := 1.0
			if p.At.SI > before.At.SI {
				part = max(0, float64((rh-before.At.SI)/(p.At.SI-before.At.SI)))
			}
			return before.Factor + part*(p.Factor-before.Factor)
		}
		before = p
	}
	return before.Factor
}
