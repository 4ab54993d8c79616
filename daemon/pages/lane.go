package pages

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

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

// Widths on the board, in pixels, to tell where a label fits. The board is
// taken as narrow as a small desk's; where days are narrow the style sheet has
// the same least width, and the board scrolls.
const (
	boardWidth  = 1000
	leastDay    = 115
	leastFar    = 73 // beyond a week
	letterWidth = 6.8
	labelPad    = 10
	nameWidth   = 8 // a letter of a boat's name

	leastLetters = 6 // of a label that is cut short
)

// wide is how much time a text takes up on the board. Beyond a week days are too
// narrow for texts beside bars; titles and the list still tell.
func (a axis) wide(text string) time.Duration {
	width := letterWidth*float64(utf8.RuneCountInString(text)) + labelPad
	return time.Duration(width / a.day() * float64(24*time.Hour))
}

// day is the least width of a day, in pixels.
func (a axis) day() float64 {
	least := float64(leastDay)
	if a.crowded() {
		least = leastFar
	}
	return max(least, boardWidth/(a.to.Sub(a.from).Hours()/24))
}

// short is as much of a text as a bar so wide has room for: nothing, where that says nothing.
func (a axis) short(text string, w share) string {
	letters := []rune(text)
	room := int((float64(w)/100*a.to.Sub(a.from).Hours()/24*a.day() - labelPad) / letterWidth)
	switch {
	case room >= len(letters):
		return text
	case room < leastLetters:
		return ""
	}
	return strings.TrimRight(string(letters[:room-1]), " ·") + "…"
}

// dense says that the board has so many days that a stage is too narrow to be taken up:
// its boat's stay is the link.
func (a axis) dense() bool { return a.to.Sub(a.from) > (2*usualDays*24+1)*time.Hour }

// crowded says that the board has too many days for labels beside bars.
func (a axis) crowded() bool { return a.to.Sub(a.from) > (usualDays*24+1)*time.Hour }

// labelled is where a stage's bar and its label end.
func (a axis) labelled(s seat) time.Time {
	from := s.Start
	if from.Before(a.from) {
		from = a.from
	}
	first := stretches(s.Planned)[0]
	if a.crowded() || first.To.Sub(from) >= a.wide(s.label) {
		return s.End
	}
	if end := first.To.Add(a.wide(s.label)); end.After(s.End) {
		return end
	}
	return s.End
}

// stretches are the parts of a stage, one a shift, or all of it.
func stretches(s planner.Planned) []planner.Span {
	if len(s.Work) == 0 {
		return []planner.Span{{From: s.Start, To: s.End}}
	}
	return s.Work
}

// lane is one place's row.
type lane struct {
	Place  link
	Kind   string
	Height int
	Shut   []shutGroup
	Stays  []stay
	Bars   []bar
	Ghosts []bar // where people were told it would be
}

// stay is a boat's hold of a place: a block.
type stay struct {
	X, W  share
	Y, H  int
	Spill bool // its name stands past its end: there is room, and nothing there
	Boat  string
	Link  string
	Title string
	Told  bool // only people were told so
}

// bar is one stretch of work on a stage.
type bar struct {
	X, W   share
	Y      int
	Class  string
	Label  string // in the bar
	Beside string // the label where it does not fit in
	Link   string
	Title  string
	Tail   share // the width of a coat with its protected time after it
	// First and Last are of a stage's stretches on the board, which are one link.
	First, Last bool
	Differs     bool // from the other plan
	Plain       bool // a mark without a link and words of its own
	key         planner.Key
}

// newLane lays out the stays of a place one beneath the other where they overlap.
func newLane(place config.Place, ax axis, plan, ghost planner.Plan, c clock) lane {
	l := lane{Place: link{place.Name, placeLink(place.Name)}, Kind: kindBeside(place)}
	y := lanePad
	for _, level := range levels(visits(place.Name, ax, plan, ghost)) {
		rows := 1
		for _, v := range level {
			rows = max(rows, v.rows)
		}
		height := nameHeight + rows*barPitch
		for i, v := range level {
			next := ax.to
			if i+1 < len(level) {
				next = level[i+1].from
			}
			l.lay(v, next, ax, c, y, height)
		}
		y += height + lanePad
	}
	l.Height = max(y, leastLane)
	return l
}

// lay puts one visit on the lane; next is when another comes after it.
func (l *lane) lay(v visit, next time.Time, ax axis, c clock, y, height int) {
	x, w, ok := ax.cut(v.from, v.to)
	if ok {
		name := time.Duration((nameWidth*float64(utf8.RuneCountInString(v.boat)) + labelPad) / ax.day() * float64(24*time.Hour))
		from := v.from
		if from.Before(ax.from) {
			from = ax.from
		}
		title := "%s holds %s, %s"
		if v.told {
			title = "told: %s in %s, %s"
		}
		l.Stays = append(l.Stays, stay{
			Told:  v.told,
			Spill: v.to.Before(from.Add(name)) && !next.Before(from.Add(name)),
			X:     x, W: w, Y: y, H: height, Boat: v.boat, Link: boatLink(v.boat),
			Title: fmt.Sprintf(title, v.boat, l.Place.Name, c.span(v.from, v.to)),
		})
	}
	for _, s := range v.stages {
		l.Bars = append(l.Bars, bars(s, ax, next, c, y+nameHeight+barPitch*s.row)...)
	}
	for _, s := range v.ghosts {
		for _, ghost := range bars(s, ax, next, c, y+nameHeight+barPitch*s.row) {
			ghost.Title = "told: " + ghost.Title
			l.Ghosts = append(l.Ghosts, ghost)
		}
	}
}

// bars are the stretches of one stage: a shift's part each, or one for all. The
// first on the board bears the label, which ends where the next visit begins.
func bars(s seat, ax axis, next time.Time, c clock, y int) []bar {
	spans := stretches(s.Planned)
	var all []bar
	for i, span := range spans {
		x, w, ok := ax.cut(span.From, span.To)
		if !ok {
			continue
		}
		b := bar{X: x, W: w, Y: y, Class: stateClass(s.State), Link: stageLink(s.Key), Title: told(s.Planned, c)}
		fits := w >= ax.at(ax.from.Add(ax.wide(s.label)))
		// Beside the bar, unless that lies past the board's end.
		beside := !fits && !ax.crowded() && len(all) == 0 && span.To.Add(ax.wide(s.label)).Before(ax.to)
		switch {
		case beside:
			b.Beside = ax.short(s.label, ax.at(next)-ax.at(span.To))
		case fits || len(all) == 0:
			b.Label = ax.short(s.label, w)
		}
		if i > 0 {
			b.Title = key(s.Key) + ", goes on " + c.span(span.From, span.To)
			if len(all) == 0 {
				b.Title = told(s.Planned, c)
			}
		}
		if b.Plain = ax.dense(); ax.crowded() { // the list has the rest
			b.Title = s.Key.Stage + ", " + c.span(s.Start, s.End) + ", " + string(s.State)
		}
		if _, tail, ok := ax.cut(span.To, s.Protected); ok && i == len(spans)-1 {
			b.Tail = w + tail
		}
		if b.Plain {
			b.Label = ""
		}
		b.key, b.First = s.Key, len(all) == 0
		all = append(all, b)
	}
	if n := len(all); n > 0 {
		all[n-1].Last = true
	}
	return all
}

// told is a stage in one line.
func told(s planner.Planned, c clock) string {
	line := key(s.Key) + ", " + c.span(s.Start, s.End) + ", " + string(s.State)
	if s.Chance > 0 && s.Kind == config.Coat {
		line += ", chance " + chance(s.Chance)
	}
	if !s.Protected.IsZero() {
		line += ", to be kept within its limits until " + c.moment(s.Protected)
	}
	return line
}

// percent keeps its sign on the line of its number.
func percent(part float64) string { return number(100*part, 0) + "\u00a0%" }

// chance is how likely something foretold is. None is sure.
func chance(part float64) string {
	if part > .99 {
		return "over 99\u00a0%"
	}
	return percent(part)
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

// TailY is where a coat's protected time is drawn: under its bar's foot.
func (b bar) TailY() int { return b.Y + barHeight - 5 }
