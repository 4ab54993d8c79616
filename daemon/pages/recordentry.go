package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// entryForm is what a person adds to a coat, as it was filled in.
type entryForm struct {
	Link     string
	Key      planner.Key
	Once     string
	At       string
	Pass     string
	Passes   []string
	Variant  string
	Variants []string
	Pots     []potField
	Gun      string
	Wet      string
	Dry      string
	Film     string // the unit of a bare number
	Volume   string
	With     string
	Due      string
	Note     string
	By       byField
	Open     bool
	Fault    string
	Faults   struct{ At, Wet, Dry, Due string }
}

// potField is one part of the paint.
type potField struct{ Field, Name, Batch, Amount, Fault string }

func (p *pages) newEntryForm(r *http.Request, key planner.Key, coat record.Coat) entryForm {
	c, u := p.clock(r), p.units(r)
	f := entryForm{
		Link: boatLink(key.Boat) + "/entry", Key: key, Once: newOnce(), At: c.field(c.now), Film: u.film, Volume: u.volume,
		By: byField{Name: rememberedName(r), Label: "Who"},
	}
	for i := range coat.Passes {
		f.Passes = append(f.Passes, strconv.Itoa(i+1))
	}
	card, _ := p.Plans.Yard().Card(coat.Card)
	for _, v := range card.Variants {
		f.Variants = append(f.Variants, v.Name)
	}
	f.Pots = []potField{{Field: "base", Name: "Base"}, {Field: "hardener", Name: "Hardener"}, {Field: "reducer", Name: "Reducer"}}
	// The instrument of the last time is likely that of this one.
	for _, e := range coat.Entries {
		if e.Instrument != "" && e.Struck == nil {
			f.With, f.Due = e.Instrument, e.Due
		}
	}
	return f
}

// refill puts what was typed, and what was wrong with it, into a fresh form.
func (f *entryForm) refill(tried entryForm) {
	tried.Link, tried.Passes, tried.Variants, tried.Film, tried.Volume, tried.By.Label = f.Link, f.Passes, f.Variants, f.Film, f.Volume, f.By.Label
	for i := range tried.Pots {
		tried.Pots[i].Name = f.Pots[i].Name
	}
	*f = tried
	f.Open = true
}

// enter takes what a person adds to a coat.
func (p *pages) enter(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	boat, err := p.boatNamed(r)
	if err != nil {
		return err
	}
	form, entry, ok := p.readEntry(r, boat.Name)
	if !ok {
		return p.showCoats(w, r, boat, coatsTried{entry: &form}, http.StatusUnprocessableEntity)
	}
	if err := p.Records.Enter(r.Context(), entry, false); err != nil {
		why, public := refused(err)
		if !public {
			return fmt.Errorf("entry on %s: %w", entry.Key, err)
		}
		form.Fault = why
		return p.showCoats(w, r, boat, coatsTried{entry: &form}, http.StatusConflict)
	}
	rememberName(w, entry.By)
	http.Redirect(w, r, recordLink(boat.Name)+"?"+url.Values{"said": {"entered"}, "area": {entry.Key.Area}, "stage": {entry.Key.Stage}}.Encode(), http.StatusSeeOther)
	return nil
}

// readEntry reads the form; each mistake is noted beside its field.
func (p *pages) readEntry(r *http.Request, boat string) (entryForm, record.Entry, bool) {
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	c, u := p.clock(r), p.units(r)
	f := entryForm{
		Key: planner.Key{Boat: boat, Area: field("area"), Stage: field("stage")}, Once: field("once"), At: field("at"), Pass: field("pass"),
		Variant: field("variant"), Gun: field("gun"), Wet: field("wet"), Dry: field("dry"), With: field("with"), Due: field("due"), Note: field("note"),
		By: byField{Name: p.by(r)}, Open: true,
	}
	e := record.Entry{Key: f.Key, By: f.By.Name, Once: f.Once, Variant: f.Variant, Gun: f.Gun, Instrument: f.With, Due: f.Due, Note: f.Note}
	whole := true
	wrong := func(into *string, why string) {
		if why != "" {
			*into, whole = why, false
		}
	}
	at, fault := happened(f.At, c)
	e.At = at
	wrong(&f.Faults.At, fault)
	if e.Pass, _ = strconv.Atoi(f.Pass); f.Once == "" || f.Key.Stage == "" {
		wrong(&f.Fault, "The form was not complete, so nothing was kept. Send it again.")
	}
	if f.By.Name == "" {
		wrong(&f.By.Fault, "Write who enters this: the record names a person.")
	}
	for i, pot := range []*record.Pot{&e.Base, &e.Hardener, &e.Reducer} {
		part := potField{Field: [...]string{"base", "hardener", "reducer"}[i]}
		part.Batch, part.Amount = field(part.Field+"_batch"), field(part.Field+"_amount")
		pot.Batch = part.Batch
		if part.Amount != "" {
			litres, err := record.Amount(part.Amount, u.volume)
			pot.Litres = litres
			wrong(&part.Fault, sentence(err))
		}
		f.Pots = append(f.Pots, part)
	}
	wet, err := record.Spots(f.Wet, u.film)
	wrong(&f.Faults.Wet, sentence(err))
	for _, spot := range wet {
		e.Wet = append(e.Wet, spot...)
	}
	e.Dry, err = record.Spots(f.Dry, u.film)
	wrong(&f.Faults.Dry, sentence(err))
	if f.Wet+f.Dry == "" {
		e.Instrument, e.Due = "", "" // filled in from the last time, and not used
	}
	if _, err := time.Parse(time.DateOnly, f.Due); f.Due != "" && err != nil {
		wrong(&f.Faults.Due, "Write the day as 2027-04-01.")
	}
	if whole {
		wrong(&f.Fault, sentence(e.Check()))
	}
	return f, e, whole
}

// sentence is an error's sentence; empty for none.
func sentence(err error) string {
	if err == nil {
		return ""
	}
	return err.Error()
}
