package pages

import (
	"fmt"
	"net/http"
	"time"

	"fairwindow/config"
)

// peopleView is who may come in, and the word of an invitation just made.
type peopleView struct {
	Open    bool // nobody signs in here yet
	People  []guestView
	Invited string // whom the word is for
	Link    string
	Until   string
	Fault   string
	Roles   []roleWords
}

type guestView struct {
	Name  string
	Role  config.Role
	Knows bool
	State string
}

// roleWords is one line of who may do what.
type roleWords struct {
	Role  config.Role
	Words string
}

// whoMayWhat is the table of roles in words; routes.go is what holds.
func whoMayWhat() []roleWords {
	return []roleWords{
		{config.Viewer, "reads the plan, the places, the boats with their records, the notices"},
		{config.Painter, "also reports the work, takes readings, enters batches and films, keeps the daily log, calls notices heard"},
		{config.Scheduler, "also changes the plan and releases it to the crews, writes boats and systems, decides a no-go, reads what was put off and tries What if"},
		{config.Manager, "also signs records off, invites people, makes tokens, reads who changed what"},
	}
}

func (p *pages) people(w http.ResponseWriter, r *http.Request) error {
	return p.showPeople(w, r, peopleView{}, http.StatusOK)
}

func (p *pages) showPeople(w http.ResponseWriter, r *http.Request, v peopleView, status int) error {
	c := p.clock(r)
	v.Open, v.Roles = p.who(r).open, whoMayWhat()
	guests, err := p.Door.Guests(r.Context())
	if err != nil {
		return fmt.Errorf("people: %w", err)
	}
	for _, g := range guests {
		one := guestView{Name: g.Name, Role: g.Role, Knows: g.Knows, State: "has no password yet"}
		switch {
		case g.Stays > 0:
			one.State = "signed in on " + howMany(g.Stays, "device", "devices") + ", last seen " + c.moment(g.Seen)
		case g.Knows:
			one.State = "signed out"
		}
		if !g.Invited.IsZero() {
			one.State += "; invited until " + c.moment(g.Invited)
		}
		v.People = append(v.People, one)
	}
	return show(p, w, r, screen[peopleView]{"people", "People", status, v})
}

// invite makes an invitation; it is shown this once.
func (p *pages) invite(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	name := r.PostForm.Get("person")
	word, until, err := p.Door.Invite(r.Context(), name)
	if err != nil {
		return p.peopleFault(w, r, err)
	}
	return p.showPeople(w, r, peopleView{Invited: name, Link: welcomeLink(r, word), Until: p.clock(r).moment(until)}, http.StatusOK)
}

// shutOut takes from a person what lets him in.
func (p *pages) shutOut(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	if err := p.Door.ShutOut(r.Context(), r.PostForm.Get("person")); err != nil {
		return p.peopleFault(w, r, err)
	}
	http.Redirect(w, r, "/people?said=shutout", http.StatusSeeOther)
	return nil
}

func (p *pages) peopleFault(w http.ResponseWriter, r *http.Request, err error) error {
	sentence, public := refused(err)
	if !public {
		return fmt.Errorf("people: %w", err)
	}
	return p.showPeople(w, r, peopleView{Fault: sentence}, http.StatusConflict)
}

// seen words when something was last used.
func seen(c clock, t time.Time) string {
	if t.IsZero() {
		return "never"
	}
	return c.moment(t)
}
