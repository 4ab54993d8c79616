package engine

// lay puts knots down one after the other, each whole at the first slots where there is
// room for it: a schedule, if a poor one. inside is the starts, each from its knot's root.
func (k *lagged) lay(d lagMatrix, knots []lagKnot, inside []Slot) []Slot {
	starts := make([]Slot, k.origin)
	laid := make([]bool, k.origin)
	taken := make([][]int, len(k.room))
	for _, knot := range knots {
		at := Slot(0)
		if knot.root != k.origin {
			at = k.earliest(d, knot, inside, starts, laid)
		}
		for !k.take(taken, knot, inside, at) {
			k.give(taken, knot, inside, at)
			at++
		}
		for _, t := range knot.tasks {
			starts[t], laid[t] = at+inside[t], true
		}
	}
	return starts
}

// earliest is the first slot from which a knot keeps all lags to what is laid.
func (k *lagged) earliest(d lagMatrix, knot lagKnot, inside, starts []Slot, laid []bool) Slot {
	at := lagFar
	for _, t := range knot.tasks {
		s := inside[t]
		at = max(at, d[k.origin][t]-s)
		for b, laid := range laid {
			if laid && d[b][t] > lagFar {
				at = max(at, starts[b]+d[b][t]-s)
			}
		}
	}
	return at
}

// take takes the crews of a knot that starts at a slot. It reports whether there is room.
func (k *lagged) take(taken [][]int, knot lagKnot, inside []Slot, at Slot) bool {
	room := true
	for _, t := range knot.tasks {
		s := at + inside[t]
		for _, u := range k.uses[t] {
			for Slot(len(taken[u.Crew])) < s+k.long[t] {
				taken[u.Crew] = append(taken[u.Crew], 0)
			}
			for q := s; q < s+k.long[t]; q++ {
				taken[u.Crew][q] += u.N
				room = room && taken[u.Crew][q] <= k.room[u.Crew]
			}
		}
	}
	return room
}

// give gives them back.
func (k *lagged) give(taken [][]int, knot lagKnot, inside []Slot, at Slot) {
	for _, t := range knot.tasks {
		for _, u := range k.uses[t] {
			for q := at + inside[t]; q < at+inside[t]+k.long[t]; q++ {
				taken[u.Crew][q] -= u.N
			}
		}
	}
}

// makespan is when all is done.
func (k *lagged) makespan(starts []Slot) Slot {
	end := Slot(0)
	for t, s := range starts {
		end = max(end, s+k.long[t])
	}
	return end
}
