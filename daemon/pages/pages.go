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
	views views
	pulse pulse
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
	p := &pages{Options: o, views: v}
	mux := http.NewServeMux()

	mux.Handle("GET /{$}", p.page(p.week))
	mux.Handle("POST /release", p.page(p.release))
	mux.Handle("GET /place/{name}", p.page(p.place))
	mux.Handle("POST /place/{name}/reading", p.page(p.takeReading))
	mux.Handle("POST /place/{name}/signals", p.page(p.takeSignals))
	mux.Handle("GET /boat/{name}", p.page(p.boat))
	mux.Handle("POST /boat/{name}/press", p.page(p.press))
	mux.Handle("GET /notices", p.page(p.notices))
	mux.Handle("POST /notice/{id}/heard", p.page(p.hear))
	mux.Handle("POST /push", p.page(p.ring))
	mux.Handle("GET /mix", p.page(p.mix))
	mux.Handle("GET /calendar/{of}/{file}", p.page(p.calendar))
	mux.Handle("/", p.page(p.nowhere))

	mux.Handle("GET /v1/plan", p.json(o.Plans.Told))
	mux.Handle("GET /v1/draft", p.json(o.Plans.Draft))
	mux.Handle("POST /v1/readings", o.Intake)
	if o.Boats != nil {
		mux.Handle("GET /v1/boats", o.Boats)
		mux.Handle("POST /v1/boats", o.Boats)
	}
	mux.HandleFunc("GET /events", p.events)

	mux.HandleFunc("GET /healthz", p.alive)
	mux.HandleFunc("GET /readyz", p.ready)
	mux.Handle("GET /metrics", o.Metrics)
	mux.HandleFunc("GET /static/{file}", v.static)

	return guard(mux), nil
}
