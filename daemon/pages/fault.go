package pages

import (
	"context"
	"errors"
	"net/http"
	"strings"
)

// handler answers one request; what it returns is told to the person and, unless it is a missing, logged.
type handler func(w http.ResponseWriter, r *http.Request) error

// missing is the sentence for something that is not there.
type missing string

func (m missing) Error() string { return string(m) }

// refusal is an error of the desk that has a sentence for the person.
type refusal interface {
	error
	Public() string
}

// refused is a desk's error as a full sentence, and whether it has one.
func refused(err error) (string, bool) {
	var r refusal
	if errors.As(err, &r) {
		return fullStop(r.Public()), true
	}
	return "", false
}

// fullStop makes a full sentence of a cause; empty of none.
func fullStop(text string) string {
	text = capital(strings.TrimSpace(text))
	if text != "" && !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

// formLimit bounds a form; the largest has a few notes in it.
const formLimit = 64 << 10

// page runs a handler: the person gets a sentence with a way out, the log gets the cause, once.
func (p *pages) page(h handler) http.Handler { return p.sized(formLimit, h) }

// sized is page for forms of another size.
func (p *pages) sized(limit int64, h handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		if r.Method == http.MethodPost {
			// A form that came in whole is kept, though the sender be gone or the daemon be ending.
			r = r.WithContext(context.WithoutCancel(r.Context()))
			defer p.pulse.forget()
			if err := r.ParseForm(); err != nil {
				_ = p.badForm(w, r, err)
				return
			}
			r = nameTyped(r)
		} else {
			r = p.standing(r)
		}
		err := h(w, r)
		if err == nil || errors.Is(err, errGone) || r.Context().Err() != nil {
			return
		}
		var gone missing
		if errors.As(err, &gone) {
			p.fault(w, r, http.StatusNotFound, gone.Error())
			return
		}
		p.Log.WithError(err).WithField("path", r.URL.Path).Error("pages: a page could not be made")
		p.fault(w, r, http.StatusInternalServerError,
			"Something went wrong here and is in the log. Nothing that was typed just now was kept. Try again; until then, measure by hand and go by the card.")
	})
}

type faultView struct {
	Sentence string
	Other    bool // somebody else may be let in where he is not
}

func (p *pages) fault(w http.ResponseWriter, r *http.Request, status int, sentence string) {
	s := screen[faultView]{view: "fault", title: http.StatusText(status), status: status, body: faultView{sentence, status == http.StatusForbidden && p.who(r).visitor.Name != ""}}
	if err := show(p, w, r, s); err != nil && !errors.Is(err, errGone) {
		http.Error(w, sentence, status)
	}
}

// nowhere answers what no route does. An address that is there for another method says so
// (RFC 9110 section 15.5.6): a machine must not think that it has the address wrong.
func (p *pages) nowhere(w http.ResponseWriter, r *http.Request) error {
	var takes []string
	for _, method := range []string{http.MethodGet, http.MethodHead, http.MethodPost} {
		if _, pattern := p.mux.Handler(&http.Request{Method: method, URL: r.URL, Host: r.Host}); pattern != "/" {
			takes = append(takes, method)
		}
	}
	if len(takes) == 0 {
		return missing("There is no such page here. The week shows every place and boat.")
	}
	allow := strings.Join(takes, ", ")
	w.Header().Set("Allow", allow)
	switch {
	case strings.HasPrefix(r.URL.Path, "/v1/"):
		http.Error(w, "Nothing was done: this address takes "+allow+", not "+r.Method+".", http.StatusMethodNotAllowed)
	case takes[0] == http.MethodPost:
		p.fault(w, r, http.StatusMethodNotAllowed, "There is nothing to look at here: this address only takes a form. Nothing was changed. The week shows every place and boat.")
	default:
		p.fault(w, r, http.StatusMethodNotAllowed, "This page takes no form, so nothing was kept.")
	}
	return nil
}
