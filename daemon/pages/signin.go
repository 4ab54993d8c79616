package pages

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"fairwindow/config"
)

// signInView is the way in, with what a person was about to send kept beside it.
type signInView struct {
	Name  string
	To    string // where he was
	Kept  string // the form that he was sending, as an address writes one; empty: none
	Typed []typedField
	Lost  string // what could not be kept
	Fault string
}

// backTo is the path of these pages that a person is led back to; the week if it is none of them.
func backTo(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.IsAbs() || u.Host != "" || u.User != nil || u.Opaque != "" || u.Fragment != "" ||
		!strings.HasPrefix(to, "/") || strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") {
		return "/"
	}
	for _, door := range []string{"/signin", "/signout", "/welcome", "/events"} {
		if u.Path == door {
			return "/"
		}
	}
	return to
}

// landing is where somebody begins who was on his way to nothing but the pages: a painter at
// his work, others at the week.
func landing(to string, role config.Role) string {
	if to == "/" && role == config.Painter {
		return "/shift"
	}
	return to
}

func (p *pages) showSignIn(w http.ResponseWriter, r *http.Request, v signInView, status int) error {
	v.To = backTo(v.To)
	if form, err := url.ParseQuery(v.Kept); err == nil && v.Kept != "" {
		v.Typed = append(about(form), visible(form)...)
	}
	return show(p, w, r, screen[signInView]{"signin", "Sign in", status, v})
}

func (p *pages) signIn(w http.ResponseWriter, r *http.Request) error {
	to := backTo(r.URL.Query().Get("to"))
	if is := p.who(r); is.open || is.visitor.Name != "" {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	return p.showSignIn(w, r, signInView{To: to, Name: rememberedName(r)}, http.StatusOK)
}

// askAgain is the way in for somebody whose session ended while he filled in a form: what he
// typed stands beside it and is given back once he is in.
func (p *pages) askAgain(w http.ResponseWriter, r *http.Request) {
	v := signInView{To: r.URL.RequestURI(), Name: rememberedName(r)}
	v.Kept, v.Lost = kept(w, r)
	// RFC 9110, 15.5.2: a 401 says how to prove who one is. Browsers know no word for a form.
	w.Header().Set("WWW-Authenticate", `Form realm="fairwindow"`)
	if err := p.showSignIn(w, r, v, http.StatusUnauthorized); err != nil {
		p.Log.WithError(err).Error("pages: the way in cannot be shown")
		http.Error(w, "You are no longer signed in, and nothing was kept. Go back, copy what you typed, and sign in.", http.StatusInternalServerError)
	}
}

// takeSignIn lets a person in who knows his password.
func (p *pages) takeSignIn(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	f := r.PostForm
	v := signInView{Name: strings.TrimSpace(f.Get("name")), To: f.Get("to"), Kept: f.Get("kept")}
	if p.who(r).open {
		http.Redirect(w, r, backTo(v.To), http.StatusSeeOther)
		return nil
	}
	if v.Name == "" || f.Get("password") == "" {
		v.Fault = "Write your name, as the yard file has it, and your password."
		return p.showSignIn(w, r, v, http.StatusUnprocessableEntity)
	}
	if wait := p.limits.knock(v.Name, addressOf(r), p.Clock.Now()); wait > 0 {
		w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
		v.Fault = "There were too many tries. Try again in " + seconds(wait) + "; nobody is shut out for good."
		return p.showSignIn(w, r, v, http.StatusTooManyRequests)
	}
	word, err := p.Door.SignIn(r.Context(), v.Name, f.Get("password"))
	if err != nil {
		sentence, public := refused(err)
		if !public {
			return fmt.Errorf("sign in: %w", err)
		}
		v.Fault = sentence
		return p.showSignIn(w, r, v, http.StatusUnprocessableEntity)
	}
	p.limits.opened(v.Name)
	return p.goIn(w, r, word, v)
}

// goIn gives a browser its session and leads on: to where the person was or, with a form in
// hand, to the form, which he sends himself.
func (p *pages) goIn(w http.ResponseWriter, r *http.Request, word string, v signInView) error {
	if old := sessionOf(r); old != "" {
		if err := p.Door.SignOut(r.Context(), old, false); err != nil {
			p.Log.WithError(err).Warn("pages: a session that was left could not be ended; it ends by itself")
		}
	}
	keepSession(w, r, word)
	visitor, known, err := p.Door.Visitor(r.Context(), word)
	if err != nil || !known {
		return fmt.Errorf("sign in: the new session is not known: %w", err)
	}
	rememberName(w, visitor.Name)
	if v.Kept == "" {
		http.Redirect(w, r, landing(backTo(v.To), visitor.Role), http.StatusSeeOther)
		return nil
	}
	r = letIn(r, who{visitor: visitor, word: word})
	return p.showKept(w, r, backTo(v.To), v.Kept, "You are signed in again. Here is what you typed; nothing was sent yet.", http.StatusOK)
}

// signOut ends the session, or every one of the person's.
func (p *pages) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return p.badForm(w, r, err)
	}
	if word := sessionOf(r); word != "" && p.Door != nil {
		if err := p.Door.SignOut(r.Context(), word, r.PostForm.Get("where") == "everywhere"); err != nil {
			return fmt.Errorf("sign out: %w", err)
		}
	}
	keepSession(w, r, "")
	http.Redirect(w, r, "/signin?said=out", http.StatusSeeOther)
	return nil
}

// saidAtTheDoor is the word after a form of the door went well.
func saidAtTheDoor(code string) string {
	switch code {
	case "out":
		return "You are signed out."
	case "welcome":
		return "Welcome. Your password is set and you are signed in."
	case "password":
		return "Your password is changed. Everywhere else you are signed out."
	case "shutout":
		return "Shut out. A new invitation lets that person in again."
	case "revoked":
		return "Revoked. It opens nothing any more."
	}
	return ""
}
