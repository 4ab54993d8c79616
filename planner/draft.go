package planner

import (
	"cmp"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// plan words the schedule as plain data.
func (s *schedule) plan() Plan {
	p := Plan{At: s.p.At, Until: s.end(), Version: Version, Cost: s.cost().table(), Stages: []Planned{}, Blocks: []Block{}, Launches: []Launch{}}
	for _, t := range s.turns {
		a := &s.model.areas[t.area]
		p.Turns = append(p.Turns, Turn{Boat: s.model.boats[a.boat].Name, Area: a.Name, Place: s.placeName(t.place)})
	}
	order := map[Key]int{}
	for i := range s.model.boats {
		b, st := &s.model.boats[i], s.boats[i]
		for _, x := range st.placed {
			order[x.job.key] = len(order)
			p.Stages = append(p.Stages, s.planned(i, x))
		}
		if b.gone {
			continue
		}
		p.Blocks = append(p.Blocks, s.blocks(i)...)
		launch := Launch{Boat: b.Name, Promised: b.promised}
		if st.launch < s.grid.Slots {
			launch.Likely = s.grid.Time(st.launch)
		}
		p.Launches = append(p.Launches, launch)
	}
	for _, m := range s.missed {
		order[m.job.key] = len(order)
		p.Stages = append(p.Stages, s.unplaced(m))
	}
	slices.SortStableFunc(p.Stages, func(a, b Planned) int {
		none := func(x Planned) int {
			if x.State == Unplaced {
				return 1
			}
			return 0
		}
		return cmp.Or(cmp.Compare(none(a), none(b)), a.Start.Compare(b.Start), cmp.Compare(a.Key.Boat, b.Key.Boat), cmp.Compare(a.Key.Area, b.Key.Area), cmp.Compare(order[a.Key], order[b.Key]))
	})
	slices.SortStableFunc(p.Blocks, func(a, b Block) int {
		return cmp.Or(a.From.Compare(b.From), cmp.Compare(a.Boat, b.Boat))
	})
	return p
}

// blocks are the boat's stays, those that meet in one place as one.
func (s *schedule) blocks(i int) []Block {
	var all []Block
	for _, x := range s.boats[i].stays {
		if x.to <= x.from {
			continue
		}
		b := Block{Boat: s.model.boats[i].Name, Place: s.places[x.place].Name, From: s.grid.Time(x.from), To: s.grid.Time(x.to), Move: time.Duration(x.move) * step, Swap: x.swap, Aside: time.Duration(x.aside) * step}
		if x.mover >= 0 {
			b.Mover = s.crews[x.mover].Name
		}
		if n := len(all); n > 0 && all[n-1].Place == b.Place && all[n-1].To.Equal(b.From) && b.Move == 0 {
			all[n-1].To = b.To
			continue
		}
		all = append(all, b)
	}
	return all
}

func (s *schedule) planned(i int, p *placed) Planned {
	j := p.job
	out := Planned{
		Key: j.key, Kind: j.stage.Kind, Place: s.placeName(p.place), People: j.people,
		Ready: s.grid.Time(p.ready), Start: s.grid.Time(p.start), End: s.grid.Time(p.end),
		Chance: conditions.Chance(p.z), Repair: j.repair, Waits: s.waits(p), Stage: j.stage,
	}
	if p.place < 0 {
		out.Place = s.placeAt(i, p.start)
	}
	if p.crew >= 0 {
		out.Crew = s.crews[p.crew].Name
	}
	if !j.worked() {
		out.People = 0
	}
	if j.pauses() {
		for _, part := range p.parts {
			out.Work = append(out.Work, s.span(part))
		}
	}
	if p.coating {
		out.Passes = s.passes(p)
		out.Protected = s.grid.Time(p.protect)
		if !p.running {
			last := s.runOn(j, p.place, s.boats[i].way, p.start, p.protect)
			if closes := s.out.closes(p.film, s.boats[i].way); closes < last {
				last = max(closes-1, p.start)
			}
			out.Until = s.grid.Time(last)
			out.Fallback = s.fallback(p, last)
		}
	}
	if n := s.stayAt(i, p); p.entered && n >= 0 {
		out.Brought = s.grid.Time(s.boats[i].stays[n].from)
	}
	out.State = s.state(p)
	if out.Binds, out.BindsOn = "ready", s.readied(p); len(p.waits) > 0 {
		last := p.waits[len(p.waits)-1]
		out.Binds, out.BindsOn = string(last.why.cause), s.evidence(j, p.place, last.why)
	}
	out.Next = s.nextBest(p)
	if p.running {
		out.Start = j.before
		out.Ready = j.before
	}
	return out
}

func (s *schedule) span(x engine.Span) Span { return Span{s.grid.Time(x.From), s.grid.Time(x.To)} }

// passes are a coat's, with the least flash-off between them; of a coat that
// runs, those that are left, ending when it ends.
func (s *schedule) passes(p *placed) []Span {
	var all []Span
	to := p.end
	for range p.job.passes {
		from := to - p.job.pass
		if p.running {
			from = max(from, s.now)
		}
		all = append(all, s.span(engine.Span{From: min(from, to), To: to}))
		to = from - p.job.flash
		if p.running && to <= s.now {
			break
		}
	}
	slices.Reverse(all)
	return all
}

func (s *schedule) placeAt(i int, t engine.Slot) string {
	for _, x := range s.boats[i].stays {
		if x.from <= t && t < x.to {
			return s.places[x.place].Name
		}
	}
	return ""
}

func (s *schedule) state(p *placed) State {
	told, wasTold := s.told[p.job.key]
	switch {
	case p.running:
		return Running
	case wasTold && told.Start.Before(s.p.At) && p.job.worked():
		return Unconfirmed
	case p.z < s.pencil:
		return AtRisk
	case s.beyond(p.start):
		return PencilledIn
	}
	return Firm
}

// beyond reports whether a slot lies beyond the forecast.
func (s *schedule) beyond(t engine.Slot) bool {
	open := s.out.airs[len(s.out.airs)-1].tracks[idle]
	return rank(open.moment(min(t, s.grid.Slots-1)).Sure) >= rank(conditions.Pencilled)
}

func (s *schedule) unplaced(m missed) Planned {
	j := m.job
	p := Planned{Key: j.key, Kind: j.stage.Kind, People: j.people, State: Unplaced, Repair: j.repair, Binds: string(m.why.cause), Waits: s.missing(m), Stage: j.stage}
	if m.place >= 0 {
		p.Place = s.places[m.place].Name
	}
	if m.ready < s.grid.Slots {
		p.Ready = s.grid.Time(m.ready)
	}
	if j.stage.Kind == config.Hold {
		p.People = 0
	}
	return p
}
