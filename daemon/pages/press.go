package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"fairwindow/config"
	"fairwindow/planner"
)

// pressForm is what a person reports of one stage or boat, as it was filled in.
type pressForm struct {
	Link     string
	Key      planner.Key
	Once     string
	Happened string
	By       string
	Pass     string // that comes next
	List     string // where it is started, if a go / no-go list is answered first
	Actions  []actionView
	Places   []string
	Fault    string
	When     string // the fault of Happened
	Who      string // the fault of By
}

// actionView is one button, with what must be said beside it.
type actionView struct {
	Kind  planner.PressKind
	Name  string
	Ask   string
	Must  bool
	More  string
	Note  string
	Value string
	Open  bool // it was just tried
	Fault string
}

// newForm is a form for the presses that fit.
func (p *pages) newForm(r *http.Request, k planner.Key, kinds []planner.PressKind, s planner.Progress) pressForm {
	c := p.clock(r)
	f := pressForm{
		Link: boatLink(k.Boat) + "/press", Key: k, Once: newOnce(), Happened: c.field(c.now), By: rememberedName(r), Pass: nextPass(s),
	}
	for _, kind := range kinds {
		a, ok := actionOf(kind)
		if kind == planner.Started && len(p.Plans.Yard().Checklist[s.Stage.Kind]) > 0 {
			f.List, ok = startLink(k), false // first the go / no-go list
		}
		if !ok {
			continue
		}
		v := actionView{Kind: kind, Name: buttonName(a, s), Ask: a.Ask, Must: a.Must, More: a.More}
		if a.More == "pass" {
			v.Value = strconv.Itoa(len(s.Passes))
		}
		f.Actions = append(f.Actions, v)
	}
	for _, place := range p.Plans.Yard().Places {
		f.Places = append(f.Places, place.Name)
	}
	return f
}

// Direct are the buttons for which one press is enough, Asking the others.
func (f pressForm) Direct() []actionView { return f.pick(true) }

// Asking are the buttons that want a word with them.
func (f pressForm) Asking() []actionView { return f.pick(false) }

func (f pressForm) pick(direct bool) []actionView {
	var some []actionView
	for _, a := range f.Actions {
		if (a.Ask == "" && a.More == "") == direct {
			some = append(some, a)
		}
	}
	return some
}

// refill puts what was typed, and what was wrong with it, into a fresh form.
func (f *pressForm) refill(tried pressForm) {
	f.Once, f.Happened, f.By = tried.Once, tried.Happened, tried.By
	f.Fault, f.When, f.Who = tried.Fault, tried.When, tried.Who
	for _, t := range tried.Actions {
		found := false
		for i := range f.Actions {
			if f.Actions[i].Kind == t.Kind {
				t.Name = f.Actions[i].Name
				f.Actions[i], found = t, true
			}
		}
		if !found {
			f.Actions = append(f.Actions, t)
		}
	}
}

func (p *pages) press(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	boat, err := p.boatNamed(r)
	if err != nil {
		return err
	}
	form, press, ok := p.readPress(r, boat)
	if !ok {
		return p.showBoat(w, r, boat, &form, http.StatusUnprocessableEntity)
	}
	if err := p.Desk.Press(r.Context(), press); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("press %s on %s: %w", press.Kind, press.Key, err)
		}
		form.Fault = sentence
		return p.showBoat(w, r, boat, &form, http.StatusConflict)
	}
	rememberName(w, form.By)
	http.Redirect(w, r, boatLink(boat.Name)+"?said="+url.QueryEscape(string(press.Kind)), http.StatusSeeOther)
	return nil
}

// readPress reads a form; each mistake is noted beside its field.
func (p *pages) readPress(r *http.Request, boat config.Boat) (pressForm, planner.Press, bool) {
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	c := p.clock(r)
	key := planner.Key{Boat: boat.Name, Area: field("area"), Stage: field("stage")}
	form := pressForm{Key: key, Once: field("once"), Happened: field("happened"), By: p.by(r), Pass: field("pass")}
	press := planner.Press{Kind: planner.PressKind(field("kind")), Key: key, Entered: c.now.UTC(), By: form.By}
	a, known := actionOf(press.Kind)
	if !known || form.Once == "" {
		form.Fault = "The form was not complete, so nothing was kept. Press one of the buttons again."
		return form, press, false
	}
	if (key.Stage == "") != (key.Area == "") || (key.Stage == "") != ofBoat(press.Kind) {
		form.Fault = "The form did not say what this is about, so nothing was kept. Press one of the buttons again."
		return form, press, false
	}
	tried := actionView{
		Kind: a.Kind, Name: a.Name, Ask: a.Ask, Must: a.Must, More: a.More, Open: true,
		Note: field("note_" + string(a.Kind)), Value: field("more_" + string(a.Kind)),
	}
	press.Happened, form.When = happened(form.Happened, c)
	if form.By == "" {
		form.Who = "Write who presses: the record names a person."
	}
	press.Note = tried.Note
	if a.Must && press.Note == "" {
		tried.Fault = a.Ask + ": write it in a few words. The record needs it."
	}
	if fault := p.further(&press, tried, form.Pass, c); fault != "" {
		tried.Fault = fault
	}
	// Each button of one form is an act of its own; pressed twice, it is still one.
	press.Once = form.Once + "/" + string(press.Kind) + "/" + strconv.Itoa(press.Pass)
	form.Actions = []actionView{tried}
	return form, press, form.When == "" && form.Who == "" && tried.Fault == ""
}

// further reads what an action asks besides a note; its answer is the fault, if any.
func (p *pages) further(press *planner.Press, tried actionView, next string, c clock) string {
	switch {
	case press.Kind == planner.PassDone || press.Kind == planner.Mixed:
		pass, err := strconv.Atoi(next)
		if err != nil || pass < 1 {
			return "The form did not say which pass. Press again."
		}
		press.Pass = pass
	case tried.More == "pass":
		pass, err := strconv.Atoi(tried.Value)
		if err != nil || pass < 0 || pass > 99 {
			return "Write after how many whole passes it stopped: 0 if the first was not done."
		}
		press.Pass = pass
	case tried.More == "until":
		until, ok := c.read(tried.Value)
		if !ok {
			return "Write the day and the time to pin it to, such as " + c.now.Format(wall) + "."
		}
		if until.Before(c.now) {
			return "That is past. Pin it to a time still to come, or report when it started."
		}
		press.Until = until.UTC()
	case tried.More == "place":
		if _, ok := p.Plans.Yard().Place(tried.Value); !ok {
			return "Choose where the boat stands now."
		}
		press.Place = tried.Value
	}
	return ""
}

// ofBoat reports whether a press is about a whole boat.
func ofBoat(k planner.PressKind) bool {
	return k == planner.Arrived || k == planner.Moved || k == planner.Launched
}

// boatNamed is the boat that the address names.
func (p *pages) boatNamed(r *http.Request) (config.Boat, error) {
	name := r.PathValue("name")
	boats, err := p.Plans.Boats(r.Context())
	if err != nil {
		return config.Boat{}, fmt.Errorf("boats: %w", err)
	}
	for _, b := range boats {
		if b.Name == name {
			return b, nil
		}
	}
	return config.Boat{}, missing(fmt.Sprintf("There is no boat called %q in this yard.", name))
}
