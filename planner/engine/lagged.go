package engine

// lagged is a problem of tasks of one mode, with least and greatest lags between
// starts, and crews that are always there; what counts is when all is done. The
// literature knows it as RCPSP/max.
type lagged struct {
	long    []Slot
	uses    [][]Use // of each task, one for each crew
	room    []int   // of each crew
	arcs    []lagArc
	origin  int // the node that starts at slot 0, after all tasks
	horizon Slot
	weight  int64 // of a slot until all is done
}

// lagArc says that the start of to comes least after the start of from, or later.
type lagArc struct {
	from, to int
	least    Slot
	link     Link // Lag is -1 of what follows from no lag: releases and the like
}

// lagMost bounds the tasks, and the product of tasks and slots, that are looked at:
// memory grows with them (our judgement).
const lagMost, lagCells = 600, 1 << 22

// laggedOf is p as far as it is a problem of this kind; nil if anything in it is not.
func laggedOf(p *Problem) *lagged {
	w := p.Weights
	if w.Makespan <= 0 || w.Move != 0 || w.Unplaced != 0 || len(p.Places) > 0 || len(p.Blocks) > 0 ||
		len(p.Tasks) == 0 || len(p.Tasks) > lagMost || p.Slots < 1 || int(p.Slots)*len(p.Tasks) > lagCells {
		return nil
	}
	k := &lagged{origin: len(p.Tasks), horizon: p.Slots, weight: w.Makespan}
	for _, c := range p.Crews {
		if len(c.Hours) != 1 || c.Hours[0].From > 0 {
			return nil
		}
		k.room = append(k.room, c.Hours[0].N)
	}
	none := Link{Lag: -1}
	for i := range p.Tasks {
		t := &p.Tasks[i]
		if !lagPlain(t) {
			return nil
		}
		m := &t.Modes[0]
		k.long, k.uses = append(k.long, m.Long), append(k.uses, lagUses(m, len(p.Crews)))
		k.arc(lagArc{k.origin, i, max(t.Release, 0), none})
		if t.Fixed {
			if t.Release < 0 {
				return nil
			}
			k.arc(lagArc{i, k.origin, -t.Release, none})
		}
	}
	for l, lag := range p.Lags {
		if lag.Opens != nil || lag.Ripe != nil || lag.Closes != nil || lag.Repair != nil {
			return nil
		}
		long := k.long[lag.Before]
		k.arc(lagArc{lag.Before, lag.After, long + lag.Least, Link{Lag: l}})
		if lag.Bounded {
			k.arc(lagArc{lag.After, lag.Before, -(long + lag.Greatest), Link{Lag: l, Greatest: true}})
		}
	}
	return k
}

// arc adds one, unless it is kept wherever within the horizon its ends are.
func (k *lagged) arc(a lagArc) {
	if a.least >= -k.horizon {
		k.arcs = append(k.arcs, a)
	}
}

// lagPlain reports whether a task has nothing that this kernel does not know.
func lagPlain(t *Task) bool {
	if len(t.Modes) != 1 || t.Owner >= 0 || t.Pauses || t.Due != nil || t.Told != nil {
		return false
	}
	m := &t.Modes[0]
	return m.Place < 0 && m.Long >= 0 && len(m.Sides) == 0 &&
		m.Starts < 0 && m.Works < 0 && m.Soak < 0 && m.Keeps < 0 && m.Cost < 0
}

// lagUses is what a mode uses, one for each crew; work without length uses nothing.
func lagUses(m *Mode, crews int) []Use {
	n := make([]int, crews)
	for _, u := range m.Uses {
		n[u.Crew] += u.N
	}
	var uses []Use
	for c, n := range n {
		if n > 0 && m.Long > 0 {
			uses = append(uses, Use{Crew: c, N: n})
		}
	}
	return uses
}
