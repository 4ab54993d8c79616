package pages

import (
	"fmt"
	"math"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/door"
)

// machines is what a token of a scope may, and nobody else.
func machines(s door.Scope) may { return may("machines: ") + may(s) }

// scope is the one that a token needs; false: no token opens this.
func (m may) scope() (door.Scope, bool) {
	switch m {
	case readsByKey:
		return door.Calendar, true
	case onScreens:
		return door.Board, true
	}
	s, is := strings.CutPrefix(string(m), "machines: ")
	return door.Scope(s), is
}

// least is the role that a person needs; false: no person opens this.
func (m may) least() (config.Role, bool) {
	switch m {
	case reads, readsByKey, onScreens:
		return config.Viewer, true
	case works:
		return config.Painter, true
	case schedules:
		return config.Scheduler, true
	case manages:
		return config.Manager, true
	}
	return "", false
}

// lets reports whether somebody may what a route needs.
func (m may) lets(is who) bool {
	scope, token := m.scope()
	least, person := m.least()
	switch {
	case m == anyone:
		return true
	case is.machine != nil:
		return token && is.machine.Opens(scope)
	case is.open:
		return scope != door.Doors // the rest is open where nobody signs in; readings look at their token themselves
	}
	return person && is.visitor.Role.AtLeast(least)
}

// bodyWithin is how long what is posted may take to come: a slow sender, who need not have come
// in, must not hold a line for ever. A line at the far end of a yard takes 64 kB in seconds.
const bodyWithin = time.Minute

// admit is a route's answer behind the door.
func (p *pages) admit(one route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPost {
			// Not every writer can, such as one of a test.
			_ = http.NewResponseController(w).SetReadDeadline(time.Now().Add(bodyWithin))
		}
		is, err := p.identify(r)
		if err != nil {
			p.Log.WithError(err).WithField("path", r.URL.Path).Error("pages: the door cannot look")
			http.Error(w, "It cannot be found out just now who may come in; the log says why. Nothing was kept. Try again.", http.StatusServiceUnavailable)
			return
		}
		r = letIn(r, is)
		switch wait := p.hurried(r, is); {
		case p.Door != nil && is.open && r.Method == http.MethodPost && config.Exposed(withPort(r.Host)):
			p.fault(w, r, http.StatusForbidden, "Nobody signs in here, so forms are taken at this machine's own address only, such as 127.0.0.1. Nothing was kept. Give people roles in the yard file to reach it from elsewhere.")
		case !one.may.lets(is):
			p.refuse(w, r, one, is)
		case wait > 0:
			p.later(w, r, wait)
		default:
			one.answer.ServeHTTP(w, r)
		}
	})
}

// refuse answers who may not, so that he loses nothing and knows the way.
func (p *pages) refuse(w http.ResponseWriter, r *http.Request, one route, is who) {
	_, person := one.may.least()
	_, token := one.may.scope()
	switch {
	case is.machine != nil:
		http.Error(w, "This token does not open that. A manager makes another, on the page Tokens.", http.StatusForbidden)
	case is.visitor.Name != "" && person:
		least, _ := one.may.least()
		p.fault(w, r, http.StatusForbidden, fmt.Sprintf(
			"You are signed in as %s, %s; this takes a %s. Nothing was changed. Ask a manager, or sign in as somebody else.", is.visitor.Name, is.visitor.Role, least))
	case one.may == onScreens && r.URL.Query().Has("key"):
		http.Error(w, "The key in this screen's address is not one, or was revoked. A manager makes another on the page Tokens.", http.StatusUnauthorized)
	case token && !person, wordOf(r) != "":
		w.Header().Set("WWW-Authenticate", `Bearer realm="fairwindow"`)
		http.Error(w, "Send a token that opens this as Authorization: Bearer …; a manager makes one on the page Tokens.", http.StatusUnauthorized)
	case one.may == readsByKey:
		http.Error(w, "This calendar's address lacks its key, or the key was taken back. Sign in and make another on the page You.", http.StatusUnauthorized)
	case !navigates(r):
		http.Error(w, "You are no longer signed in. Open any page to sign in again; what was not taken in is still yours to send.", http.StatusUnauthorized)
	case r.Method == http.MethodPost:
		p.askAgain(w, r)
	default:
		http.Redirect(w, r, "/signin?"+url.Values{"to": {r.URL.RequestURI()}}.Encode(), http.StatusSeeOther)
	}
}

// navigates reports whether a person sees the answer, rather than a script of ours.
func navigates(r *http.Request) bool {
	mode := r.Header.Get("Sec-Fetch-Mode")
	return (mode == "" || mode == "navigate") && r.URL.Path != "/events"
}

// hurried is how long who is signed in has to wait before his next form is taken: a person's
// fingers never have to, a loop does.
func (p *pages) hurried(r *http.Request, is who) time.Duration {
	if r.Method != http.MethodPost || is.visitor.Name == "" {
		return 0
	}
	return p.limits.forms.Wait(string(door.Print(is.word)), p.Clock.Now())
}

// later asks to come again, and gives back what was typed.
func (p *pages) later(w http.ResponseWriter, r *http.Request, wait time.Duration) {
	w.Header().Set("Retry-After", fmt.Sprint(int(math.Ceil(wait.Seconds()))))
	if !navigates(r) {
		http.Error(w, "Too many at once. Nothing of this was kept; send it again in "+seconds(wait)+".", http.StatusTooManyRequests)
		return
	}
	p.giveBack(w, r, http.StatusTooManyRequests, "That was too many forms at once. Nothing of this one was kept: send it again in "+seconds(wait)+".")
}

// seconds words a short wait.
func seconds(d time.Duration) string {
	if d > 2*time.Minute {
		return length(d.Round(time.Minute))
	}
	return fmt.Sprintf("%d s", int(math.Ceil(d.Seconds())))
}

// limits are how often may be knocked. Thirty people who come from one address at seven in the
// morning must not feel them.
type limits struct {
	name    *door.Limit // tries of one name
	long    *door.Limit // the same over hours: who goes on failing waits ever longer
	address *door.Limit // tries from one address, of whatever name
	forms   *door.Limit // forms of one session
}

func newLimits() limits {
	return limits{
		name:    door.NewLimit(5, 20*time.Second, 4096),
		long:    door.NewLimit(50, 10*time.Minute, 4096),
		address: door.NewLimit(60, time.Second, 4096),
		forms:   door.NewLimit(120, 250*time.Millisecond, 4096),
	}
}

// knock counts one try to sign in and says how long to wait first.
func (l limits) knock(name, address string, now time.Time) time.Duration {
	name = strings.ToLower(strings.TrimSpace(name))
	for _, one := range []struct {
		limit *door.Limit
		of    string
	}{{l.address, address}, {l.name, name}, {l.long, name}} {
		if wait := one.limit.Wait(one.of, now); wait > 0 {
			return wait
		}
	}
	return 0
}

// opened has a name begin anew after the right password.
func (l limits) opened(name string) {
	name = strings.ToLower(strings.TrimSpace(name))
	l.name.Forget(name)
	l.long.Forget(name)
}

// withPort is a host as an address to listen on. A name that somebody else's page had lead to
// this machine is none of its own: where nobody signs in, that page would be taken for ours.
func withPort(host string) string {
	if u, err := url.Parse("//" + host); err == nil && u.Port() == "" {
		return net.JoinHostPort(u.Hostname(), "80")
	}
	return host
}
