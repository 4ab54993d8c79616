package conditions

import (
	"time"

	"fairwindow/conditions/unit"
)

// Experience is what a yard has learned of its forecast's errors. It is plain
// data and has a JSON form; the zero value has learned nothing, and everything is
// as published.
type Experience struct {
	Places map[string]Habit `json:"places"`
	// Together is the correlation of the errors of air and dew point, Persists
	// the time constant with which an error fades: what is left of them when the
	// bias is out, of all places.
	Together float64       `json:"together"`
	Persists unit.Duration `json:"persists"`
}

// Habit is how the forecast errs in one place. Humidity has none of its own: it
// follows from the two temperatures.
type Habit struct {
	Air      Lesson `json:"air"`
	DewPoint Lesson `json:"dew_point"`
	// Wind is the measured wind over the forecast one; 0 is not known.
	Wind float64 `json:"wind"`
}

// Correct takes the place's bias out of a point of a forecast and sets its
// errors by lead, never under the instrument's ±0.3 K: those of Spread where
// nothing was learned. Together is the correlation that was learned. Wind and gust
// are taken by the wind's factor. Only what is Foretold is touched, and what was
// corrected once is not corrected again. The latest reading comes after it, by the
// function Correct, which must know that the bias is out: the point's Learned says
// how much of it.
func (x Experience) Correct(w Weather, place string, issued time.Time) Weather {
	if w.Sure != Foretold || w.Learned > 0 {
		return w
	}
	lead := w.At.Sub(issued)
	air, dew, _ := Spread(lead)
	h, ok := x.Places[place]
	if !ok {
		w.AirError, w.DewError = air, dew
		return w
	}
	here := termsOf(&w, lead)
	w.Air, w.AirError = h.Air.correct(w.Air, air, here, lead)
	w.DewPoint, w.DewError = h.DewPoint.correct(w.DewPoint, dew, here, lead)
	if w.DewPoint > w.Air { // an unknown one stays
		w.DewPoint = w.Air
	}
	w.Learned = max(h.Air.learned(), h.DewPoint.learned())
	if w.Learned > 0 {
		w.Together = x.Together
	}
	if w.Learned > 0 && h.Wind > 0 { // else nothing would tell that it was done
		w.Wind *= unit.Speed(h.Wind)
		w.Gust *= unit.Speed(h.Wind)
	}
	return w
}
