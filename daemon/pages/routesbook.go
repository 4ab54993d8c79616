package pages

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
