package planner

import (
	"slices"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// launches reports whether all of a boat's stages are planned and its launch is
// within the plan.
func (s *schedule) launches(i int) bool {
	return !s.model.boats[i].gone && s.boats[i].launch < s.grid.Slots
}

// fit is when a boat is fit for launch with its stages as given, along a way.
func (s *schedule) fit(i int, all []*placed, w way) engine.Slot {
	at := s.model.boats[i].arrives
	for _, a := range s.model.boats[i].areas {
		at = max(at, s.fitArea(a, all, w))
	}
	return at
}

// fitArea is when one area is: worked at no more, protected, movable and fit for water.
func (s *schedule) fitArea(a int, all []*placed, w way) engine.Slot {
	at, f := s.model.areas[a].ended, s.model.areas[a].film
	for _, p := range all {
		if p.job.area == a {
			at = max(at, p.end, p.protect)
			f = after(p)
		}
	}
	if f != nil {
		at = max(at, s.out.opens(f, "movable", w))
		if f.card.instead("launch") != "" {
			at = max(at, s.out.opens(f, "launch", w))
		}
	}
	return at
}

// stagesOf are a boat's stages, area by area, each area's in their order.
func (s *schedule) stagesOf(i int) []*placed {
	var all []*placed
	for _, a := range s.model.boats[i].areas {
		all = append(all, s.areas[a].done...)
	}
	return all
}

// relaunch takes into account that a boat is fit for launch sooner than when it
// was laid out.
func (s *schedule) relaunch(i int) {
	st := s.boats[i]
	if !s.launches(i) {
		return
	}
	launch := s.fit(i, s.stagesOf(i), st.way)
	if launch >= st.launch {
		return
	}
	st.launch = launch
	then := leaving(st.stays, launch)
	if n := len(then); n > 0 && then[n-1].to < st.stays[n-1].to {
		s.rooms[then[n-1].place].Take(then[n-1].to, st.stays[n-1].to, -1)
		st.stays = then
	}
}

// leaving is a boat's stays if it is launched at a slot: the last ends then.
func leaving(stays []stay, launch engine.Slot) []stay {
	n := len(stays)
	if n == 0 || stays[n-1].to <= launch {
		return stays
	}
	then := slices.Clone(stays)
	last := &then[n-1]
	last.to = min(last.to, max(launch, last.from+last.move))
	return then
}

func (s *schedule) holdingCost(stays []stay) float64 {
	var slots engine.Slot
	for _, x := range stays {
		if s.places[x.place].Kind == config.Booth {
			slots += max(x.to-x.from, 0)
		}
	}
	return s.yard.Weights.Holding * float64(slots) * step.Minutes()
}

// launchCost is what it costs that a boat is launched at a slot.
func (s *schedule) launchCost(i int, launch engine.Slot) float64 {
	return s.yard.Weights.Lateness*s.lateAt(i, launch) + s.yard.Weights.Waiting*s.untilAt(launch)
}

// untilAt is the minutes until a slot, or until the end of the plan.
func (s *schedule) untilAt(launch engine.Slot) float64 {
	return max(0, s.grid.Time(min(launch, s.grid.Slots)).Sub(s.p.At).Minutes())
}

// lateAt is the minutes by which a launch at a slot misses the promise.
func (s *schedule) lateAt(i int, launch engine.Slot) float64 {
	return max(0, s.grid.Time(min(launch, s.grid.Slots)).Sub(s.model.boats[i].promised).Minutes())
}
