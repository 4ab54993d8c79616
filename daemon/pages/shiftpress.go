package pages

import (
	"cmp"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"

	"fairwindow/planner"
)

// pressShift takes what a crew reports.
func (p *pages) pressShift(w http.ResponseWriter, r *http.Request) error {
	return p.takeShift(w, r, false)
}

// decideShift takes a start that is decided against a limit or a no-go.
func (p *pages) decideShift(w http.ResponseWriter, r *http.Request) error {
	return p.takeShift(w, r, true)
}

func (p *pages) takeShift(w http.ResponseWriter, r *http.Request, decides bool) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	form, press, ok := p.readShift(r)
	tried := shiftForms{crew: form.Crew, press: &form}
	if decides != (press.Kind == planner.Override) {
		form.Fault, ok = "That is not decided here, so nothing was kept. Press one of the buttons again.", false
	}
	if !ok {
		return p.refuseShift(w, r, tried, http.StatusUnprocessableEntity, form.firstFault())
	}
	if err := p.Desk.Press(r.Context(), press); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("press %s on %s: %w", press.Kind, press.Key, err)
		}
		form.Fault = sentence
		return p.refuseShift(w, r, tried, http.StatusConflict, sentence)
	}
	rememberName(w, form.By.Name)
	return acceptShift(w, r, form.Crew, string(press.Kind))
}

// readShift reads a form of the shift page; each mistake is noted beside its field.
func (p *pages) readShift(r *http.Request) (shiftForm, planner.Press, bool) {
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	c := p.clock(r)
	f := shiftForm{
		Key: planner.Key{Boat: field("boat"), Area: field("area"), Stage: field("stage")}, Crew: field("crew"), Once: field("once"),
		Pass: field("pass"), By: byField{Name: p.by(r), Label: "Who presses"}, For: field("for"), Ago: field("ago"), At: field("at"),
	}
	press := planner.Press{Kind: planner.PressKind(field("kind")), Key: f.Key, Entered: c.now.UTC(), By: f.By.Name, For: f.For}
	a, known := actionOf(press.Kind)
	if !known || ofBoat(press.Kind) || f.Once == "" || f.Key.Boat == "" || f.Key.Area == "" || f.Key.Stage == "" {
		f.Fault = "The form was not complete, so nothing was kept. Press one of the buttons again."
		return f, press, false
	}
	press.Happened, f.When = whenOf(r, f, c)
	if f.By.Name == "" {
		f.By.Fault = "Write who presses: the record names a person."
	}
	tried := actionView{
		Kind: a.Kind, Name: a.Name, Ask: a.Ask, Must: a.Must, More: a.More, Open: true,
		Note: field("note_" + string(a.Kind)), Value: field("more_" + string(a.Kind)),
	}
	reason := field("reason_" + string(a.Kind))
	press.Note = strings.TrimPrefix(strings.TrimSuffix(reason+": "+tried.Note, ": "), ": ")
	if a.Must && press.Note == "" {
		tried.Fault = a.Ask + ": choose a reason or write it in a few words. The record needs it."
	}
	if fault := p.further(&press, tried, f.Pass, c); fault != "" {
		tried.Fault = fault
	}
	f.Buttons = []shiftButton{{actionView: tried, Reason: reason}}
	checked := f.answers(&press, field)
	press.Once = f.Once + "/" + string(press.Kind) + "/" + strconv.Itoa(press.Pass)
	return f, press, checked && f.When == "" && f.By.Fault == "" && tried.Fault == ""
}

// whenOf is when it happened: now, some minutes ago, or at a time.
func whenOf(r *http.Request, f shiftForm, c clock) (time.Time, string) {
	if f.Ago == "at" {
		return happened(f.At, c)
	}
	minutes, err := strconv.Atoi(cmp.Or(f.Ago, "0"))
	if err != nil || minutes < 0 || minutes > 24*60 {
		return time.Time{}, "Choose when it happened."
	}
	if at, ok := exactly(r, c); ok {
		if at.After(c.now) {
			return time.Time{}, "That is still to come: it is now " + c.moment(c.now) + ". This phone's clock may be wrong; give the time it happened."
		}
		return at, ""
	}
	return c.now.Add(-time.Duration(minutes) * time.Minute).UTC(), ""
}

// answers reads a go / no-go list, where the press is one that it comes with.
func (f *shiftForm) answers(press *planner.Press, field func(string) string) bool {
	if press.Kind != planner.Started && press.Kind != planner.Override && press.Kind != planner.Cant {
		return true
	}
	complete, any := true, false
	for i := 0; field("point_"+strconv.Itoa(i)) != "" && i < 100; i++ {
		n := strconv.Itoa(i)
		v := checkView{Name: n, Words: field("point_" + n), Answer: field("check_" + n), Why: field("why_" + n)}
		switch {
		case v.Answer != "go" && v.Answer != "no":
			v.Fault, complete = "Go or no-go?", false
		case v.Answer == "no" && v.Why == "":
			v.Fault, any = "Write what is not as it should be.", true
		default:
			any = true
		}
		f.Checks = append(f.Checks, v)
		press.Checks = append(press.Checks, planner.Point{Words: v.Words, Go: v.Answer == "go", Why: v.Why})
	}
	if press.Kind == planner.Cant && !any {
		// Who can't begin need not go through the list.
		press.Checks = nil
		for i := range f.Checks {
			f.Checks[i].Fault = ""
		}
		return true
	}
	for _, v := range f.Checks {
		complete = complete && v.Fault == ""
	}
	return complete
}

// firstFault is the one that a phone shows which sent this by itself.
func (f shiftForm) firstFault() string {
	faults := []string{f.Fault, f.When, f.By.Fault}
	for _, b := range f.Buttons {
		faults = append(faults, b.Fault)
	}
	for _, c := range f.Checks {
		if c.Fault != "" {
			faults = append(faults, c.Words+": "+c.Fault)
		}
	}
	return cmp.Or(faults...)
}

// byScript reports that a script sent the form, which shows the answer itself.
func byScript(r *http.Request) bool { return r.Header.Get("Accept") == "application/json" }

// scriptAnswer is the answer to a script.
type scriptAnswer struct {
	Said  string `json:"said,omitempty"`  // the code of what went well
	Fault string `json:"fault,omitempty"` // the sentence of what did not
}

func answerScript(w http.ResponseWriter, status int, a scriptAnswer) error {
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	if err := json.NewEncoder(w).Encode(a); err != nil {
		return errGone
	}
	return nil
}

// refuseShift shows a form again with what was wrong.
func (p *pages) refuseShift(w http.ResponseWriter, r *http.Request, tried shiftForms, status int, fault string) error {
	if byScript(r) {
		return answerScript(w, status, scriptAnswer{Fault: fault})
	}
	return p.showShift(w, r, tried, status)
}

func acceptShift(w http.ResponseWriter, r *http.Request, crew, said string) error {
	if byScript(r) {
		return answerScript(w, http.StatusOK, scriptAnswer{Said: said})
	}
	to := url.Values{"said": {said}}
	if crew != "" {
		to.Set("crew", crew)
	}
	http.Redirect(w, r, "/shift?"+to.Encode(), http.StatusSeeOther)
	return nil
}

// worker is the script that shows the last shift page without a line. At the top of the
// site, for a script rules over what lies below it.
func (p *pages) worker(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Cache-Control", "no-cache")
	http.ServeFileFS(w, r, statics, "static/offline.js")
	return nil
}
