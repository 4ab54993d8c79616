package waits

import (
	"cmp"
	"slices"
	"time"

	"fairwindow/planner"
)

// Known is all that a history is made from.
type Known struct {
	Moves   []Move          // in the order in which they were told
	First   []planner.Told  // the start that each stage was told first
	Presses []planner.Press // what people reported
}

// Entry is one time that a stage was put off, as it was known then.
type Entry struct {
	Move
	First time.Time      `json:"first"`          // the start that was told first
	Cause planner.Cause  `json:"cause"`          // the one in the way of the start that was told
	Wait  planner.Wait   `json:"wait"`           // that cause with its evidence as known then
	Spans []planner.Wait `json:"spans"`          // what of its waits still stands: a stage that was brought forward again took some back
	Again bool           `json:"again"`          // it moved only because a stage before it did, and is counted with that one
	Rides []planner.Key  `json:"rides,omitzero"` // stages of the boat that moved with it, by the same plan
}

// Stands is how much later than the start first told the move has made the stage,
// what was won back since left out.
func (e Entry) Stands() time.Duration {
	var sum time.Duration
	for _, w := range e.Spans {
		sum += w.To.Sub(w.From)
	}
	return sum
}

// Later is how much later people were told that it starts; 0 for one without a start.
func (e Entry) Later() time.Duration {
	if e.To.IsZero() {
		return 0
	}
	return e.To.Sub(e.From)
}

// History is every time that a stage was put off: for each hour between the start first
// told and the start that was, or is told now, one cause.
func History(k Known) []Entry {
	first := map[planner.Key]time.Time{}
	for _, t := range k.First {
		first[t.Key] = t.Start
	}
	began, cants := reported(planner.Standing(k.Presses))
	moves := map[planner.Key][]Move{}
	var order []planner.Key
	for _, t := range k.First {
		order = append(order, t.Key)
	}
	for _, m := range k.Moves {
		moves[m.Key] = append(moves[m.Key], m)
	}
	var all []Entry
	for _, key := range order {
		a := account{first: first[key], end: first[key]}
		for _, m := range moves[key] {
			a.take(m, began[key])
		}
		a.begin(key, began[key], cants[key])
		all = append(all, a.entries...)
	}
	slices.SortStableFunc(all, func(a, b Entry) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID))
	})
	ride(all)
	return all
}

// account is one stage's: its spans of waiting, each with the entry it came from.
type account struct {
	first, end time.Time
	entries    []Entry
	last       Move // the newest that told a place
}

func (a *account) take(m Move, began planner.Press) {
	a.last = m
	redone := !began.Happened.IsZero() && !m.At.Before(began.Happened)
	if m.Later() {
		e := Entry{Move: m, First: a.first, Wait: m.Main()}
		e.Cause = e.Wait.Cause
		e.Again = e.Cause == planner.EarlierMoved
		// What was begun and is told once more is done once more: the hours are those of the stages after it.
		if !m.To.IsZero() && !redone {
			e.Spans = since(m.Waits, later(a.first, a.end), m.To)
		}
		a.entries = append(a.entries, e)
	}
	if !redone && !m.To.IsZero() {
		a.reach(m.To)
	}
}

// reach sets the start that counts now; what lies behind it is won back.
func (a *account) reach(to time.Time) {
	if to.Before(a.end) {
		for i := range a.entries {
			a.entries[i].Spans = since(a.entries[i].Spans, time.Time{}, to)
		}
	}
	a.end = to
}

// begin closes the account with the start that was.
func (a *account) begin(key planner.Key, began planner.Press, cants []planner.Press) {
	if began.Happened.IsZero() {
		return
	}
	if began.Kind == planner.Finished || began.Kind == planner.PassDone {
		if began.Happened.Before(a.end) {
			a.reach(began.Happened)
		}
		return
	}
	if began.Happened.After(a.end) && began.Happened.After(a.first) {
		from := later(a.first, a.end)
		w := planner.Wait{From: from, To: began.Happened, Cause: Unreported}
		for _, c := range cants {
			if !c.Happened.After(began.Happened) {
				w.Cause, w.Evidence = planner.Absent, planner.Evidence{Person: c.By, Note: c.Note, When: c.Happened}
			}
		}
		m := Move{
			At: began.Happened, By: began.By, Key: key, Kind: a.last.Kind, Place: a.last.Place, Crew: a.last.Crew, From: a.end, To: began.Happened,
			Fixes: a.last.Fixes, Waits: []planner.Wait{w},
		}
		a.entries = append(a.entries, Entry{Move: m, First: a.first, Cause: w.Cause, Wait: w, Spans: m.Waits})
	}
	a.reach(began.Happened)
}

// since cuts waits to what lies between two times.
func since(waits []planner.Wait, from, to time.Time) []planner.Wait {
	var kept []planner.Wait
	for _, w := range waits {
		if s, ok := within(planner.Span{From: w.From, To: w.To}, from, to); ok {
			w.From, w.To = s.From, s.To
			kept = append(kept, w)
		}
	}
	return kept
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// reported is when each stage first began, and who said that it could not be done. Of a stage
// that was only reported as finished, as a cure is, nobody knows when it began: what was told stands,
// but it had begun by then.
func reported(presses []planner.Press) (began map[planner.Key]planner.Press, cants map[planner.Key][]planner.Press) {
	began, cants = map[planner.Key]planner.Press{}, map[planner.Key][]planner.Press{}
	for _, p := range presses {
		switch p.Kind {
		case planner.Started, planner.Override, planner.Resumed, planner.PassDone, planner.Finished:
			if was, ok := began[p.Key]; !ok || p.Happened.Before(was.Happened) {
				began[p.Key] = p
			}
		case planner.Cant:
			cants[p.Key] = append(cants[p.Key], p)
		}
	}
	return began, cants
}

// ride notes which stages moved only because another of their boat did, by one plan: they
// are told with the first that moved for a cause of its own.
func ride(all []Entry) {
	type told struct {
		plan int64
		boat string
	}
	head := map[told]int{}
	for i := range all {
		e := &all[i]
		of := told{e.Plan, e.Key.Boat}
		if h, ok := head[of]; e.Plan != 0 && (!ok || all[h].Again && !e.Again) {
			head[of] = i
		}
	}
	for i := range all {
		e := &all[i]
		if h, ok := head[told{e.Plan, e.Key.Boat}]; ok && h != i && e.Again {
			all[h].Rides = append(all[h].Rides, e.Key)
		}
	}
}
