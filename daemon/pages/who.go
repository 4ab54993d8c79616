package pages

import (
	"context"
	"net"
	"net/http"
	"strings"

	"fairwindow/config"
	"fairwindow/daemon/door"
	"fairwindow/daemon/signed"
)

// who makes a request. The zero who is a stranger.
type who struct {
	open    bool // nobody signs in here: everybody may everything, and types his name
	visitor door.Visitor
	word    string // of his session
	machine *door.Machine
}

type whoKey struct{}

// who is whose request it is, as the door found it.
func (p *pages) who(r *http.Request) who {
	is, found := r.Context().Value(whoKey{}).(who)
	if !found {
		return who{open: p.Door == nil}
	}
	return is
}

// identify finds out whose request it is.
func (p *pages) identify(r *http.Request) (who, error) {
	if p.Door == nil {
		return who{open: true}, nil
	}
	ctx := r.Context()
	if word := wordOf(r); word != "" {
		m, known, err := p.Door.Machine(ctx, word)
		if err != nil || known {
			return who{machine: &m}, err
		}
		// A word that opens nothing is no reason to be let in as somebody else; where nobody signs
		// in it is as if it had not been shown.
		return who{open: !p.Plans.Yard().SignsIn()}, nil
	}
	if !p.Plans.Yard().SignsIn() {
		return who{open: true}, nil
	}
	word := sessionOf(r)
	if word == "" {
		return who{}, nil
	}
	v, signedIn, err := p.Door.Visitor(ctx, word)
	if err != nil || !signedIn {
		return who{}, err
	}
	return who{visitor: v, word: word}, nil
}

// wordOf is the word that a machine shows: in a header or, a calendar or a screen on the wall
// that knows no header, in its address.
func wordOf(r *http.Request) string {
	if word, is := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer "); is {
		return strings.TrimSpace(word)
	}
	if path := r.URL.Path; strings.HasPrefix(path, "/calendar/") || strings.HasPrefix(path, "/board/") || path == "/events" {
		return r.URL.Query().Get("key")
	}
	return ""
}

// role is the set of templates a person is shown; open is everybody's where nobody signs in.
func (is who) role() config.Role {
	switch {
	case is.open:
		return openRole
	case is.visitor.Name != "":
		return is.visitor.Role
	}
	return strangerRole
}

// Roles of no yard file.
const (
	openRole     config.Role = "open"
	strangerRole config.Role = "stranger"
)

// by is the name put to a form: who is signed in, else what was typed.
func (p *pages) by(r *http.Request) string {
	if is := p.who(r); !is.open {
		return is.visitor.Name
	}
	return strings.TrimSpace(r.PostForm.Get("by"))
}

// letIn puts into a request's context who makes it and whose hand its changes bear.
func letIn(r *http.Request, is who) *http.Request {
	ctx := context.WithValue(r.Context(), whoKey{}, is)
	h := signed.Hand{Address: addressOf(r), Device: deviceOf(r.UserAgent()), Through: r.URL.Path}
	switch {
	case is.machine != nil && is.machine.Opens(door.Doors):
		h.By, h.Role = r.URL.Query().Get("by"), signed.Command // who sits there says his name, or none
		if h.By == "" {
			h.By = is.machine.Name
		}
	case is.machine != nil:
		h.By, h.Role = is.machine.Name, signed.Machine
	case is.open:
		h.Role = signed.Typed
	default:
		h.By, h.Role = is.visitor.Name, string(is.visitor.Role)
	}
	return r.WithContext(signed.With(ctx, h))
}

// nameTyped puts the name typed into a form to its hand, where nobody signs in.
func nameTyped(r *http.Request) *http.Request {
	h, ok := signed.Of(r.Context())
	if !ok || h.Role != signed.Typed {
		return r
	}
	h.By = strings.TrimSpace(r.PostForm.Get("by"))
	return r.WithContext(signed.With(r.Context(), h))
}

// addressOf is where a request comes from. A server before the pages, on this machine, says
// for whom it asks; from elsewhere the header is anybody's word.
func addressOf(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	ip := net.ParseIP(host)
	if ip == nil || !ip.IsLoopback() {
		return host
	}
	all := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	if last := net.ParseIP(strings.TrimSpace(all[len(all)-1])); last != nil {
		return last.String()
	}
	return host
}

// deviceOf is what a person would call what he holds.
func deviceOf(agent string) string {
	has := func(words ...string) bool {
		for _, w := range words {
			if strings.Contains(agent, w) {
				return true
			}
		}
		return false
	}
	switch {
	case has("Tablet", "iPad"), has("Android") && !has("Mobile"):
		return "tablet"
	case has("Mobile", "Android"):
		return "phone"
	case has("Mozilla/"):
		return "computer"
	}
	return "program"
}
