package pages

import (
	"cmp"
	"slices"
	"time"

	"fairwindow/planner"
)

// visit is a stay with the stages done in it, before it has a height.
type visit struct {
	boat     string
	from, to time.Time
	loose    bool // no block holds it; it is as long as its stages
	told     bool // only people were told so: the boat is not planned there then
	stages   []seat
	ghosts   []seat
	rows     int
}

// seat is a stage on a row of its visit, with its label.
type seat struct {
	planner.Planned
	label string
	row   int
}

// visits gathers the stages planned in a place under the blocks that hold it; a
// stage outside any block is a visit of its own.
func visits(place string, ax axis, plan, ghost planner.Plan) []visit {
	var all []visit
	for _, b := range plan.Blocks {
		if b.Place == place {
			all = append(all, visit{boat: b.Boat, from: b.From, to: b.To})
		}
	}
	home := func(s *planner.Planned) int {
		return slices.IndexFunc(all, func(v visit) bool {
			return v.boat == s.Key.Boat && s.Start.Before(v.to) && v.from.Before(s.End)
		})
	}
	label := labels(plan)
	planned := map[planner.Key]*planner.Planned{}
	// A stage is large, and a plan is gone through once for each place: no copies.
	for i := range plan.Stages {
		s := &plan.Stages[i]
		if len(ghost.Stages) > 0 {
			planned[s.Key] = s
		}
		if s.Place == place && !s.Start.IsZero() {
			i := home(s)
			if i < 0 {
				all = append(all, visit{boat: s.Key.Boat, from: s.Start, to: s.End, loose: true})
				i = len(all) - 1
			}
			v := &all[i]
			// Work that runs began before the hold that is still planned.
			if s.Start.Before(v.from) {
				v.from = s.Start
			}
			if v.loose && s.End.After(v.to) {
				v.to = s.End
			}
			v.stages = append(v.stages, seat{Planned: *s, label: label(s.Key)})
		}
	}
	var were []visit
	for i := range ghost.Stages {
		s := &ghost.Stages[i]
		now := planned[s.Key]
		same := now != nil && now.Place == s.Place && now.Start.Equal(s.Start)
		if s.Place == place && !s.Start.IsZero() && !same {
			one := seat{Planned: *s, label: label(s.Key)}
			if i := home(s); i >= 0 {
				all[i].ghosts = append(all[i].ghosts, one)
			} else {
				were = addTold(were, one, ghost.Blocks)
			}
		}
	}
	all = append(all, were...)
	all = slices.DeleteFunc(all, func(v visit) bool {
		_, _, shown := ax.cut(v.from, v.to)
		return !shown
	})
	for i := range all {
		all[i].seat(ax)
	}
	return all
}

// addTold puts a stage with those of the same hold, of which only people were told.
func addTold(were []visit, s seat, holds []planner.Block) []visit {
	for i := range were {
		v := &were[i]
		if v.boat == s.Key.Boat && slices.ContainsFunc(holds, func(b planner.Block) bool {
			return b.Boat == v.boat && b.Place == s.Place && s.Start.Before(b.To) && b.From.Before(s.End) && v.from.Before(b.To) && b.From.Before(v.to)
		}) {
			v.ghosts = append(v.ghosts, s)
			if s.Start.Before(v.from) {
				v.from = s.Start
			}
			if s.End.After(v.to) {
				v.to = s.End
			}
			return were
		}
	}
	return append(were, visit{boat: s.Key.Boat, from: s.Start, to: s.End, told: true, ghosts: []seat{s}})
}

// seat gives each stage on the board the first row on which its bar and its label are free;
// where people were told it would be is shown on that row too.
func (v *visit) seat(ax axis) {
	rows, of := newRows(), map[planner.Key]int{}
	for i := range v.stages {
		s := &v.stages[i]
		if _, _, shown := ax.cut(s.Start, s.End); !shown {
			continue
		}
		s.row = rows.take(s.Start, ax.labelled(*s))
		of[s.Key] = s.row
	}
	others := newRows()
	v.rows = len(rows.free)
	for i := range v.ghosts {
		g := &v.ghosts[i]
		if _, _, shown := ax.cut(g.Start, g.End); !shown {
			continue
		}
		row, here := of[g.Key]
		if !here {
			row = others.take(g.Start, g.End)
		}
		g.row = row
		v.rows = max(v.rows, row+1)
	}
}

// labels names stages on the board; the area stands with it where the boat has more than one.
func labels(plan planner.Plan) func(planner.Key) string {
	areas := map[string]string{}
	several := map[string]bool{}
	for i := range plan.Stages {
		s := &plan.Stages[i]
		if area, known := areas[s.Key.Boat]; known && area != s.Key.Area {
			several[s.Key.Boat] = true
		}
		areas[s.Key.Boat] = s.Key.Area
	}
	return func(k planner.Key) string {
		if several[k.Boat] {
			return k.Stage + " · " + k.Area
		}
		return k.Stage
	}
}

// levels puts visits that overlap on levels of their own.
func levels(all []visit) [][]visit {
	slices.SortStableFunc(all, func(a, b visit) int {
		return cmp.Or(a.from.Compare(b.from), cmp.Compare(a.boat, b.boat))
	})
	var levels [][]visit
	rows := newRows()
	for _, v := range all {
		n := rows.take(v.from, v.to)
		if n == len(levels) {
			levels = append(levels, nil)
		}
		levels[n] = append(levels[n], v)
	}
	return levels
}

// rows gives each span the first row that is free for it.
type rows struct{ free []time.Time }

func newRows() *rows { return &rows{} }

func (r *rows) take(from, to time.Time) int {
	for i, free := range r.free {
		if !free.After(from) {
			r.free[i] = to
			return i
		}
	}
	r.free = append(r.free, to)
	return len(r.free) - 1
}
