package pages

import (
	"fmt"
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
	leastLane  = 70 // a place's name and kind beside it
)

// leastLabel is the part of the board, one in so many, that is too narrow for
// a label: two letters' width. The title still tells.
const leastLabel = 150

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
	l.Height = max(y, leastLane)
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
		for _, ghost := range bars(s, ax, c, top) {
			ghost.Title = "told: " + ghost.Title
			l.Ghosts = append(l.Ghosts, ghost)
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
		b := bar{X: x, W: w, Y: y, Class: stateClass(s.State), Label: s.Key.Stage + " · " + s.Key.Area, Link: stageLink(s.Key), Title: told(s, c)}
		if span.To.Sub(span.From) < ax.to.Sub(ax.from)/leastLabel {
			b.Label = ""
		}
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

// percent keeps its sign on the line of its number.
func percent(part float64) string { return number(100*part, 0) + "\u00a0%" }

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
