package pages

import (
	"net/http"

	"fairwindow/daemon/door"
)

// may says who may use a route.
type may string

const (
	anyone     may = "anyone"     // also who has not signed in
	reads      may = "reads"      // everybody who has
	works      may = "works"      // painter, scheduler, manager
	schedules  may = "schedules"  // scheduler, manager
	manages    may = "manages"    // manager
	readsByKey may = "readsByKey" // who reads, and a calendar's key in the address
	onScreens  may = "onTheWall"  // who reads, and a screen's key in the address
	// machines(scope) is a token of that scope, and nobody else
)

// route is one address: who may use it, and what answers.
type route struct {
	pattern string
	may     may
	answer  http.Handler
}

// routes are all that a browser or a program can ask for.
func (p *pages) routes() []route {
	all := []route{
		{"GET /{$}", reads, p.page(p.week)},
		{"POST /release", schedules, p.page(p.release)},
		{"GET /week/try", schedules, p.page(p.try)},
		{"POST /week/keep", schedules, p.page(p.keep)},
		{"GET /week/days", reads, p.page(p.days)},
		{"GET /week/changes", reads, p.page(p.changed)},

		{"GET /shift", reads, p.page(p.shift)},
		{"POST /shift/press", works, p.page(p.pressShift)},
		{"POST /shift/decide", schedules, p.page(p.decideShift)},
		{"POST /shift/reading", works, p.page(p.takeShiftReading)},
		{"GET /worker.js", anyone, p.page(p.worker)},

		{"GET /place/{name}", reads, p.page(p.place)},
		{"GET /place/{name}/air.csv", reads, p.page(p.placeFile)},
		{"POST /place/{name}/reading", works, p.page(p.takeReading)},
		{"POST /place/{name}/signals", works, p.page(p.takeSignals)},

		{"GET /board", reads, p.page(p.boards)},
		{"GET /board/{place}", onScreens, p.page(p.board)},

		{"GET /boat/{name}", reads, p.page(p.boat)},
		{"POST /boat/{name}/press", works, p.page(p.press)},
		{"GET /boat/{name}/record", reads, p.page(p.coats)},
		{"GET /boat/{name}/record.pdf", reads, p.page(p.recordPDF)},
		{"GET /boat/{name}/record.csv", reads, p.page(p.recordCSV)},
		{"GET /boat/{name}/record.json", reads, p.page(p.recordJSON)},
		{"GET /boat/{name}/evidence.zip", schedules, p.page(p.evidence)},
		{"POST /boat/{name}/entry", works, p.page(p.enter)},
		{"GET /boat/{name}/correct", works, p.page(p.correct)},
		{"POST /boat/{name}/slip", works, p.page(p.takeSlip)},
		{"POST /boat/{name}/strike", schedules, p.page(p.takeStrike)},
		{"POST /boat/{name}/sign", manages, p.page(p.sign)},

		{"GET /notices", reads, p.page(p.notices)},
		{"POST /notice/{id}/heard", works, p.page(p.hear)},
		{"POST /push", reads, p.page(p.ring)},

		{"GET /mix", reads, p.page(p.mix)},
		{"GET /calendar/{of}/{file}", readsByKey, p.page(p.calendar)},
		{"GET /you", reads, p.page(p.you)},
		{"POST /you", reads, p.page(p.readSo)},
		{"GET /events", onScreens, http.HandlerFunc(p.events)},

		{"GET /v1/plan", machines(door.Plan), p.json(p.Plans.Told)},
		{"GET /v1/draft", machines(door.Plan), p.json(p.Plans.Draft)},
		{"POST /v1/readings", machines(door.Readings), p.Intake},
		{"GET /metrics", machines(door.Metrics), p.Metrics},
		{"GET /healthz", anyone, http.HandlerFunc(p.alive)},
		{"GET /readyz", anyone, http.HandlerFunc(p.ready)},

		{"GET /static/{file}", anyone, http.HandlerFunc(p.views.static)},
		{"/", anyone, p.page(p.nowhere)},
	}
	if p.Boats != nil {
		all = append(all, route{"GET /v1/boats", machines(door.Boats), p.Boats}, route{"POST /v1/boats", machines(door.Boats), p.Boats})
	}
	if p.Door != nil {
		all = append(all, p.doorRoutes()...)
	}
	all = append(all, p.bookRoutes()...)
	return append(all, p.waitsRoutes()...)
}

// doorRoutes are those by which people and machines come in.
func (p *pages) doorRoutes() []route {
	return []route{
		{"GET /signin", anyone, p.page(p.signIn)},
		{"POST /signin", anyone, p.page(p.takeSignIn)},
		{"POST /signout", anyone, p.page(p.signOut)},
		{"GET /welcome", anyone, p.page(p.welcome)},
		{"POST /welcome", anyone, p.page(p.takeWelcome)},
		{"POST /you/password", reads, p.page(p.changePassword)},
		{"POST /you/calendar", reads, p.page(p.makeKey)},
		{"POST /you/calendar/revoke", reads, p.page(p.revokeKey)},

		{"GET /people", manages, p.page(p.people)},
		{"POST /people/invite", manages, p.page(p.invite)},
		{"POST /people/shutout", manages, p.page(p.shutOut)},
		{"GET /tokens", manages, p.page(p.tokens)},
		{"POST /tokens", manages, p.page(p.makeToken)},
		{"POST /tokens/revoke", manages, p.page(p.revokeToken)},
		{"GET /changes", manages, p.page(p.changedBy)},

		{"POST /v1/invitations", machines(door.Doors), p.page(p.inviteByCommand)},
		{"POST /v1/tokens", machines(door.Doors), p.page(p.tokenByCommand)},
	}
}

// bookRoutes are the addresses of what people write down: boats, systems, and the cards
// that these go by.
func (p *pages) bookRoutes() []route {
	if p.Book == nil || p.Files == nil {
		return nil
	}
	const large = 512 << 10 // a system of a hundred stages
	return []route{
		{"GET /boats", reads, p.page(p.boats)},
		{"GET /boats/new", schedules, p.page(p.newBoat)},
		{"POST /boats/new", schedules, p.sized(large, p.keepBoat)},
		{"GET /boats/import", schedules, p.page(p.importForm)},
		{"POST /boats/import", schedules, p.sized(2*fileLimit, p.importBoats)},
		{"GET /boats/file/{file}", reads, p.page(p.boatsFile)},
		{"GET /boat/{name}/edit", schedules, p.page(p.editBoat)},
		{"POST /boat/{name}/edit", schedules, p.sized(large, p.keepBoat)},
		{"POST /boat/{name}/remove", schedules, p.page(p.removeBoat)},
		{"POST /boat/{name}/back", schedules, p.page(p.boatBack)},
		{"GET /boat/{name}/history", reads, p.page(p.boatHistory)},

		{"GET /systems", reads, p.page(p.systems)},
		{"GET /systems/new", schedules, p.page(p.newSystem)},
		{"POST /systems/new", schedules, p.sized(large, p.keepSystem)},
		{"GET /system/{name}", reads, p.page(p.system)},
		{"GET /system/{name}/file", reads, p.page(p.systemFile)},
		{"GET /system/{name}/edit", schedules, p.page(p.editSystem)},
		{"POST /system/{name}/edit", schedules, p.sized(large, p.keepSystem)},
		{"POST /system/{name}/remove", schedules, p.page(p.removeSystem)},
		{"GET /system/{name}/history", reads, p.page(p.systemHistory)},
		{"GET /cards", reads, p.page(p.cards)},
	}
}

// waitsRoutes are the manager's pages, and the crews' daily log.
func (p *pages) waitsRoutes() []route {
	if p.Waits == nil || p.Studies == nil {
		return nil
	}
	return []route{
		{"GET /waits", schedules, p.page(p.waits)},
		{"GET /waits/{file}", schedules, p.page(p.waitsFile)},
		{"GET /waits/lost", schedules, p.page(p.lost)},
		{"GET /log", works, p.page(p.crewLog)},
		{"POST /log", works, p.page(p.logDay)},
		{"POST /log/{id}/strike", works, p.page(p.strikeLog)},
		{"GET /plan/{id}", schedules, p.page(p.keptPlan)},
		{"POST /plan/{id}/again", schedules, p.page(p.again)},
		{"GET /whatif", schedules, p.page(p.whatif)},
		{"POST /whatif", schedules, p.page(p.tryChange)},
		{"GET /whatif/{id}", schedules, p.page(p.answer)},
	}
}
