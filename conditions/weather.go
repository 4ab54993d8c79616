package conditions

import (
	"encoding/json"
	"time"

	"fairwindow/conditions/unit"
)

// Sureness tells what a value rests on.
type Sureness string

// From the surest to the least: a plan may use all but Unknown, a start needs Measured.
const (
	Measured  Sureness = "measured"
	Foretold  Sureness = "forecast"
	Pencilled Sureness = "pencilled" // beyond the forecast: the season's usual weather
	Unknown   Sureness = "unknown"
)

// Weather is the air outdoors at the site at one time. A value that nobody
// gave is NaN.
type Weather struct {
	At         time.Time        `json:"at"`
	Air        unit.Temperature `json:"air"`
	DewPoint   unit.Temperature `json:"dew_point"`
	Wind       unit.Speed       `json:"wind"`
	Gust       unit.Speed       `json:"gust"`
	Rain       unit.RainRate    `json:"rain"`        // over the hour before At
	RainChance unit.Share       `json:"rain_chance"` // of rain in that hour
	Cloud      unit.Share       `json:"cloud"`
	Shortwave  float64          `json:"shortwave"` // W/m² on the level
	Sure       Sureness         `json:"sure"`
	// AirError and DewError are the standard deviations of the two temperatures' errors, K.
	AirError unit.TempDiff `json:"air_error"`
	DewError unit.TempDiff `json:"dew_error"`
	// Learned is how much of the place's own bias experience has taken out of
	// a forecast: 0 of one as it came, towards 1 with more pairs.
	Learned unit.Share `json:"learned,omitempty"`
	// Together is the correlation of the two temperatures' errors, where experience
	// has learned it; 0 is the published one.
	Together float64 `json:"together,omitempty"`
}

// plainWeather is Weather as JSON would have it, were NaN a JSON number.
type plainWeather Weather

type weatherJSON struct {
	plainWeather
	Shortwave *float64 `json:"shortwave"` // in place of plainWeather's
}

// MarshalJSON writes unknown values as null.
func (w Weather) MarshalJSON() ([]byte, error) {
	return json.Marshal(weatherJSON{plainWeather(w), known(w.Shortwave)})
}

// UnmarshalJSON reads null as unknown.
func (w *Weather) UnmarshalJSON(text []byte) error {
	var j weatherJSON
	if err := json.Unmarshal(text, &j); err != nil {
		return err
	}
	*w = Weather(j.plainWeather)
	w.Shortwave = orNaN(j.Shortwave)
	return nil
}

// correlation is that of the two temperatures' errors.
func (w *Weather) correlation() float64 {
	if w.Together == 0 {
		return together
	}
	return w.Together
}

// Moment is the air and the hull in one place at one time. A value that nobody
// gave is NaN, or an empty Maybe.
type Moment struct {
	At         time.Time        `json:"at"`
	Air        unit.Temperature `json:"air"`
	DewPoint   unit.Temperature `json:"dew_point"`
	Coldest    unit.Temperature `json:"coldest"` // surface, coldest spot
	Warmest    unit.Temperature `json:"warmest"` // surface, warmest spot
	Wind       unit.Speed       `json:"wind"`
	Gust       unit.Speed       `json:"gust"`
	Rain       unit.RainRate    `json:"rain"`
	RainChance unit.Share       `json:"rain_chance"`
	Sure       Sureness         `json:"sure"`
	// Wet is dew or rain that stands on the surface.
	Wet bool `json:"wet,omitempty"`
	// Why says what is missing when Sure is Unknown.
	Why string `json:"why,omitempty"`
	// Doubt says what is doubtful and shuts nothing: two instruments that disagree, of
	// which the worse was taken.
	Doubt string `json:"doubt,omitempty"`
	// Airs are the extremes of several instruments.
	Airs Airs `json:"airs,omitzero"`
	// AirError and MarginError are standard deviations: of the air and of its margin
	// over the dew point, whose two errors partly cancel, K. SurfaceError is what
	// a surface that nobody measured adds to either.
	AirError     unit.TempDiff `json:"air_error"`
	MarginError  unit.TempDiff `json:"margin_error"`
	SurfaceError unit.TempDiff `json:"surface_error,omitzero"`
	// Paint is the mixed paint's temperature; Film that of a tent's film.
	Paint unit.Maybe[unit.Temperature] `json:"paint,omitzero"`
	Film  unit.Maybe[unit.Temperature] `json:"film,omitzero"`
	// Rate is how fast the coldest spot warms (+) or cools (−), MarginRate how fast
	// its margin over the dew point grows or shrinks.
	Rate       unit.Maybe[unit.Rate] `json:"rate,omitzero"`
	MarginRate unit.Maybe[unit.Rate] `json:"margin_rate,omitzero"`
}

// Exposure is what a coat in this place stands in.
func (m *Moment) Exposure() Exposure {
	return Exposure{Coldest: m.Coldest, Warmest: m.Warmest, Humidity: RelativeHumidity(m.Air, m.DewPoint)}
}
