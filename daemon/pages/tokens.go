package pages

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"fairwindow/daemon/door"
)

// tokensView is what lets machines in, and the word of a token just made.
type tokensView struct {
	Tokens []tokenView
	Scopes []scopeView
	Name   string
	Made   string // the word, this once
	Boards []link // the addresses that it makes for screens
	Fault  string
}

type tokenView struct {
	ID              int64
	Name, Opens     string
	Made, Used, End string // End: when it was revoked; empty: it holds
}

type scopeView struct {
	Scope  door.Scope
	Words  string
	Chosen bool
}

// scopeWords says what each scope opens.
func scopeWords() []scopeView {
	return []scopeView{
		{Scope: door.Readings, Words: "hand readings in"},
		{Scope: door.Boats, Words: "read boats and take them in"},
		{Scope: door.Plan, Words: "read the plan and the draft"},
		{Scope: door.Metrics, Words: "read the daemon's own figures"},
		{Scope: door.Calendar, Words: "read calendars, with the word as ?key= in the address"},
		{Scope: door.Board, Words: "show a board on a wall, with the word as ?key= in the address"},
	}
}

func (p *pages) tokens(w http.ResponseWriter, r *http.Request) error {
	return p.showTokens(w, r, tokensView{}, r.URL.Query()["scope"], http.StatusOK)
}

func (p *pages) showTokens(w http.ResponseWriter, r *http.Request, v tokensView, chosen []string, status int) error {
	v.Scopes = scopeWords()
	for i := range v.Scopes {
		for _, one := range chosen {
			v.Scopes[i].Chosen = v.Scopes[i].Chosen || string(v.Scopes[i].Scope) == one
		}
	}
	all, err := p.Door.Tokens(r.Context(), "")
	if err != nil {
		return fmt.Errorf("tokens: %w", err)
	}
	c := p.clock(r)
	for _, t := range all {
		v.Tokens = append(v.Tokens, tokenLine(c, t))
	}
	return show(p, w, r, screen[tokensView]{"tokens", "Tokens", status, v})
}

func tokenLine(c clock, t door.Token) tokenView {
	var opens []string
	for _, s := range t.Machine.Scopes {
		opens = append(opens, string(s))
	}
	one := tokenView{ID: t.ID, Name: t.Machine.Name, Opens: strings.Join(opens, ", "), Made: c.moment(t.Made), Used: seen(c, t.Used)}
	if t.By != "" {
		one.Made += " by " + t.By
	}
	if t.Machine.Owner != "" {
		one.Name += " (" + t.Machine.Owner + ")"
	}
	if !t.Revoked.IsZero() {
		one.End = c.moment(t.Revoked)
	}
	return one
}

// makeToken makes a token; its word is shown this once.
func (p *pages) makeToken(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	m := door.Machine{Name: r.PostForm.Get("name")}
	chosen := r.PostForm["scope"]
	for _, s := range chosen {
		m.Scopes = append(m.Scopes, door.Scope(s))
	}
	word, err := p.Door.MakeToken(r.Context(), m)
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("a token: %w", err)
		}
		return p.showTokens(w, r, tokensView{Name: m.Name, Fault: sentence}, chosen, http.StatusUnprocessableEntity)
	}
	made := tokensView{Made: word}
	if slices.Contains(m.Scopes, door.Board) {
		for _, place := range p.Plans.Yard().Places {
			made.Boards = append(made.Boards, link{place.Name, baseOf(r) + boardLink(place.Name) + "?" + url.Values{"key": {word}}.Encode()})
		}
	}
	return p.showTokens(w, r, made, nil, http.StatusOK)
}

// revokeToken ends one at once.
func (p *pages) revokeToken(w http.ResponseWriter, r *http.Request) error {
	return p.revoke(w, r, "", "/tokens?said=revoked")
}

func (p *pages) revoke(w http.ResponseWriter, r *http.Request, owner, to string) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	id, err := strconv.ParseInt(r.PostForm.Get("id"), 10, 64)
	if err != nil {
		return missing("The form did not say which token. Look at the list again.")
	}
	if err := p.Door.RevokeToken(r.Context(), id, owner); err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("revoke a token: %w", err)
		}
		return missing(sentence)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// secretWord is a secret as the command line is given it, once.
type secretWord struct {
	Word  string `json:"word,omitempty"`
	Until string `json:"until,omitempty"`
	Error string `json:"error,omitempty"`
}

// inviteByCommand and tokenByCommand are what the command line asks for with the state folder's key.
func (p *pages) inviteByCommand(w http.ResponseWriter, r *http.Request) error {
	word, until, err := p.Door.Invite(r.Context(), r.FormValue("person"))
	return p.answerCommand(w, secretWord{Word: word, Until: p.clock(r).moment(until)}, err)
}

func (p *pages) tokenByCommand(w http.ResponseWriter, r *http.Request) error {
	m := door.Machine{Name: r.FormValue("name")}
	for _, s := range r.Form["scope"] {
		m.Scopes = append(m.Scopes, door.Scope(s))
	}
	word, err := p.Door.MakeToken(r.Context(), m)
	return p.answerCommand(w, secretWord{Word: word}, err)
}

func (p *pages) answerCommand(w http.ResponseWriter, is secretWord, err error) error {
	status := http.StatusOK
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("the command line's: %w", err)
		}
		is, status = secretWord{Error: sentence}, http.StatusConflict
	}
	w.Header().Set("Content-Type", "application/json")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(is) // the command may be gone
	return nil
}
