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
)

// boatView is one boat: what is at hand, what is planned and why not earlier, what was done.
type boatView struct {
	Name     string
	Calendar string // where a phone subscribes
	Edit     string // where what was written of it is changed, and its history; none without a book
	History  string
	Size     string
	Place    link
	Since    string
	State    string
	Promised string
	Likely   string
	Hands    []hand // the stages that somebody may press for
	Boat     *pressForm
	Areas    []areaView
	Mix      mixView
	Cures    []cureView
	Record   []recordLine
	Coats    string // where the record of each coat is
	PutOff   string // where what was put off of it is; empty: that is not told
	Decides  string
}

// hand is a stage at hand with its buttons.
type hand struct {
	What     string
	Area     string
	State    string
	Class    string
	Planned  string
	Until    string
	Verdict  *verdictView
	Why      []string
	Facts    []string
	Form     pressForm
	Cautions []caution
	Chosen   bool
	Try      string // where it is seen what another time or place would do
	Add      string // where batches and films are entered, of a coat that was begun
}

// areaView is one area's stages in order.
type areaView struct {
	Name   string
	System string
	Size   string
	Stages []stageLine
}

// stageLine is one stage as a row.
type stageLine struct {
	Name   string
	State  string
	Class  string
	When   string
	Told   string
	Place  string
	Chance string
	Why    string
	Else   string // when a coat could go on instead
	Link   string
	Repair bool
}

func (p *pages) boat(w http.ResponseWriter, r *http.Request) error {
	boat, err := p.boatNamed(r)
	if err != nil {
		return err
	}
	return p.showBoat(w, r, boat, nil, http.StatusOK)
}

// showBoat shows a boat, with a form that was tried as it was filled in.
func (p *pages) showBoat(w http.ResponseWriter, r *http.Request, boat config.Boat, tried *pressForm, status int) error {
	ctx, c, yard := r.Context(), p.clock(r), p.Plans.Yard()
	u := p.units(r)
	work, err := p.Plans.Work(ctx)
	if err != nil {
		return fmt.Errorf("work: %w", err)
	}
	plan, err := p.plan(ctx)
	if err != nil {
		return err
	}
	told, _, err := p.Plans.Told(ctx)
	if err != nil {
		return fmt.Errorf("told plan: %w", err)
	}
	now := work.Place(boat.Name)
	v := boatView{Name: boat.Name, Calendar: calendarLink("boat", boat.Name), Decides: decides, Size: boat.Length.String() + " × " + boat.Beam.String()}
	v.Coats = recordLink(boat.Name)
	if p.Waits != nil {
		v.PutOff = "/waits?" + url.Values{"boat": {boat.Name}}.Encode()
	}
	if p.Book != nil && p.Files != nil {
		v.Edit, v.History = boatLink(boat.Name)+"/edit", boatLink(boat.Name)+"/history"
	}
	v.where(now, boat, c)
	v.launch(plan, boat, c)

	scene := scene{boat: boat, work: work, plan: plan, told: told}
	if v.Record, err = p.record(ctx, scene, c, u); err != nil {
		return err
	}
	if v.Cures, err = p.cures(ctx, scene, c, u); err != nil {
		return err
	}
	air, err := p.airNow(ctx, now.Place, c, yard)
	if err != nil {
		return err
	}
	asked := planner.Key{Boat: boat.Name, Area: r.URL.Query().Get("area"), Stage: r.URL.Query().Get("stage")}
	if tried != nil && tried.Key.Stage != "" {
		asked = tried.Key
	}
	var coat *stageNow
	for _, area := range boat.Areas {
		stages := scene.stages(area)
		v.Areas = append(v.Areas, areaOf(area, stages, c))
		for _, s := range atHand(stages, asked) {
			h := p.hand(r, s, air, c, u)
			h.Chosen = s.Key == asked
			if tried != nil && tried.Key == s.Key {
				h.Form.refill(*tried)
			}
			v.Hands = append(v.Hands, h)
		}
		coat = sooner(coat, nextCoat(stages))
	}
	slices.SortStableFunc(v.Hands, func(a, b hand) int {
		return cmp.Compare(rank(b), rank(a))
	})
	if kinds := sensibleBoat(now); len(kinds) > 0 || tried != nil && tried.Key.Stage == "" {
		f := p.newForm(r, planner.Key{Boat: boat.Name}, kinds, planner.Progress{})
		if tried != nil && tried.Key.Stage == "" {
			f.refill(*tried)
		}
		v.Boat = &f
	}
	if coat != nil {
		v.Mix = mixFor(*coat, boat, yard, air, u)
	}
	return show(p, w, r, screen[boatView]{"boat", boat.Name, status, v})
}

// rank puts what was asked for first, then what runs.
func rank(h hand) int {
	switch {
	case h.Chosen:
		return 2
	case h.Class == "running":
		return 1
	}
	return 0
}

// placeAirNow is the air where a boat stands.
type placeAirNow struct {
	place  config.Place
	moment *conditions.Moment // nil when nothing fresh was measured
	off    string             // why it must not be sprayed in
}

func (p *pages) airNow(ctx context.Context, place string, c clock, yard config.Yard) (placeAirNow, error) {
	var air placeAirNow
	var ok bool
	if air.place, ok = yard.Place(place); !ok {
		return air, nil
	}
	limit := stale(yard)
	past, err := p.Air.Past(ctx, place, c.now.Add(-limit), c.now)
	if err != nil {
		return air, fmt.Errorf("past air of %s: %w", place, err)
	}
	air.moment = fresh(past, c, limit)
	air.off, err = p.offWhy(ctx, air.place, c, yard)
	return air, err
}

// fresh is the latest moment if it is not too old to count.
func fresh(past []conditions.Moment, c clock, limit time.Duration) *conditions.Moment {
	if len(past) == 0 || c.now.Sub(past[len(past)-1].At) > limit {
		return nil
	}
	return &past[len(past)-1]
}

// hand words a stage at hand.
func (p *pages) hand(r *http.Request, s stageNow, air placeAirNow, c clock, u units) hand {
	state, class := stateOf(s)
	h := hand{What: s.Key.Stage, Area: s.Key.Area, State: state, Class: class, Facts: facts(s.Progress, c)}
	within := false
	if s.Stage.Kind == config.Coat && !s.Done {
		// Its own card's limits, which need not be those of the place's next coat.
		card, _ := p.Plans.Yard().Card(s.Stage.Card)
		v := verdictOf(air.moment, felt(p.Plans.Yard().Rules(s.Stage, air.place), air.place), card.Title(), u)
		if air.off != "" && goesOn(s.Progress) {
			v.Stop = stop(air.off, []string{key(s.Key)})
		}
		h.Verdict, within = &v, v.Class == "yes"
	}
	if s.planned && !s.Done {
		h.Planned = plannedWords(s.plan, c)
		if !s.plan.Until.IsZero() && s.plan.Until.After(s.plan.Start) {
			h.Until = c.moment(s.plan.Until)
		}
		for _, w := range s.plan.Waits {
			h.Why = append(h.Why, c.why(own(s.Key, w)))
		}
	}
	if s.planned && s.Started.IsZero() {
		h.Try = tryLink(s.Key, nil)
	}
	if !s.Done {
		card, _ := p.Plans.Yard().Card(s.Stage.Card)
		h.Cautions = distinct(stageCautions(s.Stage.Kind, card, air.place))
	}
	if s.Stage.Kind == config.Coat && !s.Started.IsZero() {
		h.Add = coatLink(s.Key)
	}
	h.Form = p.newForm(r, s.Key, sensible(s.Progress, within), s.Progress)
	return h
}

func areaOf(area config.Area, stages []stageNow, c clock) areaView {
	v := areaView{Name: area.Name, System: area.System, Size: area.Size.String()}
	for _, s := range stages {
		row := stageLine{Name: s.Key.Stage, Link: stageLink(s.Key), Repair: s.Repair}
		row.State, row.Class = stateOf(s)
		switch {
		case s.Done && !s.Ended.IsZero():
			row.When, row.Place = "until "+c.moment(s.Ended), s.Place
		case s.Done:
			row.When = "before it came into this book"
		case s.planned && !s.plan.Start.IsZero():
			row.When, row.Place = c.span(s.plan.Start, s.plan.End), s.plan.Place
			if s.Stage.Kind == config.Coat && s.plan.Chance > 0 {
				row.Chance = chance(s.plan.Chance)
			}
			if f := s.plan.Fallback; f != nil {
				row.Else = fallbackWords(*f, c)
			}
		case s.planned:
			row.When = "no start within the days that the plan looks ahead"
		}
		if s.planned && s.wasTold && !s.Done && !(s.told.Start.Equal(s.plan.Start) && s.told.Place == s.plan.Place) {
			row.Told = "told: " + standing(s.told, c)
		}
		if n := len(s.plan.Waits); n > 0 && !s.Done {
			row.Why = c.cause(own(s.Key, s.plan.Waits[n-1]))
		}
		v.Stages = append(v.Stages, row)
	}
	return v
}

// where words where the boat is.
func (v *boatView) where(now planner.BoatNow, boat config.Boat, c clock) {
	switch {
	case !now.Launched.IsZero():
		v.State = "launched " + c.moment(now.Launched)
	case now.Arrived.IsZero():
		v.State = "expected " + boat.Arrives
	default:
		v.State = "here since " + c.moment(now.Arrived)
		v.Place = link{cmp.Or(now.Place, "place not reported"), ""}
		if now.Place != "" {
			v.Place.To, v.Since = placeLink(now.Place), c.moment(now.Since)
		}
	}
	v.Promised = boat.Promised
}

func (v *boatView) launch(plan planner.Plan, boat config.Boat, c clock) {
	for _, l := range launches(plan, c) {
		if l.Boat.Name == boat.Name {
			v.Promised, v.Likely = l.Promised, l.Likely+" ("+l.Off+"); cautiously "+l.Cautious
		}
	}
}
