package planner

import (
	"fmt"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// windowsAhead is how far from a planned start windows are looked for.
const windowsAhead = 10 * 24 * time.Hour

// Windows are the next windows of a stage, from the problem's time on, with all
// else as in the plan. They take the hull as the plan brings it to its place, and
// begin with the recoat opening and end with its closing.
func Windows(p Problem, plan Plan, key Key) ([]Window, error) {
	m, err := newModel(p)
	if err != nil {
		return nil, err
	}
	n := slices.IndexFunc(plan.Stages, func(s Planned) bool { return s.Key == key })
	if n < 0 {
		return nil, fmt.Errorf("the plan has no stage %s of %s of %s", key.Stage, key.Area, key.Boat)
	}
	s := plan.Stages[n]
	place := m.placeNamed(s.Place)
	if place < 0 {
		return nil, nil
	}
	boat := slices.IndexFunc(m.boats, func(b boat) bool { return b.Name == key.Boat })
	area := slices.IndexFunc(m.areas, func(a area) bool { return a.boat == boat && a.Area.Name == key.Area })
	if boat < 0 || area < 0 {
		return nil, nil
	}
	j, err := m.newJob(area, m.areas[area].Area, Progress{Key: key, Stage: s.Stage})
	if err != nil {
		return nil, err
	}
	r := newSchedule(m, false)
	w, f := r.recall(plan, s, boat, area)
	ahead := windowsAhead
	if !s.Start.IsZero() {
		ahead += max(0, s.Start.Sub(p.At))
	}
	return m.windows(j, f, place, w, ahead), nil
}

// recall is the boat's way in a plan up to a stage, and the coat beneath it.
func (s *schedule) recall(plan Plan, stage Planned, boat, area int) (way, *film) {
	var stays []stay
	for _, b := range plan.Blocks {
		if b.Boat == stage.Key.Boat {
			stays = append(stays, stay{place: s.placeNamed(b.Place), from: s.grid.Floor(b.From), to: s.grid.Floor(b.To), mover: -1})
		}
	}
	f := s.model.areas[area].film
	var coats []*placed
	for _, o := range plan.Stages {
		before := o.State == Unplaced || o.Key == stage.Key || !stage.Start.IsZero() && !o.Start.Before(stage.Start)
		if before || o.Key.Boat != stage.Key.Boat {
			continue
		}
		mine := o.Key.Area == stage.Key.Area
		switch {
		case o.Kind == config.Coat:
			coats = append(coats, &placed{place: s.placeNamed(o.Place), start: s.grid.Floor(o.Start), end: s.grid.Ceil(o.End)})
			if mine {
				f = &film{card: s.cards[o.Stage.Card], key: o.Key, coated: s.grid.Ceil(o.End)}
			}
		case mine:
			f = after(&placed{job: &job{stage: o.Stage}, film: f})
		}
	}
	return s.wayOf(boat, stays, coats), f
}

// windows are the runs of starts within ahead that a stage's conditions and the
// coat under it allow.
func (m *model) windows(j *job, under *film, place int, w way, ahead time.Duration) []Window {
	last := min(m.now+m.grid.Steps(ahead), m.grid.Slots)
	from := m.now
	if under != nil {
		from = max(from, m.out.opens(under, j.stage.Needs(), w))
		if j.coats() {
			last = min(last, m.out.closes(under, w))
		}
	}
	var all []Window
	var open *Window
	for t := from; t < last; {
		o := m.start(j, place, w, t)
		switch {
		case o.ok && open == nil:
			open = &Window{From: m.grid.Time(t), To: m.grid.Time(t), Place: m.places[place].Name, Chance: conditions.Chance(o.z)}
		case o.ok:
			open.To = m.grid.Time(t)
		case open != nil:
			e := o.evidence()
			open.Closes, open.Value, open.When = e.Bound, e.Value, e.When
			all, open = append(all, *open), nil
		}
		if t++; !o.ok {
			t = max(t, m.skip(j, o))
		}
	}
	if open != nil {
		all = append(all, *open)
	}
	return all
}

// start judges one start: of a coat to its protection, of a stage that may pause
// over the least part worth beginning.
func (m *model) start(j *job, place int, w way, t engine.Slot) outcome {
	if j.coats() {
		return m.coating(j, place, w, t)
	}
	slots := j.slots
	if j.pauses() {
		slots = min(slots, m.grid.Steps(leastPart))
	}
	if t+slots > m.grid.Slots {
		return outcome{at: m.grid.Slots - 1}
	}
	return m.works(j, place, w, t, t+slots)
}

// skip is the first start worth asking after a failed one.
func (m *model) skip(j *job, o outcome) engine.Slot {
	if o.wet {
		return o.at - j.slots + 1
	}
	return o.at + 1
}
