package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// signForm signs a record off, the whole or one coat, or opens it again.
type signForm struct {
	Link   string
	Key    planner.Key
	Of     string
	Act    record.Act // that comes next
	Once   string
	Digest string
	By     byField
	Role   string
	Remark string
	Open   bool
	Shut   string // by whom and when, if it is signed off
	Fault  string
	Faults struct{ Role, Remark string }
}

// signFormOf is the form for a record, or for a coat in it.
func (p *pages) signFormOf(r *http.Request, is record.Record, key planner.Key, tried coatsTried) (signForm, error) {
	f := signForm{Link: boatLink(key.Boat) + "/sign", Key: key, Of: "the whole record", Act: record.Signed, Once: newOnce(), By: byField{Name: rememberedName(r), Label: "Name"}, Role: "manager"}
	if key.Stage != "" {
		f.Of = key.Stage + " on " + key.Area
	}
	if s, locked := record.Locked(is.Signatures, key); locked {
		f.Shut = p.clock(r).signedOff(s)
		f.Act = record.Reopened
		if s.Key != key {
			f.Act = "" // with the whole
		}
	}
	if t := tried.sign; t != nil && t.Key == key {
		t.Link, t.Of, t.Act, t.Shut, t.By.Label, t.Open = f.Link, f.Of, f.Act, f.Shut, f.By.Label, true
		f = *t
	}
	var err error
	f.Digest, err = is.Of(key).Digest()
	return f, err
}

func (c clock) signedOff(s record.Signature) string {
	return "Signed off by " + s.By + ", " + s.Role + ", " + c.moment(s.At) + "."
}

// sign takes a signature under a record.
func (p *pages) sign(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	boat, err := p.boatNamed(r)
	if err != nil {
		return err
	}
	field := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	g := record.Signature{
		Key: planner.Key{Boat: boat.Name, Area: field("area"), Stage: field("stage")}, Act: record.Act(field("act")), By: p.by(r), Role: field("role"),
		Remark: field("remark"), Digest: field("digest"), Once: field("once"),
	}
	f := signForm{Key: g.Key, Once: g.Once, By: byField{Name: g.By}, Role: g.Role, Remark: g.Remark}
	switch {
	case g.Once == "" || (g.Act != record.Signed && g.Act != record.Reopened):
		f.Fault = "The form was not complete, so nothing was signed. Send it again."
	case g.By == "":
		f.By.Fault = "Write who signs: a signature is a name."
	case g.Role == "":
		f.Faults.Role = "Write what you are here, such as manager."
	case g.Act == record.Reopened && g.Remark == "":
		f.Faults.Remark = "Write why it is opened again."
	}
	if f.Fault+f.By.Fault+f.Faults.Role+f.Faults.Remark != "" {
		return p.showCoats(w, r, boat, coatsTried{sign: &f}, http.StatusUnprocessableEntity)
	}
	if err := p.Records.Sign(r.Context(), g); err != nil {
		why, public := refused(err)
		if !public {
			return fmt.Errorf("sign %s: %w", g.Key, err)
		}
		f.Fault = why
		return p.showCoats(w, r, boat, coatsTried{sign: &f}, http.StatusConflict)
	}
	rememberName(w, g.By)
	http.Redirect(w, r, recordLink(boat.Name)+"?"+url.Values{"said": {string(g.Act)}}.Encode(), http.StatusSeeOther)
	return nil
}
