// Package pages answers one question: what do people see? It serves the
// yard's pages, takes what people press and type, and asks for all it needs
// through small interfaces, so that every page can be shown from literals.
package pages

import (
	"net/http"

	"github.com/jonboulle/clockwork"
)

type pages struct {
	Options
	views  *views
	mux    *http.ServeMux
	pulse  pulse
	limits limits
}

// New returns the handler of all pages.
//
// GET /events stays open: give the server a base context that ends before Shutdown.
func New(o Options) (http.Handler, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	if o.Clock == nil {
		o.Clock = clockwork.NewRealClock()
	}
	v, err := parse()
	if err != nil {
		return nil, err
	}
	p := &pages{Options: o, views: v, mux: http.NewServeMux(), limits: newLimits()}
	for _, one := range p.routes() {
		p.mux.Handle(one.pattern, p.admit(one))
	}
	return guard(p.mux), nil
}
