package pages

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// boardView is the screen on the wall outside a place: read from afar, touched by nobody.
type boardView struct {
	Place   string
	Light   string // as the screen's address asks
	Now     int64  // Unix ms
	Clock   string
	Day     string
	Sign    boardSign
	Runs    boardRun
	Others  []string // what else goes on here
	Margin  string
	Unit    string
	Wide    bool   // of more figures than a screen has room for in the largest letters
	Ask     string // the limit of the margin
	Trend   string
	Age     string
	Air     []boardWord
	Figures []boardFigure
	Gone    string // what the screen says once it hears nothing more, up to the time
}

// boardRun is what goes on, or what is to come.
type boardRun struct {
	What, Stage, Who string
	Pass             string // 2 of 3
}

// boardWord is a small fact.
type boardWord struct{ Name, Says string }

// boardFigure is one large figure. With a time it counts by itself: down to it, or up from it.
type boardFigure struct {
	Name, Says string
	Unit       string // written smaller behind it
	To, Since  int64  // Unix ms; 0: it does not count
	Warn       bool   // said by a mark before it too
}

// boardLink leads to the board of a place.
func boardLink(place string) string { return "/board/" + url.PathEscape(place) }

// trendOver is the span over which the margin's course is told.
const trendOver = time.Hour

// boardScene is all that one board is made from.
type boardScene struct {
	place    config.Place
	yard     config.Yard
	c        clock
	u        units
	boats    []config.Boat
	work     planner.Work
	plan     planner.Plan
	running  []planner.Progress // coats first
	past     []conditions.Moment
	now      *conditions.Moment // measured; nil: stale or none
	readings []sensors.Reading
	rules    conditions.Rules
	whose    string
	off      string // why the booth must not be sprayed in
}

// boardsView leads to the boards.
type boardsView struct {
	Places []link
	Key    bool // a screen that nobody signs in at needs one
}

// boards lists the places, each with its board.
func (p *pages) boards(w http.ResponseWriter, r *http.Request) error {
	var all []link
	for _, place := range p.Plans.Yard().Places {
		all = append(all, link{place.Name, boardLink(place.Name)})
	}
	return show(p, w, r, screen[boardsView]{"boards", "Boards", http.StatusOK, boardsView{all, !p.who(r).open}})
}

func (p *pages) board(w http.ResponseWriter, r *http.Request) error {
	name, c, u := r.PathValue("place"), p.clock(r), p.units(r)
	place, ok := p.Plans.Yard().Place(name)
	if !ok {
		return missing(fmt.Sprintf("There is no place called %q in the yard file.", name))
	}
	s, err := p.boardScene(r.Context(), place, c, u)
	if err != nil {
		return err
	}
	wet, err := p.wetCoats(r.Context(), s)
	if err != nil {
		return err
	}
	pots, err := p.pots(r.Context(), s)
	if err != nil {
		return err
	}
	ahead, err := p.Air.Judged(r.Context(), name, c.now, c.now.Add(chartAhead))
	if err != nil {
		return fmt.Errorf("verdicts of %s: %w", name, err)
	}
	v := boardView{Place: name, Now: c.now.UnixMilli(), Clock: c.hour(c.now), Day: c.day(c.now), Light: p.reader(r).light}
	if light := r.URL.Query().Get("light"); light == "light" || light == "dark" {
		v.Light = light
	}
	v.Gone = "Take conditions as unknown."
	v.Sign = s.sign(wet, pots)
	v.Runs, v.Others = s.runs()
	v.air(s)
	v.Figures = s.figures(wet, pots, ahead)
	return show(p, w, r, screen[boardView]{"board", "Board of " + name, http.StatusOK, v})
}

func (p *pages) boardScene(ctx context.Context, place config.Place, c clock, u units) (boardScene, error) {
	s := boardScene{place: place, yard: p.Plans.Yard(), c: c, u: u}
	var err error
	if s.work, err = p.Plans.Work(ctx); err != nil {
		return s, fmt.Errorf("work: %w", err)
	}
	all, err := p.Plans.Boats(ctx)
	if err != nil {
		return s, fmt.Errorf("boats: %w", err)
	}
	for _, b := range all {
		if now := s.work.Place(b.Name); now.Place == place.Name && now.Launched.IsZero() {
			s.boats = append(s.boats, b)
		}
	}
	if s.plan, err = p.plan(ctx); err != nil {
		return s, err
	}
	if s.past, err = p.Air.Past(ctx, place.Name, c.now.Add(-2*trendOver), c.now); err != nil {
		return s, fmt.Errorf("past air of %s: %w", place.Name, err)
	}
	s.now = fresh(s.past, c, stale(s.yard))
	if s.rules, s.whose, err = p.rules(ctx, place); err != nil {
		return s, err
	}
	if s.readings, err = p.Air.Readings(ctx, place.Name, c.now.Add(-max(stale(s.yard), clearanceOf(place)+time.Hour)), c.now.Add(2*tooSoon)); err != nil {
		return s, fmt.Errorf("readings of %s: %w", place.Name, err)
	}
	if s.off, err = p.offWhy(ctx, place, c, s.yard); err != nil {
		return s, err
	}
	s.run()
	return s, nil
}

// run finds what goes on here; a coat's own card rules while it is put on.
func (s *boardScene) run() {
	for _, b := range s.boats {
		for _, a := range b.Areas {
			for _, one := range s.work.Stages(b.Name, a.Name) {
				if one.Running && !one.Done {
					s.running = append(s.running, one)
				}
			}
		}
	}
	slices.SortStableFunc(s.running, func(a, b planner.Progress) int {
		rank := func(p planner.Progress) int {
			switch {
			case goesOn(p):
				return 0
			case p.Paused:
				return 2
			}
			return 1
		}
		return cmp.Or(cmp.Compare(rank(a), rank(b)), a.Started.Compare(b.Started))
	})
	if coat, ok := s.coat(); ok {
		card, _ := s.yard.Card(coat.Stage.Card)
		s.rules, s.whose = felt(s.yard.Rules(coat.Stage, s.place), s.place), card.Title()
	}
}

// coat is the coat that is being put on.
func (s *boardScene) coat() (planner.Progress, bool) {
	if len(s.running) == 0 || !goesOn(s.running[0]) {
		return planner.Progress{}, false
	}
	return s.running[0], true
}

// next is the stage that is planned here after now.
func (s *boardScene) next() (planner.Planned, bool) {
	var first planner.Planned
	for _, one := range s.plan.Stages {
		if one.Place == s.place.Name && one.State != planner.Running && !one.Start.IsZero() && one.End.After(s.c.now) &&
			(first.Start.IsZero() || one.Start.Before(first.Start)) {
			first = one
		}
	}
	return first, !first.Start.IsZero()
}

// runs is what stands large at the top, and the rest of what goes on.
func (s *boardScene) runs() (boardRun, []string) {
	var others []string
	for i, one := range s.running {
		if i > 0 {
			others = append(others, key(one.Key))
		}
	}
	if len(s.running) == 0 {
		one, ok := s.next()
		if !ok {
			return boardRun{What: "Nothing planned"}, nil
		}
		return boardRun{What: one.Key.Boat + " " + one.Key.Area, Stage: "next: " + one.Key.Stage, Who: one.Crew}, nil
	}
	one := s.running[0]
	is := boardRun{What: one.Key.Boat + " " + one.Key.Area, Stage: one.Key.Stage, Who: one.By}
	if one.Paused {
		is.Stage += ", paused"
	}
	if one.Stage.Kind == config.Coat {
		most := max(one.Stage.Passes, 1)
		is.Pass = fmt.Sprintf("%d of %d", min(len(one.Passes)+1, most), most)
	}
	return is, others
}
