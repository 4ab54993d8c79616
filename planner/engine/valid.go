package engine

import (
	"errors"
	"fmt"
)

// judge collects what is malformed, each with its list, index and field.
type judge struct {
	allows map[int]bool // tables of first allowed slots that were looked at
	p      *Problem
	faults []error
}

// These are how much a problem may hold. Our judgement: tables alone of that size are
// some gigabytes.
const (
	mostSlots = 1 << 20
	mostRows  = 1 << 16
	mostCells = 1 << 28
	mostCost  = 1 << 31 // slots times what costs something in each
	mostCount = 1 << 14 // of people, or owners in a place
	mostMoney = 1 << 30 // a cost, or a weight
)

// Valid is an error that names everything that is malformed, and what would be
// right; nil if nothing is. It does not say whether the problem can be kept.
func (p *Problem) Valid() error {
	j := &judge{p: p}
	if p.Slots < 1 || p.Slots > mostSlots {
		return fmt.Errorf("slots: %d; there must be 1 to %d", p.Slots, mostSlots)
	}
	for _, n := range []struct {
		list string
		n    int
	}{{"crews", len(p.Crews)}, {"places", len(p.Places)}, {"airs", p.Airs}, {"owners", len(p.Owners)}, {"tasks", len(p.Tasks)}, {"blocks", len(p.Blocks)}, {"lags", len(p.Lags)}, {"tables", len(p.Tables)}} {
		if n.n < 0 || n.n > mostRows {
			return fmt.Errorf("%s: %d of them; there may be 0 to %d", n.list, n.n, mostRows)
		}
	}
	if cells := (len(p.Crews) + len(p.Places) + 2*p.Airs + len(p.Tables)) * int(p.Slots); cells > mostCells {
		return fmt.Errorf("slots: %d for %d crews, %d places, %d airs and %d tables are too many; shorten the horizon or make the slots longer", p.Slots, len(p.Crews), len(p.Places), p.Airs, len(p.Tables))
	}
	// What it all costs must not overflow.
	if rows := len(p.Tasks) + len(p.Owners) + len(p.Places); rows*int(p.Slots) > mostCost {
		return fmt.Errorf("slots: %d for %d tasks, owners and places are too many; shorten the horizon or make the slots longer", p.Slots, rows)
	}
	for t, table := range p.Tables {
		if len(table) != int(p.Slots) {
			j.fault("tables[%d]: has %d entries; it must have one for each of the %d slots", t, len(table), p.Slots)
		}
	}
	j.stands()
	for i := range p.Tasks {
		j.task(i)
	}
	for l := range p.Lags {
		j.lag(l)
	}
	j.blocks()
	j.money(p.Weights.Makespan, "weights.makespan")
	j.money(p.Weights.Move, "weights.move")
	j.money(p.Weights.Unplaced, "weights.unplaced")
	if len(j.faults) == 0 {
		j.circles()
	}
	return errors.Join(j.faults...)
}

func (j *judge) fault(format string, a ...any) {
	if len(j.faults) < 100 {
		j.faults = append(j.faults, fmt.Errorf(format, a...))
	}
}

// index checks that a number names one of n, or -1 where none may be named.
func (j *judge) index(k, n int, none bool, format string, a ...any) bool {
	if k >= 0 && k < n || none && k == -1 {
		return true
	}
	where := fmt.Sprintf(format, a...)
	switch {
	case n == 0 && none:
		j.fault("%s: %d; there are none, so it must be -1", where, k)
	case n == 0:
		j.fault("%s: %d; there are none to name", where, k)
	case none:
		j.fault("%s: %d; it must be 0 to %d, or -1 for none", where, k, n-1)
	default:
		j.fault("%s: %d; it must be 0 to %d", where, k, n-1)
	}
	return false
}

func (j *judge) money(v int64, where string) {
	if v < 0 || v > mostMoney {
		j.fault("%s: %d; it must be 0 to %d", where, v, int64(mostMoney))
	}
}

// span checks a length or a slot that may not be negative.
func (j *judge) span(v, least Slot, format string, a ...any) {
	if v < least || v > mostSlots {
		j.fault("%s: %d; it must be %d to %d", fmt.Sprintf(format, a...), v, least, mostSlots)
	}
}

func (j *judge) count(v int, format string, a ...any) {
	if v < 0 || v > mostCount {
		j.fault("%s: %d; it must be 0 to %d", fmt.Sprintf(format, a...), v, mostCount)
	}
}

// stands checks crews, places and owners.
func (j *judge) stands() {
	p := j.p
	for c := range p.Crews {
		for k, level := range p.Crews[c].Hours {
			j.count(level.N, "crews[%d].hours[%d].n", c, k)
			if k > 0 && level.From <= p.Crews[c].Hours[k-1].From {
				j.fault("crews[%d].hours[%d].from: %d; it must be after %d, the one before", c, k, level.From, p.Crews[c].Hours[k-1].From)
			}
		}
	}
	for q := range p.Places {
		place := &p.Places[q]
		j.count(place.Room, "places[%d].room", q)
		j.span(place.Move, 0, "places[%d].move", q)
		j.money(place.Hold, fmt.Sprintf("places[%d].hold", q))
		for k, m := range place.Movers {
			j.index(m, len(p.Crews), false, "places[%d].movers[%d]", q, k)
		}
		for k, s := range place.Shut {
			if s.To < s.From {
				j.fault("places[%d].shut[%d]: from %d to %d; it must not end before it begins", q, k, s.From, s.To)
			}
			for m := range k {
				if o := place.Shut[m]; s.From < o.To && o.From < s.To {
					j.fault("places[%d].shut[%d]: overlaps shut[%d]; join them", q, k, m)
				}
			}
		}
	}
	for o := range p.Owners {
		w := &p.Owners[o]
		j.span(w.Arrives, 0, "owners[%d].arrives", o)
		j.span(w.Held, 0, "owners[%d].held", o)
		if max(w.Arrives, w.Held) > p.Slots {
			j.fault("owners[%d].held: it may be moved at %d; it must be within the %d slots", o, max(w.Arrives, w.Held), p.Slots)
		}
		j.index(w.Place, len(p.Places), true, "owners[%d].place", o)
	}
	if len(j.faults) == 0 {
		j.crowds()
	}
}

// crowds checks that there is room for the owners where they are said to be.
func (j *judge) crowds() {
	p := j.p
	for o := range p.Owners {
		w := &p.Owners[o]
		if w.Place < 0 || max(w.Held, w.Arrives) == w.Arrives {
			continue
		}
		with := 0
		for k := range p.Owners {
			if v := &p.Owners[k]; v.Place == w.Place && v.Arrives <= w.Arrives && max(v.Held, v.Arrives) > w.Arrives {
				with++
			}
		}
		if with > p.Places[w.Place].Room {
			j.fault("owners[%d].place: %d owners are in place %d at slot %d; its room is %d", o, with, w.Place, w.Arrives, p.Places[w.Place].Room)
		}
	}
}
