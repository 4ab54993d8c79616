package pages

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/sensors"
)

// readingForm is a reading taken by hand, as it was typed.
type readingForm struct {
	Link       string
	Once       string
	Instrument string
	By         string
	At         string
	Boat       string
	Surface    string // the coldest spot found
	Warmest    string // the warmest, where it was read too
	Air        string
	Humidity   string
	Valid      string // the day the calibration runs out
	Boats      []string
	Hint       string // an example of a temperature, in its reader's unit
	Fault      string
	Faults     readingFaults
}

type readingFaults struct{ Instrument, By, At, Boat, Surface, Warmest, Air, Humidity, Valid string }

func (p *pages) takeReading(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	name := r.PathValue("name")
	yard := p.Plans.Yard()
	if _, ok := yard.Place(name); !ok {
		return missing(fmt.Sprintf("There is no place called %q in the yard file.", name))
	}
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	form := readingForm{
		Once: field("once"), Instrument: field("instrument"), By: p.by(r), At: field("at"), Boat: field("boat"),
		Surface: field("surface"), Warmest: field("warmest"), Air: field("air"), Humidity: field("humidity"), Valid: field("valid"),
	}
	boats, err := p.boatsAt(r.Context(), name)
	if err != nil {
		return err
	}
	reading, ok := form.reading(name, boats, p.clock(r))
	if !ok {
		return p.showPlace(w, r, name, p.beside(p.clock(r), form), http.StatusUnprocessableEntity)
	}
	if err := p.Desk.TakeReading(r.Context(), reading); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("hand reading at %s: %w", name, err)
		}
		form.Fault = sentence
		return p.showPlace(w, r, name, p.beside(p.clock(r), form), http.StatusConflict)
	}
	rememberName(w, form.By)
	word := "reading"
	if len(reading.Flags) > 0 {
		word = "doubtful"
	}
	http.Redirect(w, r, placeLink(name)+"?said="+word, http.StatusSeeOther)
	return nil
}

// reading checks what was typed; each mistake is noted beside its field. A
// calibration that is over or not known marks the reading and keeps it.
func (f *readingForm) reading(place string, boats []string, c clock) (sensors.Reading, bool) {
	r := sensors.Reading{
		Source: f.By + " with " + f.Instrument, Place: place, Boat: f.Boat, Received: c.now.UTC(),
		Key: "hand/" + f.Once, Values: map[conditions.Variable]float64{},
		Raw: fmt.Sprintf("surface %q, warmest %q, air %q, humidity %q, %s, calibration valid until %q", f.Surface, f.Warmest, f.Air, f.Humidity, f.Instrument, f.Valid),
	}
	if f.Instrument == "" {
		f.Faults.Instrument = "Write which instrument: a reading without one is no evidence."
	}
	if f.By == "" {
		f.Faults.By = "Write who measured."
	}
	r.At, f.Faults.At = happened(f.At, c)
	if f.Boat != "" && !slices.Contains(boats, f.Boat) {
		f.Faults.Boat = fmt.Sprintf("%s does not stand here. Choose one that does.", f.Boat)
	}
	f.Faults.Surface = measured[unit.Temperature](r.Values, conditions.Surface, f.Surface, -40, 90)
	f.Faults.Warmest = measured[unit.Temperature](r.Values, conditions.SurfaceWarmest, f.Warmest, -40, 90)
	cold, warm := r.Values[conditions.Surface], r.Values[conditions.SurfaceWarmest]
	switch {
	case f.Warmest == "" || f.Faults.Warmest != "" || f.Faults.Surface != "":
	case f.Surface == "":
		f.Faults.Surface = "Write the coldest spot too: it is the one that dew finds first."
	case warm < cold:
		f.Faults.Warmest = f.Warmest + " is colder than the coldest spot, " + f.Surface + ". Have the two changed places?"
	}
	f.Faults.Air = measured[unit.Temperature](r.Values, conditions.AirTemperature, f.Air, -40, 60)
	f.Faults.Humidity = measured[unit.Humidity](r.Values, conditions.RelHumidity, f.Humidity, 0, 100)
	if f.Surface == "" && f.Warmest == "" && f.Air == "" && f.Humidity == "" {
		f.Faults.Surface = "Write at least one value, with its unit, such as " + f.example() + "."
	}
	if f.Surface != "" && f.Boat == "" && len(boats) > 1 {
		f.Faults.Boat = "More than one boat stands here. Choose whose hull was measured."
	}
	if f.Once == "" {
		f.Fault = "The form was not complete. Nothing was kept; press again."
	}
	flag := f.calibration(r.At, c)
	if flag != nil {
		r.Flags = append(r.Flags, *flag)
	}
	return r, f.Fault == "" && f.Faults == readingFaults{}
}

func (f *readingForm) example() string {
	if f.Hint != "" {
		return f.Hint
	}
	return "18.5 C"
}

// calibration flags a reading whose instrument's calibration is not known to hold on that day.
func (f *readingForm) calibration(at time.Time, c clock) *sensors.Flag {
	if f.Valid == "" {
		return &sensors.Flag{Fault: sensors.Uncalibrated, Note: "no calibration date given for " + f.Instrument}
	}
	day, err := time.ParseInLocation(time.DateOnly, f.Valid, c.zone)
	if err != nil {
		f.Faults.Valid = "Write the day the calibration runs out, such as 2027-04-01, or leave it empty."
		return nil
	}
	// The day itself still counts.
	if !at.Before(c.midnight(day, 1)) {
		return &sensors.Flag{Fault: sensors.Uncalibrated, Note: f.Instrument + " was calibrated until " + f.Valid}
	}
	return nil
}

// measured reads one typed value into values; its answer is the fault, if any.
func measured[T ~float64](values map[conditions.Variable]float64, v conditions.Variable, typed string, least, most float64) string {
	if typed == "" {
		return ""
	}
	w, err := unit.Parse[T](strings.Replace(typed, ",", ".", 1))
	if err != nil {
		return capital(err.Error()) + "."
	}
	si := float64(w.SI)
	if math.IsNaN(si) || si < least || si > most {
		return fmt.Sprintf("%s is outside what can be measured here (%s to %s). Check the number and its unit.",
			w, unit.Of(T(least)), unit.Of(T(most)))
	}
	values[v] = si
	return ""
}

// tooSoon is how far a reported time may lie ahead of our clock.
const tooSoon = 2 * time.Minute

// happened reads when something happened; it cannot be still to come.
func happened(typed string, c clock) (time.Time, string) {
	t, ok := c.read(typed)
	switch {
	case !ok:
		return time.Time{}, "Write the day and the time, such as " + c.now.Format(wall) + "."
	case t.After(c.now.Add(tooSoon)):
		return time.Time{}, "That is still to come: it is now " + c.moment(c.now) + ". Write when it happened."
	}
	return t.UTC(), ""
}

// badForm answers a form that cannot be read at all.
func (p *pages) badForm(w http.ResponseWriter, r *http.Request, err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		p.fault(w, r, http.StatusRequestEntityTooLarge, "That was too long to keep. Shorten the note and press again.")
		return nil
	}
	p.fault(w, r, http.StatusBadRequest, "The form could not be read, so nothing was kept. Go back and press again.")
	return nil
}
