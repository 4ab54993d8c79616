package pages

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// slipLasts is how long the one who pressed may take it back himself, without a word of
// scheduler or manager.
const slipLasts = 10 * time.Minute

// correctView is one thing that was reported, and the forms that strike it through.
type correctView struct {
	Boat   link
	What   string
	When   string
	By     string
	Note   string
	Struck string
	Shut   string      // by whom its record was signed off: nothing of it is struck
	Record string      // where that is opened again
	Slip   *strikeForm // while it may still be a slip
	Strike *strikeForm
}

// strikeForm strikes a press or an entry through, as it was filled in.
type strikeForm struct {
	Link    string
	Press   int64
	Entry   int64
	Once    string
	By      byField
	Why     string
	Instead string // when it happened instead; empty: it did not
	Also    []alsoField
	Slip    bool
	Fault   string
	WhyOff  string
	When    string
}

// alsoField is a press that would be left standing alone.
type alsoField struct {
	ID   int64
	What string
}

func (p *pages) correct(w http.ResponseWriter, r *http.Request) error {
	boat, err := p.boatNamed(r)
	if err != nil {
		return err
	}
	id, _ := strconv.ParseInt(r.URL.Query().Get("press"), 10, 64)
	return p.showCorrect(w, r, boat, id, nil, http.StatusOK)
}

func (p *pages) showCorrect(w http.ResponseWriter, r *http.Request, boat config.Boat, id int64, tried *strikeForm, status int) error {
	presses, err := p.Plans.Presses(r.Context(), boat.Name)
	if err != nil {
		return fmt.Errorf("presses of %s: %w", boat.Name, err)
	}
	at := slices.IndexFunc(presses, func(q planner.Press) bool { return q.ID == id && q.Kind != planner.Struck })
	if at < 0 {
		return missing(fmt.Sprintf("Nothing that was reported of %s has the number %d.", boat.Name, id))
	}
	c, was := p.clock(r), presses[at]
	v := correctView{Boat: link{boat.Name, boatLink(boat.Name)}, What: pressWords(was), When: c.moment(was.Happened), By: was.By, Note: was.Note}
	for _, q := range presses {
		if q.Kind == planner.Struck && q.Strikes == id {
			v.Struck = c.struck(&record.Strike{By: q.By, At: q.Entered, Why: q.Note})
		}
	}
	is, err := p.Records.Record(r.Context(), boat.Name)
	if err != nil {
		return fmt.Errorf("record of %s: %w", boat.Name, err)
	}
	if s, locked := record.Locked(is.Signatures, was.Key); locked && tried == nil {
		v.Shut, v.Record = c.signedOff(s), recordLink(boat.Name)
	}
	if v.Struck == "" && v.Shut == "" {
		form := func(slip bool) *strikeForm {
			f := strikeForm{Press: id, Once: newOnce(), Slip: slip, Link: boatLink(boat.Name) + "/strike", By: byField{Name: rememberedName(r), Label: "Who"}}
			if slip {
				f.Link = boatLink(boat.Name) + "/slip"
			}
			if tried != nil && tried.Slip == slip {
				tried.Link, tried.By.Label = f.Link, f.By.Label
				for i := range tried.Also {
					if j := slices.IndexFunc(presses, func(q planner.Press) bool { return q.ID == tried.Also[i].ID }); j >= 0 {
						tried.Also[i].What = pressWords(presses[j]) + ", " + c.moment(presses[j].Happened)
					}
				}
				return tried
			}
			return &f
		}
		if c.now.Sub(was.Entered) <= slipLasts || tried != nil && tried.Slip {
			v.Slip = form(true)
		}
		v.Strike = form(false)
	}
	return show(p, w, r, screen[correctView]{"correct", "Correct", status, v})
}

// pressWords names what was reported.
func pressWords(q planner.Press) string {
	a, _ := actionOf(q.Kind)
	words := a.Name
	if q.Pass > 0 && q.Kind == planner.PassDone {
		words = fmt.Sprintf("Pass %d done", q.Pass)
	}
	if q.Key.Stage != "" {
		return q.Key.Stage + " on " + q.Key.Area + ": " + words
	}
	return words
}

func (p *pages) takeSlip(w http.ResponseWriter, r *http.Request) error {
	return p.takeCorrection(w, r, true)
}
func (p *pages) takeStrike(w http.ResponseWriter, r *http.Request) error {
	return p.takeCorrection(w, r, false)
}

// takeCorrection strikes a press or an entry through.
func (p *pages) takeCorrection(w http.ResponseWriter, r *http.Request, slip bool) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	boat, err := p.boatNamed(r)
	if err != nil {
		return err
	}
	f, ok := p.readStrike(r, slip)
	again := func(status int) error {
		if f.Entry != 0 {
			return p.showCoats(w, r, boat, coatsTried{strike: &f}, status)
		}
		return p.showCorrect(w, r, boat, f.Press, &f, status)
	}
	if !ok {
		return again(http.StatusUnprocessableEntity)
	}
	if f.Entry != 0 {
		err = p.Records.Enter(r.Context(), record.Entry{Key: planner.Key{Boat: boat.Name}, By: f.By.Name, Once: f.Once, Note: f.Why, Strikes: f.Entry}, slip)
	} else {
		err = p.strikePress(r, boat, f)
	}
	if err != nil {
		why, public := refused(err)
		if !public {
			return fmt.Errorf("correction on %s: %w", boat.Name, err)
		}
		f.Fault = why
		var along interface{ WithIt() []int64 }
		if errors.As(err, &along) {
			for _, id := range along.WithIt() {
				f.Also = append(f.Also, alsoField{ID: id})
			}
		}
		return again(http.StatusConflict)
	}
	rememberName(w, f.By.Name)
	to := boatLink(boat.Name)
	if f.Entry != 0 {
		to = recordLink(boat.Name)
	}
	http.Redirect(w, r, to+"?"+url.Values{"said": {"struck"}}.Encode(), http.StatusSeeOther)
	return nil
}

// strikePress strikes a press, those that go along, and takes one instead.
func (p *pages) strikePress(r *http.Request, boat config.Boat, f strikeForm) error {
	ids := []int64{f.Press}
	for _, a := range f.Also {
		ids = append(ids, a.ID)
	}
	var instead []planner.Press
	if f.Instead != "" {
		presses, err := p.Plans.Presses(r.Context(), boat.Name)
		if err != nil {
			return fmt.Errorf("presses of %s: %w", boat.Name, err)
		}
		at := slices.IndexFunc(presses, func(q planner.Press) bool { return q.ID == f.Press })
		if at < 0 {
			return missing("That was never reported.")
		}
		again := presses[at]
		again.ID, again.Terms, again.Once, again.By = 0, "", "", ""
		again.Happened, _ = happened(f.Instead, p.clock(r))
		instead = append(instead, again)
	}
	return p.Records.Correct(r.Context(), boat.Name, ids, instead, planner.Press{By: f.By.Name, Note: f.Why, Once: f.Once}, f.Slip)
}

func (p *pages) readStrike(r *http.Request, slip bool) (strikeForm, bool) {
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	f := strikeForm{Once: field("once"), By: byField{Name: p.by(r)}, Why: field("why"), Instead: field("instead"), Slip: slip}
	f.Press, _ = strconv.ParseInt(field("press"), 10, 64)
	f.Entry, _ = strconv.ParseInt(field("entry"), 10, 64)
	for _, text := range r.PostForm["also"] {
		if id, err := strconv.ParseInt(text, 10, 64); err == nil {
			f.Also = append(f.Also, alsoField{ID: id})
		}
	}
	if f.Once == "" || f.Press == 0 && f.Entry == 0 {
		f.Fault = "The form was not complete, so nothing was struck. Send it again."
	}
	if f.By.Name == "" {
		f.By.Fault = "Write who strikes it: the record names a person."
	}
	if f.Why == "" && !slip {
		f.WhyOff = "Write why, in a few words: the record keeps it beside what is struck."
	}
	if f.Instead != "" {
		_, f.When = happened(f.Instead, p.clock(r))
	}
	return f, f.Fault == "" && f.By.Fault == "" && f.WhyOff == "" && f.When == ""
}
