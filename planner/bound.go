package planner

import "math"

// bound is a cost that no plan can be under: each boat launched as soon as the work
// that its longest area has left takes straight on, with all the yard to itself and no
// cure to wait for. What is between it and a plan's cost is partly the yard's crowding
// and the weather, partly what a better search would find.
func (m *model) bound() int64 {
	sum := 0.0
	s := &schedule{model: m}
	for i := range m.boats {
		b := &m.boats[i]
		if b.gone {
			continue
		}
		soonest := max(m.now, b.arrives)
		for _, a := range b.areas {
			at := max(m.now, b.arrives, m.areas[a].ended)
			for _, j := range m.areas[a].jobs {
				at += j.slots
			}
			soonest = max(soonest, at)
		}
		sum += s.launchCost(i, soonest)
	}
	return int64(math.Floor(sum))
}
