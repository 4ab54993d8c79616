package pages

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"fairwindow/config"
	"fairwindow/daemon/door"
)

// accountView is what a person sees of himself, signed in.
type accountView struct {
	Name, Role string
	May        []string // in words, what his role lets him do
	Stays      []stayView
	Keys       []tokenView // his calendars' addresses
	Calendars  []string    // that he may have an address of: crew paint
	Key        string      // an address just made, this once
	Fault      string      // of the calendars
	Password   string      // what was wrong with a new one
}

type stayView struct {
	Device, Address, Begun, Seen string
	This                         bool
}

// account is what is known of who asks; nil where nobody signs in.
func (p *pages) account(r *http.Request) (*accountView, error) {
	is := p.who(r)
	if is.visitor.Name == "" {
		return nil, nil
	}
	c := p.clock(r)
	calendars, err := p.calendars(r.Context())
	if err != nil {
		return nil, err
	}
	a := &accountView{Name: is.visitor.Name, Role: string(is.visitor.Role), Calendars: calendars}
	for _, line := range whoMayWhat() {
		if is.visitor.Role.AtLeast(line.Role) {
			a.May = append(a.May, line.Words)
		}
	}
	stays, err := p.Door.Stays(r.Context(), is.visitor.Name, is.word)
	if err != nil {
		return nil, fmt.Errorf("where %s is signed in: %w", is.visitor.Name, err)
	}
	for _, s := range stays {
		a.Stays = append(a.Stays, stayView{capital(s.Device), s.Address, c.moment(s.Begun), c.moment(s.Seen), s.This})
	}
	keys, err := p.Door.Tokens(r.Context(), is.visitor.Name)
	if err != nil {
		return nil, fmt.Errorf("the calendars of %s: %w", is.visitor.Name, err)
	}
	for _, k := range keys {
		if k.Revoked.IsZero() {
			a.Keys = append(a.Keys, tokenLine(c, k))
		}
	}
	return a, nil
}

// calendars are those that the yard has, as an address names them.
func (p *pages) calendars(ctx context.Context) ([]string, error) {
	var all []string
	y := p.Plans.Yard()
	for _, c := range y.Crews {
		all = append(all, "crew "+c.Name)
	}
	for _, place := range y.Places {
		if place.Kind != config.Standing {
			all = append(all, "place "+place.Name)
		}
	}
	boats, err := p.Plans.Boats(ctx)
	if err != nil {
		return nil, fmt.Errorf("boats: %w", err)
	}
	for _, b := range boats {
		all = append(all, "boat "+b.Name)
	}
	return all, nil
}

// showAccount shows a person's page with what came of a form on it.
func (p *pages) showAccount(w http.ResponseWriter, r *http.Request, status int, with func(*accountView)) error {
	a, err := p.account(r)
	if err != nil {
		return err
	}
	if a == nil {
		return missing("Nobody signs in here, so there is nothing of that to change.")
	}
	with(a)
	return p.showYou(w, r, a, status)
}

// changePassword puts a new password in the place of a person's own. His other sessions end.
func (p *pages) changePassword(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	is := p.who(r)
	if is.visitor.Name == "" {
		return missing("Nobody signs in here, so there is nothing of that to change.")
	}
	fault := func(status int, sentence string) error {
		return p.showAccount(w, r, status, func(a *accountView) { a.Password = sentence })
	}
	if wait := p.limits.knock(is.visitor.Name, addressOf(r), p.Clock.Now()); wait > 0 {
		return fault(http.StatusTooManyRequests, "There were too many tries. Try again in "+seconds(wait)+".")
	}
	word, err := p.Door.ChangePassword(r.Context(), is.visitor.Name, r.PostForm.Get("old_password"), r.PostForm.Get("password"))
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("a new password: %w", err)
		}
		return fault(http.StatusUnprocessableEntity, sentence)
	}
	p.limits.opened(is.visitor.Name)
	keepSession(w, r, word)
	http.Redirect(w, r, "/you?said=password", http.StatusSeeOther)
	return nil
}

// makeKey makes a person the address of a calendar, with a key of its own; it is shown this once.
func (p *pages) makeKey(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	is, of := p.who(r), r.PostForm.Get("calendar")
	calendars, err := p.calendars(r.Context())
	if err != nil {
		return err
	}
	if !slices.Contains(calendars, of) {
		return p.showAccount(w, r, http.StatusUnprocessableEntity, func(a *accountView) { a.Fault = "Choose whose calendar it is to be." })
	}
	word, err := p.Door.MakeToken(r.Context(), door.Machine{Name: "calendar of " + of, Scopes: []door.Scope{door.Calendar}, Owner: is.visitor.Name})
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("a calendar's key: %w", err)
		}
		return p.showAccount(w, r, http.StatusUnprocessableEntity, func(a *accountView) { a.Fault = sentence })
	}
	kind, name, _ := strings.Cut(of, " ")
	return p.showAccount(w, r, http.StatusOK, func(a *accountView) {
		a.Key = baseOf(r) + calendarLink(kind, name) + "?" + url.Values{"key": {word}}.Encode()
	})
}

// revokeKey takes a calendar's key of the person's own back.
func (p *pages) revokeKey(w http.ResponseWriter, r *http.Request) error {
	name := p.who(r).visitor.Name
	if name == "" {
		return missing("Nobody signs in here, so calendars have no keys.")
	}
	return p.revoke(w, r, name, "/you?said=revoked")
}
