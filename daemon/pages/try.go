package pages

import (
	"bytes"
	"cmp"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"fairwindow/planner"
)

// tryForm is what a person would say of a stage, as it was filled in.
type tryForm struct {
	Key    planner.Key
	Kind   string // a press's kind; before is comes_after said from the other side
	Until  string
	Place  string
	Note   string
	Other  string // the other boat's stage, as a query
	By     byField
	Once   string
	Effect string // what the preview said it would do
	Fault  string
	Faults struct{ Until, Note, Other string }
}

// before puts the other stage behind this one.
const before = "before"

func readTry(r *http.Request, form url.Values) tryForm {
	field := func(name string) string { return strings.TrimSpace(form.Get(name)) }
	return tryForm{
		Key:  planner.Key{Boat: field("boat"), Area: field("area"), Stage: field("stage")},
		Kind: field("kind"), Until: field("until"), Place: field("place"), Note: field("note"), Other: field("other"),
		Once: field("once"), Effect: field("effect"), By: byField{Name: rememberedName(r), Label: "Who keeps it"},
	}
}

// keyText and keyRead carry a stage's key through a form's choice.
func keyText(k planner.Key) string {
	return url.Values{"boat": {k.Boat}, "area": {k.Area}, "stage": {k.Stage}}.Encode()
}

func keyRead(text string) (planner.Key, bool) {
	q, err := url.ParseQuery(text)
	k := planner.Key{Boat: q.Get("boat"), Area: q.Get("area"), Stage: q.Get("stage")}
	return k, err == nil && k.Boat != "" && k.Stage != ""
}

// press is what the form says; each mistake is noted beside its field.
func (f *tryForm) press(c clock, by string) (planner.Press, bool) {
	p := planner.Press{Kind: planner.PressKind(f.Kind), Key: f.Key, By: by, Note: f.Note, Once: f.Once}
	switch f.Kind {
	case string(planner.Pinned):
		p.Place = f.Place
		if f.Until == "" && f.Place != "" {
			break
		}
		until, ok := c.read(f.Until)
		switch {
		case !ok:
			f.Faults.Until = "Write the day and the time to pin it to, such as " + c.now.Format(wall) + ", or choose a place alone."
		case until.Before(c.now):
			f.Faults.Until = "That is past. Pin it to a time still to come."
		case until.After(c.now.AddDate(0, 0, mostDays)):
			f.Faults.Until = fmt.Sprintf("The plan looks %d days ahead. Pin it to a time before %s.", mostDays, c.day(c.now.AddDate(0, 0, mostDays)))
		}
		p.Until = until.UTC()
	case string(planner.Held):
		if f.Note == "" {
			f.Faults.Note = "Why it is held back: write it in a few words. The record needs it."
		}
	case string(planner.ComesAfter), before:
		other, ok := keyRead(f.Other)
		if !ok {
			f.Faults.Other = "Choose the other boat's stage."
		}
		p.Kind, p.Other = planner.ComesAfter, other
		if f.Kind == before {
			p.Key, p.Other = other, f.Key
		}
	case string(planner.Unpinned), string(planner.Freed), string(planner.AnyOrder):
	default:
		f.Fault = "The form did not say what to try. Choose one below."
	}
	return p, f.Fault == "" && f.Faults == struct{ Until, Note, Other string }{}
}

// try shows what can be tried with a stage and, once something is, what it would do.
func (p *pages) try(w http.ResponseWriter, r *http.Request) error {
	form := readTry(r, r.URL.Query())
	if r.URL.Query().Get("kind") == "" {
		return p.showTry(w, r, form, nil, http.StatusOK)
	}
	tried, ok, err := p.tried(r, &form)
	if err != nil {
		return err
	}
	if !ok {
		return p.showTry(w, r, form, nil, http.StatusUnprocessableEntity)
	}
	return p.showTry(w, r, form, &tried, http.StatusOK)
}

// tried works a form out; false if it can't be, with the reason in the form.
func (p *pages) tried(r *http.Request, form *tryForm) (planner.Tried, bool, error) {
	// Nobody has put his name to it yet: of one browser's trials the newest counts.
	host, _, _ := net.SplitHostPort(r.RemoteAddr)
	press, ok := form.press(p.clock(r), cmp.Or(p.by(r), form.By.Name, "somebody at "+host))
	if !ok {
		return planner.Tried{}, false, nil
	}
	tried, _, err := p.Trials.Try(r.Context(), press)
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return planner.Tried{}, false, fmt.Errorf("try %s on %s: %w", press.Kind, press.Key, err)
		}
		form.Fault = sentence
		return planner.Tried{}, false, nil
	}
	return tried, true, nil
}

// keep presses what was tried, if it still does what the person was shown.
func (p *pages) keep(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	form := readTry(r, r.PostForm)
	form.By.Name = p.by(r)
	tried, ok, err := p.tried(r, &form)
	if err != nil {
		return err
	}
	status := http.StatusOK
	switch {
	case !ok:
		return p.showTry(w, r, form, nil, http.StatusUnprocessableEntity)
	case form.Once == "":
		form.Fault, status = "The form was not complete, so nothing was kept. Look at what it would do and keep it again.", http.StatusUnprocessableEntity
	case tried.Refused:
		status = http.StatusConflict
	case effect(tried) != form.Effect:
		form.Fault, status = "The draft was made anew meanwhile, and this would do something else now. Nothing was kept. Look again.", http.StatusConflict
	case form.By.Name == "":
		form.By.Fault, status = "Write who keeps it: the record names a person.", http.StatusUnprocessableEntity
	case form.Note == "" && costsMore(tried):
		form.Faults.Note, status = "It goes against the plan: write why. The record needs it.", http.StatusUnprocessableEntity
	}
	if status != http.StatusOK {
		return p.showTry(w, r, form, &tried, status)
	}
	press, _ := form.press(p.clock(r), form.By.Name)
	if err := p.Desk.Press(r.Context(), press); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("keep %s on %s: %w", press.Kind, press.Key, err)
		}
		form.Fault = sentence
		return p.showTry(w, r, form, &tried, http.StatusConflict)
	}
	rememberName(w, form.By.Name)
	http.Redirect(w, r, backToWeek(r, string(press.Kind)), http.StatusSeeOther)
	return nil
}

// showTry shows the page, or only what it would do for the board to put beside itself.
func (p *pages) showTry(w http.ResponseWriter, r *http.Request, form tryForm, tried *planner.Tried, status int) error {
	c := p.clock(r)
	part := r.URL.Query().Get("part") != ""
	if part { // it has no fields for a word to stand beside
		form.Fault = cmp.Or(form.Fault, form.Faults.Until, form.Faults.Note, form.Faults.Other)
	}
	v, err := p.tryView(r, form, c)
	if err != nil {
		return err
	}
	if tried != nil {
		draft, _, err := p.Plans.Draft(r.Context())
		if err != nil {
			return fmt.Errorf("draft: %w", err)
		}
		e := effectOf(*tried, draft.Until, c)
		e.Form, e.Form.Effect = form, effect(*tried)
		e.Form.Once = cmp.Or(form.Once, newOnce())
		v.Effect = &e
	}
	if !part {
		return show(p, w, r, screen[tryView]{"try", "Try", status, v})
	}
	t, err := p.views.of(p.who(r).role(), "try")
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "effect", v); err != nil {
		return fmt.Errorf("part of try: %w", err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	if _, err = w.Write(b.Bytes()); err != nil {
		return errGone
	}
	return nil
}

// tryLink leads to a stage's trial; with more of the form it shows what that would do.
func tryLink(k planner.Key, more url.Values) string {
	q := url.Values{"boat": {k.Boat}, "area": {k.Area}, "stage": {k.Stage}}
	for name, values := range more {
		q[name] = values
	}
	return "/week/try?" + q.Encode()
}

func pinLink(k planner.Key, at time.Time, place string, c clock) string {
	return tryLink(k, url.Values{"kind": {string(planner.Pinned)}, "until": {c.field(at)}, "place": {place}})
}
