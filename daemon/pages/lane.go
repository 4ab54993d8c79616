package pages

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// share is a part of the board's width, in percent. Bars are set by parts of
// the width, so that the words in them keep their size on any screen.
type share float64

func (s share) String() string {
	return strconv.FormatFloat(float64(s), 'f', 2, 64) + "%"
}

// axis is the board's stretch of time; elapsed time is its measure, so that a
// day on which the clocks change is longer or shorter.
type axis struct{ from, to time.Time }

func (a axis) at(t time.Time) share {
	return share(100 * float64(t.Sub(a.from)) / float64(a.to.Sub(a.from)))
}

// cut is the part of a span that is on the board.
func (a axis) cut(from, to time.Time) (x, width share, ok bool) {
	if from.Before(a.from) {
		from = a.from
	}
	if to.After(a.to) {
		to = a.to
	}
	if !from.Before(to) {
		return 0, 0, false
	}
	return a.at(from), a.at(to) - a.at(from), true
}

// Heights on the board, in pixels.
const (
	nameHeight = 20 // a boat's name above its stages
	barHeight  = 24
	barPitch   = 28
	lanePad    = 6
)

// lane is one place's row.
type lane struct {
	Place  link
	Kind   config.PlaceKind
	Height int
	Lines  []share // midnights
	Shut   []shutGroup
	Stays  []stay
	Bars   []bar
	Ghosts []bar // where people were told it would be
}

// stay is a boat's hold of a place: a block.
type stay struct {
	X, W  share
	Y, H  int
	Boat  string
	Link  string
	Title string
}

// bar is one stretch of work on a stage.
type bar struct {
	X, W  share
	Y     int
	Class string
	Label string
	Link  string
	Title string
	Tail  share // the width of a coat's protected time after it
}

// visit is a stay with the stages done in it, before it has a height.
type visit struct {
	boat     string
	from, to time.Time
	stages   []planner.Planned
	ghosts   []planner.Planned
	rows     int
}

// newLane lays out the stays of a place one beneath the other where they overlap.
func newLane(place config.Place, ax axis, plan, ghost planner.Plan, c clock) lane {
	l := lane{Place: link{place.Name, placeLink(place.Name)}, Kind: place.Kind}
	for t := c.midnight(ax.from, 1); t.Before(ax.to); t = c.midnight(t, 1) {
		l.Lines = append(l.Lines, ax.at(t))
	}
	y := lanePad
	for _, level := range levels(visits(place.Name, ax, plan, ghost)) {
		rows := 1
		for _, v := range level {
			rows = max(rows, v.rows)
		}
		height := nameHeight + rows*barPitch
		for _, v := range level {
			l.lay(v, ax, c, y, height)
		}
		y += height + lanePad
	}
	l.Height = max(y, nameHeight+barPitch+2*lanePad)
	return l
}

// lay puts one visit on the lane.
func (l *lane) lay(v visit, ax axis, c clock, y, height int) {
	x, w, ok := ax.cut(v.from, v.to)
	if ok {
		l.Stays = append(l.Stays, stay{
			X: x, W: w, Y: y, H: height, Boat: v.boat, Link: boatLink(v.boat),
			Title: fmt.Sprintf("%s holds %s, %s", v.boat, l.Place.Name, c.span(v.from, v.to)),
		})
	}
	row := newRows()
	for _, s := range v.stages {
		top := y + nameHeight + barPitch*row.take(s.Start, s.End)
		l.Bars = append(l.Bars, bars(s, ax, c, top)...)
	}
	row = newRows()
	for _, s := range v.ghosts {
		top := y + nameHeight + barPitch*row.take(s.Start, s.End)
		if x, w, ok := ax.cut(s.Start, s.End); ok {
			l.Ghosts = append(l.Ghosts, bar{X: x, W: w, Y: top, Title: "told: " + key(s.Key) + ", " + c.span(s.Start, s.End)})
		}
	}
}

// bars are the stretches of one stage: a shift's part each, or one for all.
func bars(s planner.Planned, ax axis, c clock, y int) []bar {
	spans := s.Work
	if len(spans) == 0 {
		spans = []planner.Span{{From: s.Start, To: s.End}}
	}
	var all []bar
	for i, span := range spans {
		x, w, ok := ax.cut(span.From, span.To)
		if !ok {
			continue
		}
		b := bar{X: x, W: w, Y: y, Class: stateClass(s.State), Label: s.Key.Area + ": " + s.Key.Stage, Link: stageLink(s.Key), Title: told(s, c)}
		if i > 0 {
			b.Title = key(s.Key) + ", goes on " + c.span(span.From, span.To)
		}
		if _, tail, ok := ax.cut(span.To, s.Protected); ok && i == len(spans)-1 {
			b.Tail = tail
		}
		all = append(all, b)
	}
	return all
}

// told is a stage in one line.
func told(s planner.Planned, c clock) string {
	line := key(s.Key) + ", " + c.span(s.Start, s.End) + ", " + string(s.State)
	if s.Chance > 0 && s.Kind == config.Coat {
		line += ", chance " + percent(s.Chance)
	}
	if !s.Protected.IsZero() {
		line += ", to be kept within its limits until " + c.moment(s.Protected)
	}
	return line
}

func percent(part float64) string { return number(100*part, 0) + " %" }

// visits gathers the stages planned in a place under the blocks that hold it; a
// stage outside any block is a visit of its own.
func visits(place string, ax axis, plan, ghost planner.Plan) []visit {
	var all []visit
	for _, b := range plan.Blocks {
		if b.Place == place {
			all = append(all, visit{boat: b.Boat, from: b.From, to: b.To})
		}
	}
	home := func(s planner.Planned) *visit {
		for i := range all {
			v := &all[i]
			if v.boat == s.Key.Boat && !s.Start.Before(v.from) && s.Start.Before(v.to) {
				return v
			}
		}
		all = append(all, visit{boat: s.Key.Boat, from: s.Start, to: s.End})
		return &all[len(all)-1]
	}
	planned := starts(plan)
	for _, s := range plan.Stages {
		if s.Place == place && !s.Start.IsZero() {
			v := home(s)
			v.stages = append(v.stages, s)
		}
	}
	for _, s := range ghost.Stages {
		now, still := planned[s.Key]
		same := still && now.Place == s.Place && now.Start.Equal(s.Start)
		if s.Place == place && !s.Start.IsZero() && !same {
			v := home(s)
			v.ghosts = append(v.ghosts, s)
		}
	}
	all = slices.DeleteFunc(all, func(v visit) bool {
		_, _, shown := ax.cut(v.from, v.to)
		return !shown
	})
	for i := range all {
		v := &all[i]
		rows, ghosts := newRows(), newRows()
		for _, s := range v.stages {
			rows.take(s.Start, s.End)
		}
		for _, s := range v.ghosts {
			ghosts.take(s.Start, s.End)
		}
		v.rows = max(len(rows.free), len(ghosts.free))
	}
	return all
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

// stateClass is a state's class in the style sheet and the name of its pattern.
func stateClass(s planner.State) string {
	switch s {
	case planner.Running:
		return "running"
	case planner.OpenNow:
		return "open"
	case planner.PencilledIn:
		return "pencilled"
	case planner.AtRisk:
		return "risk"
	case planner.Unconfirmed:
		return "unconfirmed"
	case planner.Unplaced:
		return "unplaced"
	}
	return "firm"
}
