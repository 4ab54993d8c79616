package planner

import (
	"slices"

	"fairwindow/planner/engine"
)

// marks is about how many times a schedule is kept while it is laid, so that a
// neighbour which begins with the same turns need not take them again.
const marks = 16

// mark is a schedule after so many turns.
type mark struct {
	turns int
	*schedule
}

// again takes other turns, which are ordered; those they begin with in common are not
// taken again.
func (s *schedule) again(turns []turn) *schedule {
	common := 0
	for common < len(turns) && common < len(s.wants) && turns[common] == s.wants[common] {
		common++
	}
	n := len(s.marks)
	for n > 0 && s.marks[n-1].turns > common {
		n--
	}
	var made *schedule
	from := 0
	if n > 0 {
		made, from = s.marks[n-1].copy(), s.marks[n-1].turns
	} else {
		made = newSchedule(s.model, s.asTold)
	}
	made.loose = s.loose
	made.marked, made.marks = true, s.marks[:n:n]
	made.takeTurns(turns, from)
	return made
}

// copy is a schedule that goes on by itself.
func (s *schedule) copy() *schedule {
	c := *s
	for _, tables := range []*[]*engine.Timetable{&c.hours, &c.rooms, &c.hands, &c.dusty, &c.wet, &c.foul, &c.people, &c.stock} {
		*tables = slices.Clone(*tables)
		for i, t := range *tables {
			(*tables)[i] = t.Clone()
		}
	}
	c.boats = slices.Clone(c.boats)
	for i, b := range c.boats {
		st := *b
		st.stays, st.placed, st.way = slices.Clone(st.stays), slices.Clone(st.placed), slices.Clone(st.way)
		c.boats[i] = &st
	}
	c.areas = slices.Clone(c.areas)
	for i, a := range c.areas {
		ar := *a
		ar.done = slices.Clone(ar.done)
		c.areas[i] = &ar
	}
	c.missed, c.turns, c.marks = slices.Clone(c.missed), slices.Clone(c.turns), nil
	return &c
}
