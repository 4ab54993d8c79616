package pages

import "net/http"

// may says who may use a route.
type may string

const (
	anyone     may = "anyone"     // also who has not signed in
	reads      may = "reads"      // everybody who has
	works      may = "works"      // painter, scheduler, manager
	schedules  may = "schedules"  // scheduler, manager
	manages    may = "manages"    // manager
	byMachines may = "byMachines" // a token, by its scope
)

// route is one address: who may use it, and what answers.
type route struct {
	pattern string
	may     may
	answer  http.Handler
}

// routes are all that a browser or a program can ask for, on one screen.
func (p *pages) routes() []route {
	all := []route{
		{"GET /{$}", reads, p.page(p.week)},
		{"POST /release", schedules, p.page(p.release)},

		{"GET /place/{name}", reads, p.page(p.place)},
		{"POST /place/{name}/reading", works, p.page(p.takeReading)},
		{"POST /place/{name}/signals", works, p.page(p.takeSignals)},

		{"GET /board", reads, p.page(p.boards)},
		{"GET /board/{place}", reads, p.page(p.board)},

		{"GET /boat/{name}", reads, p.page(p.boat)},
		{"POST /boat/{name}/press", works, p.page(p.press)},

		{"GET /notices", reads, p.page(p.notices)},
		{"POST /notice/{id}/heard", works, p.page(p.hear)},
		{"POST /push", reads, p.page(p.ring)},

		{"GET /mix", reads, p.page(p.mix)},
		{"GET /calendar/{of}/{file}", reads, p.page(p.calendar)},
		{"GET /you", reads, p.page(p.you)},
		{"POST /you", reads, p.page(p.readSo)},
		{"GET /events", reads, http.HandlerFunc(p.events)},

		{"GET /v1/plan", byMachines, p.json(p.Plans.Told)},
		{"GET /v1/draft", byMachines, p.json(p.Plans.Draft)},
		{"POST /v1/readings", byMachines, p.Intake},
		{"GET /metrics", byMachines, p.Metrics},
		{"GET /healthz", anyone, http.HandlerFunc(p.alive)},
		{"GET /readyz", anyone, http.HandlerFunc(p.ready)},

		{"GET /static/{file}", anyone, http.HandlerFunc(p.views.static)},
		{"/", anyone, p.page(p.nowhere)},
	}
	if p.Boats != nil {
		all = append(all, route{"GET /v1/boats", byMachines, p.Boats}, route{"POST /v1/boats", byMachines, p.Boats})
	}
	return all
}
