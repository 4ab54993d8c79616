package pages

import (
	"fmt"
	"net/http"
	"net/url"
)

// welcomeView is an invitation being opened: its person sets his password.
type welcomeView struct {
	Name  string // empty: the invitation holds no more
	Word  string
	Fault string
}

func (p *pages) welcome(w http.ResponseWriter, r *http.Request) error {
	return p.showWelcome(w, r, r.URL.Query().Get("word"), "", http.StatusOK)
}

func (p *pages) showWelcome(w http.ResponseWriter, r *http.Request, word, fault string, status int) error {
	if p.who(r).open {
		return missing("Nobody signs in here, so there is nothing to set.")
	}
	name, holds, err := p.Door.Invited(r.Context(), word)
	if err != nil {
		return fmt.Errorf("an invitation: %w", err)
	}
	v := welcomeView{Word: word, Fault: fault}
	if holds {
		v.Name = name
	} else if status == http.StatusOK {
		status = http.StatusGone
	}
	return show(p, w, r, screen[welcomeView]{"welcome", "Welcome", status, v})
}

// takeWelcome sets the password of an invitation's person and signs him in.
func (p *pages) takeWelcome(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	if p.who(r).open {
		return missing("Nobody signs in here, so there is nothing to set.")
	}
	f := r.PostForm
	if wait := p.limits.address.Wait(addressOf(r), p.Clock.Now()); wait > 0 {
		return p.showWelcome(w, r, f.Get("word"), "There were too many tries. Try again in "+seconds(wait)+".", http.StatusTooManyRequests)
	}
	word, err := p.Door.Accept(r.Context(), f.Get("word"), f.Get("password"))
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("an invitation: %w", err)
		}
		return p.showWelcome(w, r, f.Get("word"), sentence, http.StatusUnprocessableEntity)
	}
	return p.goIn(w, r, word, signInView{To: "/you?said=welcome"})
}

// welcomeLink is the whole address of an invitation, as the person who asks reaches these pages.
func welcomeLink(r *http.Request, word string) string {
	return baseOf(r) + "/welcome?" + url.Values{"word": {word}}.Encode()
}

// baseOf is these pages' address as the browser that asks knows it.
func baseOf(r *http.Request) string {
	scheme := "http"
	if overTLS(r) {
		scheme = "https"
	}
	return (&url.URL{Scheme: scheme, Host: r.Host}).String()
}
