package pages

import (
	"cmp"
	"encoding/base64"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/sensors"
)

// shiftAir is what a crew stands in now.
type shiftAir struct {
	Place   string
	Link    string
	Now     nowView
	Trend   string
	Stale   int64  // Unix ms from which it counts as unknown; 0 if it does already
	Unknown string // what is said then
	Form    readingForm
}

// steadyBelow is a change of the margin in an hour that no hand instrument tells from none.
const steadyBelow = 0.5

func (p *pages) shiftAir(r *http.Request, s crewStage, air placeAirNow, tried *readingForm) (*shiftAir, error) {
	ctx, c, u, yard := r.Context(), p.clock(r), p.units(r), p.Plans.Yard()
	if air.place.Name == "" {
		return nil, nil // the boat stands nowhere yet
	}
	past, err := p.Air.Past(ctx, air.place.Name, c.now.Add(-max(stale(yard), 2*time.Hour)), c.now)
	if err != nil {
		return nil, fmt.Errorf("past air of %s: %w", air.place.Name, err)
	}
	v := shiftAir{Place: air.place.Name, Link: placeLink(air.place.Name), Trend: trend(past), Now: nowOf(past, c, u, stale(yard))}
	rules, whose, err := p.shiftRules(r, s, air.place)
	if err != nil {
		return nil, err
	}
	if air.place.Roofed() {
		v.Now.Wind = ""
	}
	v.Now.Verdict, v.Now.Class = verdictOf(air.moment, rules, whose, u), marginClass(air.moment, rules)
	if air.off != "" {
		v.Now.Verdict.Stop = capital(air.off) + ": no coat goes on."
		if goesOn(s.Progress) {
			v.Now.Verdict.Stop = stop(air.off, []string{key(s.Key)})
		}
	}
	if air.moment != nil {
		v.Stale = air.moment.At.Add(stale(yard)).UnixMilli()
		v.Unknown = "Unknown: last measured " + c.moment(air.moment.At) + ", which is too old to count. Measure now."
	}
	boats, err := p.boatsAt(ctx, air.place.Name)
	if err != nil {
		return nil, err
	}
	v.Form = readingForm{Once: newOnce(), By: rememberedName(r), At: c.field(c.now)}
	v.Form.Instrument, v.Form.Valid = rememberedProbe(r)
	if slices.Contains(boats, s.Key.Boat) {
		v.Form.Boat = s.Key.Boat
	}
	if tried != nil {
		v.Form = *tried
	}
	v.Form.Link, v.Form.Boats, v.Form.Hint = "/shift/reading", boats, u.example()
	return &v, nil
}

// shiftRules are the limits of the coat at hand, else those that its place is judged by.
func (p *pages) shiftRules(r *http.Request, s crewStage, place config.Place) (conditions.Rules, string, error) {
	yard := p.Plans.Yard()
	if s.Stage.Kind == config.Coat && !s.Done {
		card, _ := yard.Card(s.Stage.Card)
		return felt(yard.Rules(s.Stage, place), place), card.Title(), nil
	}
	return p.rules(r.Context(), place)
}

// trend says in a word where the margin goes: over the last hour, or what there is of it.
func trend(past []conditions.Moment) string {
	past = slices.DeleteFunc(slices.Clone(past), func(m conditions.Moment) bool {
		return m.Sure != conditions.Measured || !unit.Known(margin(m))
	})
	if len(past) < 2 {
		return ""
	}
	last := past[len(past)-1]
	i := slices.IndexFunc(past, func(m conditions.Moment) bool { return last.At.Sub(m.At) <= time.Hour })
	if over := last.At.Sub(past[i].At); over < 15*time.Minute {
		return ""
	}
	switch change := float64(margin(last) - margin(past[i])); {
	case change >= steadyBelow:
		return "rising"
	case change <= -steadyBelow:
		return "falling"
	}
	return "steady"
}

// takeShiftReading keeps a surface that was read by hand at the work.
func (p *pages) takeShiftReading(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	c, place := p.clock(r), field("place")
	if _, ok := p.Plans.Yard().Place(place); !ok {
		return missing(fmt.Sprintf("There is no place called %q in the yard file.", place))
	}
	form := readingForm{
		Once: field("once"), Instrument: field("instrument"), By: p.by(r), At: cmp.Or(field("at"), c.field(c.now)), Boat: field("boat"),
		Surface: field("surface"), Warmest: field("warmest"), Valid: field("valid"), Hint: p.units(r).example(),
	}
	boats, err := p.boatsAt(r.Context(), place)
	if err != nil {
		return err
	}
	tried := shiftForms{crew: field("crew"), reading: &form}
	reading, ok := form.reading(place, boats, c)
	if at, exact := exactly(r, c); exact && form.Faults.At == "" {
		reading.At = at
	}
	if !ok {
		f := form.Faults
		return p.refuseShift(w, r, tried, http.StatusUnprocessableEntity,
			cmp.Or(form.Fault, f.Surface, f.Warmest, f.Instrument, f.By, f.Boat, f.Valid, f.At))
	}
	if err := p.Desk.TakeReading(r.Context(), reading); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("hand reading at %s: %w", place, err)
		}
		form.Fault = sentence
		return p.refuseShift(w, r, tried, http.StatusConflict, sentence)
	}
	rememberName(w, form.By)
	rememberProbe(w, form.Instrument, form.Valid)
	word := "reading"
	if len(reading.Flags) > 0 {
		word = "doubtful"
	}
	return acceptShift(w, r, tried.crew, word)
}

// Who is the field for the name of who measures.
func (f readingForm) Who() byField {
	return byField{Name: f.By, Label: "Who measures", Fault: f.Faults.By}
}

const probeCookie = "fairwindow_probe"

// rememberProbe saves the typing of an instrument and the day its calibration runs out.
func rememberProbe(w http.ResponseWriter, instrument, valid string) {
	text := url.Values{"is": {instrument}, "valid": {valid}}.Encode()
	http.SetCookie(w, &http.Cookie{
		Name: probeCookie, Value: base64.RawURLEncoding.EncodeToString([]byte(text)), Path: "/",
		MaxAge: 90 * 24 * 3600, HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
}

func rememberedProbe(r *http.Request) (instrument, valid string) {
	cookie, err := r.Cookie(probeCookie)
	if err != nil {
		return "", ""
	}
	text, err := base64.RawURLEncoding.DecodeString(cookie.Value)
	if err != nil {
		return "", ""
	}
	is, err := url.ParseQuery(string(text))
	if err != nil {
		return "", ""
	}
	return is.Get("is"), is.Get("valid")
}

// lastRead is the latest good reading of a variable, of the place or of a boat there.
func lastRead(readings []sensors.Reading, v conditions.Variable) (sensors.Reading, bool) {
	for _, r := range slices.Backward(readings) {
		if _, has := r.Values[v]; has && !r.Doubtful(v) {
			return r, true
		}
	}
	return sensors.Reading{}, false
}
