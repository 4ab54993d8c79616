package notify

import "time"

// Sure says how a cause is known.
type Sure string

// How a cause is known, from best to worst.
const (
	Measured  Sure = "measured"
	Forecast  Sure = "forecast"
	Pencilled Sure = "pencilled" // beyond the forecast, from the season's record
	Unknown   Sure = "unknown"   // missing, stale or doubtful: shut, but not bad
)

// Side says which side of its bound a value must keep to.
type Side string

// The two sides of a bound.
const (
	AtLeast Side = "at_least"
	AtMost  Side = "at_most"
)

// Cause is why a notice goes out: a limit met or broken, or, where it is no limit, a text. Value
// and Bound are in Unit, the unit the rule was written in.
type Cause struct {
	Limit  string    `json:"limit,omitempty"` // margin, humidity, air, surface, wind, gust, rain_chance, surface_below_air, age ...
	Value  float64   `json:"value,omitempty"`
	Bound  float64   `json:"bound,omitempty"`
	Unit   string    `json:"unit,omitempty"`  // C, F, K, %, m/s, km/h, kn, mph, K/h, C/h, F/h, h, min
	Side   Side      `json:"side,omitempty"`  // empty: by the limit's nature, else the side that Value breaks
	Whose  string    `json:"whose,omitempty"` // such as "card Topcoat rev 2"
	Sure   Sure      `json:"sure,omitempty"`
	Issued time.Time `json:"issued,omitzero"` // when measured, or when the forecast was issued
	Source string    `json:"source,omitempty"`
	Signal string    `json:"signal,omitempty"` // of a booth that is not fit to spray in, which of its own: fan, door, filter_pressure
	Text   string    `json:"text,omitempty"`   // a cause that is no limit, in words
}

// side returns the side of the bound that the value must keep to.
func (c Cause) side() Side {
	if c.Side != "" {
		return c.Side
	}
	switch c.Limit {
	case "margin":
		return AtLeast
	case "humidity", "wind", "gust", "rain", "rain_chance", "age":
		return AtMost
	}
	if c.Value > c.Bound {
		return AtMost
	}
	return AtLeast
}

// difference tells limits on a difference of temperatures from those on one.
func (c Cause) difference() bool {
	switch c.Limit {
	case "margin", "surface_above_air", "surface_below_air", "paint_below_surface", "cover_over_dew_point":
		return true
	}
	return false
}

// kept reports whether the value keeps to its bound.
func (c Cause) kept() bool {
	if c.side() == AtMost {
		return c.Value <= c.Bound
	}
	return c.Value >= c.Bound
}
