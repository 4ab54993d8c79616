package pages

import (
	"fmt"
	"net/http"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/sensors"
)

// signalsForm is what a person saw of a booth, as it was chosen and typed.
type signalsForm struct {
	Link    string
	Once    string
	By      string
	At      string
	Choices []signalChoice
	Filters string // the gauge across them
	Fault   string
	Faults  struct{ By, At, Filters string }
}

// signalChoice is one thing of a booth that is in one of a few states. Nothing chosen
// is nothing said: unknown is not on.
type signalChoice struct {
	Of     conditions.Variable
	Name   string
	Chosen string
	Words  []string // as sensors write them too
	Fault  string
}

// signals are what can be seen of a booth without an instrument.
func signals(chosen func(conditions.Variable) string) []signalChoice {
	all := []signalChoice{
		{Of: conditions.BoothMode, Name: "The booth is", Words: []string{"idle", "spraying", "curing"}},
		{Of: conditions.Fan, Name: "Its fan", Words: []string{"runs", "stands"}},
		{Of: conditions.Door, Name: "Its door is", Words: []string{"shut", "open"}},
	}
	for i := range all {
		all[i].Chosen = chosen(all[i].Of)
	}
	return all
}

func (p *pages) takeSignals(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	name := r.PathValue("name")
	if place, ok := p.Plans.Yard().Place(name); !ok || place.Kind != config.Booth {
		return missing(fmt.Sprintf("There is no booth called %q in the yard file.", name))
	}
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	form := signalsForm{
		Once: field("once"), By: p.by(r), At: field("at"), Filters: field("filter_pressure"),
		Choices: signals(func(v conditions.Variable) string { return field(string(v)) }),
	}
	c := p.clock(r)
	usual := readingForm{Once: newOnce(), By: form.By, At: c.field(c.now)}
	reading, ok := form.reading(name, c)
	if !ok {
		return p.showPlace(w, r, name, placeForms{usual, form}, http.StatusUnprocessableEntity)
	}
	if err := p.Desk.TakeReading(r.Context(), reading); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("what was seen of %s: %w", name, err)
		}
		form.Fault = sentence
		return p.showPlace(w, r, name, placeForms{usual, form}, http.StatusConflict)
	}
	rememberName(w, form.By)
	http.Redirect(w, r, placeLink(name)+"?said=reading", http.StatusSeeOther)
	return nil
}

// reading checks what was chosen and typed; each mistake is noted beside its field.
func (f *signalsForm) reading(place string, c clock) (sensors.Reading, bool) {
	r := sensors.Reading{
		Source: f.By + sensors.ByEye, Place: place, Received: c.now.UTC(), Key: "hand/" + f.Once,
		Values: map[conditions.Variable]float64{}, Raw: fmt.Sprintf("filters %q", f.Filters),
	}
	fine := true
	for i := range f.Choices {
		one := &f.Choices[i]
		r.Raw += fmt.Sprintf(", %s %q", one.Of, one.Chosen)
		x, known := one.Of.Word(one.Chosen)
		switch {
		case one.Chosen == "":
		case known:
			r.Values[one.Of] = x
		default:
			one.Fault, fine = "Choose one of these: "+strings.Join(one.Words, ", ")+".", false
		}
	}
	f.Faults.Filters = measured[unit.Pressure](r.Values, conditions.FilterPressure, f.Filters, -100, 2500)
	if f.By == "" {
		f.Faults.By = "Write who looked."
	}
	r.At, f.Faults.At = happened(f.At, c)
	switch {
	case f.Once == "":
		f.Fault = "The form was not complete. Nothing was kept; press again."
	case len(r.Values) == 0 && fine && f.Faults.Filters == "":
		f.Fault = "Choose at least one thing that you saw."
	}
	return r, fine && f.Fault == "" && f.Faults == struct{ By, At, Filters string }{}
}
