package planner

import (
	"cmp"
	"slices"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// Solve places every open stage. It fails only for a problem that makes no
// sense, and says what would: a stage that finds no start is Unplaced, with its
// cause, and so is all that waits for it.
//
// A plan is laid out turn by turn: each turn gives one area its next block, where
// and as early as it ends soonest. First come the turns that a few rules of
// priority would take (promise, slack, arrival, who stands in a working place),
// and those the engine proposes; then the neighbours of the best, and the least
// objective wins.
func Solve(p Problem) (Plan, error) {
	d, err := Open(p)
	if err != nil {
		return Plan{}, err
	}
	plan, _ := d.Checked()
	return plan, nil
}

// Desk is a problem made ready, for whoever wants both its plan and what lies ahead:
// the airs and hulls of six weeks are worked out once.
type Desk struct{ m *model }

// Open makes a problem ready; its errors are Solve's.
func Open(p Problem) (*Desk, error) {
	m, err := newModel(p)
	if err != nil {
		return nil, err
	}
	return &Desk{m}, nil
}

// settled is the plan, once no stage can start earlier by itself.
func (s *schedule) settled() Plan {
	s.settle()
	plan := s.plan()
	plan.Bound = s.model.bound()
	for n, at := range s.model.cautious(s) {
		plan.caution(s.model.boats[n].Name, at)
	}
	if plan.Retold = retold(s.p, plan); len(plan.Retold) > 0 {
		plan.Bought = bought(s.kept, s.cost())
	}
	return plan
}

// best is the schedule with the least objective of all that were tried.
func (m *model) best() *schedule {
	var kept cost
	var best *schedule
	var least int64
	try := func(s *schedule) {
		if c := s.weighs(); best == nil || c < least {
			best, least = s, c
		}
	}
	allKept := false
	if len(m.told) > 0 {
		var s *schedule
		s, allKept = m.asTold()
		kept = s.cost()
		try(s)
	}
	if len(m.told) == 0 && len(m.p.Turns) > 0 {
		try(m.lay(m.toldTurns(), false)) // of a plan to be compared with
	}
	rounds := m.rounds()
	orders := m.orders()
	switch {
	case allKept: // any other order would change what nothing asks to be changed
		orders = nil
	case len(m.told) > 0 || rounds < fewRounds: // in case nothing can be kept; or in haste
		orders = orders[:1]
	}
	for _, order := range orders {
		try(m.byBoats(order))
	}
	if rounds >= fewRounds && len(m.told) == 0 && len(best.turns) > fewTurns {
		if turns, ok := m.propose(); ok {
			try(m.lay(turns, false))
		}
	}
	best = m.improve(best, rounds)
	best.kept = kept
	return best
}

// fewRounds are so few that the engine's proposal would take longer than all of them.
const fewRounds = 10

// fewTurns are so few that the neighbours alone find what the engine would propose.
// Measured on generated yards.
const fewTurns = 12

// rounds is how many neighbours are tried where the problem does not say: fewer of a
// large fleet, whose schedules take longer, and of a plan that was told, which should
// stay as it is.
func (m *model) rounds() int {
	if m.p.Rounds > 0 {
		return m.p.Rounds
	}
	jobs := 1
	for a := range m.areas {
		jobs += len(m.areas[a].jobs)
	}
	if len(m.told) > 0 {
		return min(40, 7000/jobs)
	}
	return min(300, 60000/jobs)
}

// orders are the boats by each rule of priority.
func (m *model) orders() [][]int {
	by := func(key func(int) int64) []int {
		order := make([]int, len(m.boats))
		for i := range order {
			order[i] = i
		}
		slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(key(a), key(b)) })
		return order
	}
	promised := func(i int) int64 { return m.boats[i].promised.Unix() }
	return [][]int{
		by(promised),
		by(func(i int) int64 { return promised(i) - int64(m.workload(i))*int64(step.Seconds()) }),
		by(func(i int) int64 { return int64(m.boats[i].arrives) }),
		by(func(i int) int64 {
			if b := m.boats[i]; b.here && b.place >= 0 && m.places[b.place].Kind != config.Standing {
				return -promised(i) - 1<<40
			}
			return promised(i)
		}),
	}
}

// workload is the slots of work left on a boat.
func (m *model) workload(i int) engine.Slot {
	var sum engine.Slot
	for _, a := range m.boats[i].areas {
		for _, j := range m.areas[a].jobs {
			sum += j.slots
		}
	}
	return sum
}

// free reports whether an area has a stage to plan, and nothing to wait for that is not planned.
func (s *schedule) free(a int) bool {
	ar := s.areas[a]
	if ar.stuck || ar.next >= len(s.model.areas[a].jobs) {
		return false
	}
	after := s.model.areas[a].after
	return after < 0 || !s.areas[after].stuck && s.areas[after].next >= len(s.model.areas[after].jobs)
}

// nextArea is the area of a boat whose next stage could begin first, or -1.
func (s *schedule) nextArea(i int) int {
	best, soonest := -1, engine.Slot(0)
	for _, a := range s.model.boats[i].areas {
		if !s.free(a) {
			continue
		}
		if r := s.ready(a); best < 0 || r < soonest {
			best, soonest = a, r
		}
	}
	return best
}

// strand marks what waits for an area that has a stage without a start.
func (s *schedule) strand(i int) {
	for _, a := range s.model.boats[i].areas {
		ar := s.areas[a]
		if jobs := s.model.areas[a].jobs; !ar.stuck && ar.next < len(jobs) {
			ar.stuck = true
			for _, j := range jobs[ar.next:] {
				after := s.model.areas[s.model.areas[a].after].Name
				why := refusal{cause: EarlierMoved, next: never, other: Key{Boat: j.key.Boat, Area: after}, note: "area " + after + " is not finished within the horizon"}
				s.missed = append(s.missed, missed{job: j, place: -1, ready: s.grid.Slots, why: why})
			}
		}
	}
}

// depart keeps a finished boat where it is until it is fit for water, or on a
// standing, whichever costs less; and finds when that is.
func (s *schedule) depart(i int) {
	b, st := &s.model.boats[i], s.boats[i]
	if b.gone {
		return
	}
	for _, a := range b.areas {
		if s.areas[a].stuck {
			st.way = s.wayOf(i, st.stays, st.coats())
			s.curesOn(i)
			return
		}
	}
	if len(st.stays) == 0 || st.refuge == 0 {
		st.launch = s.launchable(i, st.way, nil, st.held)
		return
	}
	s.unwait(i)
	base, waits := st.stays[:st.refuge:st.refuge], st.stays[st.refuge:]
	last := &base[len(base)-1]
	type way struct {
		stays  []stay
		launch engine.Slot
	}
	var best way
	least := 0.0
	for _, option := range [][]stay{s.remain(last, i, last.to+1), s.goOut(last, i, s.grid.Slots), waits} {
		if len(option) == 0 {
			continue
		}
		option = slices.Clone(option)
		end := &option[len(option)-1]
		end.to = s.grid.Slots
		launch := s.launchable(i, s.wayOf(i, append(base, option...), st.coats()), nil, last.to)
		end.to = max(min(launch, s.grid.Slots), end.from+end.move)
		if s.rooms[end.place].Lack(end.from, end.to, 1) != engine.None {
			continue
		}
		st.launch = launch
		count := s.launchCost(i, launch)
		for _, x := range option {
			if x.move > 0 {
				count += s.yard.Weights.Moving
			}
			if s.places[x.place].Kind == config.Booth {
				count += s.yard.Weights.Holding * float64(x.to-x.from) * step.Minutes()
			}
		}
		if best.stays == nil || count < least {
			best, least = way{option, launch}, count
		}
	}
	if best.stays == nil {
		best = way{waits, never}
	}
	st.stays, st.launch = append(base, best.stays...), best.launch
	s.rewait(i)
	st.way = s.wayOf(i, st.stays, st.coats())
	s.curesOn(i)
}

// curesOn ends the waits for a milestone that a boat spends where it waits, now that it
// is known where that is.
func (s *schedule) curesOn(i int) {
	st := s.boats[i]
	for n, p := range st.placed {
		until := p.job.stage.Until
		if until == "" || p.running || p.place >= 0 || p.job.worked() {
			continue
		}
		end := min(max(p.start, s.out.opens(p.film, until, st.way)), s.grid.Slots)
		if end == p.end {
			continue
		}
		ended := *p // other schedules may have the same one, before it was known
		ended.end, ended.parts = end, []engine.Span{{From: p.start, To: end}}
		ar := s.areas[p.job.area]
		at := slices.Index(ar.done, p)
		st.placed[n], ar.done[at] = &ended, &ended
		if at == len(ar.done)-1 {
			ar.ended = end
		}
	}
}
