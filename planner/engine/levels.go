package engine

// Levels are how many are free from slot to slot, where that changes.
func (t *Timetable) Levels() []Level {
	var levels []Level
	last := 0
	for _, r := range t.runs {
		if n := max(r.free(), 0); n != last {
			levels, last = append(levels, Level{From: Slot(r.from), N: n}), n
		}
	}
	return levels
}

// Shut are the spans in which none are there, whether taken or not.
func (t *Timetable) Shut() []Span {
	var shut []Span
	for i, r := range t.runs {
		from := Slot(r.from)
		switch n := len(shut); {
		case r.capacity > 0:
		case n > 0 && shut[n-1].To == from:
			shut[n-1].To = t.end(i)
		default:
			shut = append(shut, Span{From: from, To: t.end(i)})
		}
	}
	return shut
}
