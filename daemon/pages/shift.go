package pages

import (
	"cmp"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// shiftView is a crew's own page: what is on now, what comes, what it stands in.
type shiftView struct {
	Crew    string
	Crews   []crewLink
	Made    int64  // our time, Unix ms: a phone's clock may be wrong
	AsOf    string // the same in words, for when nothing can be asked
	Zone    string // the yard's, for what the script writes
	Hours   string // 12 or 24, as this person reads them
	Now     *shiftStage
	Next    []shiftStage
	Air     *shiftAir
	Mix     mixView
	Hotter  string // the hull's, by the end of the pass
	Decides string
}

type crewLink struct {
	Name, To string
	Here     bool
}

// shiftStage is one stage as its painter reads it.
type shiftStage struct {
	What, Boat, Area, Place string
	Link                    string
	State, Class            string
	When                    string
	Do                      string
	Counts                  []count
	Pots                    []potClock
	Facts, Foretold         []string
	Cautions                []caution
	Form                    shiftForm
}

// onShift is how many stages to come a crew is shown.
const onShift = 4

func (p *pages) shift(w http.ResponseWriter, r *http.Request) error {
	if crew := r.URL.Query().Get("crew"); crew != "" {
		if _, ok := p.Plans.Yard().Crew(crew); !ok {
			return missing(fmt.Sprintf("There is no crew called %q in the yard file.", crew))
		}
		rememberCrew(w, crew)
	}
	return p.showShift(w, r, shiftForms{}, http.StatusOK)
}

// shiftForms are forms that were tried, as they were filled in.
type shiftForms struct {
	crew    string
	press   *shiftForm
	reading *readingForm
}

func (p *pages) showShift(w http.ResponseWriter, r *http.Request, tried shiftForms, status int) error {
	c, yard := p.clock(r), p.Plans.Yard()
	crew := cmp.Or(tried.crew, p.crewOf(r))
	v := shiftView{Crew: crew, Made: c.now.UnixMilli(), AsOf: c.hour(c.now), Zone: c.zone.String(), Hours: "24", Decides: decides}
	if c.twelve {
		v.Hours = "12"
	}
	for _, one := range yard.Crews {
		v.Crews = append(v.Crews, crewLink{one.Name, shiftLink(one.Name), one.Name == crew})
	}
	q := r.URL.Query()
	asked := planner.Key{Boat: q.Get("boat"), Area: q.Get("area"), Stage: q.Get("stage")}
	if tried.press != nil {
		asked = tried.press.Key
	}
	stages, err := p.crewStages(r.Context(), crew, asked)
	if err != nil {
		return err
	}
	if len(stages) > 0 {
		if err := p.atWork(r, &v, stages, tried); err != nil {
			return err
		}
	}
	return show(p, w, r, screen[shiftView]{"shift", "Shift", status, v})
}

// atWork fills in the stage at hand, those to come, and what the first stands in.
func (p *pages) atWork(r *http.Request, v *shiftView, stages []crewStage, tried shiftForms) error {
	for i, s := range stages[:min(len(stages), 1+onShift)] {
		one, air, err := p.shiftStage(r, s, v.Crew)
		if err != nil {
			return err
		}
		if tried.press != nil && tried.press.Key == s.Key {
			one.Form.refill(*tried.press)
		}
		if i > 0 {
			v.Next = append(v.Next, one)
			continue
		}
		v.Now = &one
		if v.Air, err = p.shiftAir(r, s, air, tried.reading); err != nil {
			return err
		}
	}
	i := slices.IndexFunc(stages, func(s crewStage) bool { return s.Stage.Kind == config.Coat && !s.Done })
	if i < 0 {
		return nil
	}
	return p.shiftMix(r, v, stages[i])
}

// crewStage is a stage of a crew's, with its boat.
type crewStage struct {
	stageNow
	boat  config.Boat
	place string // where it is done
	first string // what must come first and is not reported, in words; empty if all is
	draft bool   // only the newest plan has it: people were not told of it yet
}

// crewStages are what a crew is at, then what it was told to do, by its start; first of
// all the stage that was asked for, whoever's it is.
func (p *pages) crewStages(ctx context.Context, crew string, asked planner.Key) ([]crewStage, error) {
	boats, err := p.Plans.Boats(ctx)
	if err != nil {
		return nil, fmt.Errorf("boats: %w", err)
	}
	work, err := p.Plans.Work(ctx)
	if err != nil {
		return nil, fmt.Errorf("work: %w", err)
	}
	// People go by what they were told, not by a draft that nobody has released.
	plan, id, err := p.Plans.Told(ctx)
	if err != nil {
		return nil, fmt.Errorf("told plan: %w", err)
	}
	if id == 0 {
		if plan, err = p.plan(ctx); err != nil {
			return nil, err
		}
	}
	// What runs ends as the newest plan has it: it was begun when it was, not when it was told.
	newest, err := p.plan(ctx)
	if err != nil {
		return nil, err
	}
	runs := starts(newest)
	is, _ := p.Plans.Yard().Crew(crew)
	at := p.Plans.Now()
	var all []crewStage
	for _, boat := range boats {
		now := work.Place(boat.Name)
		for _, area := range boat.Areas {
			first := ""
			if now.Arrived.IsZero() {
				first = boat.Name + " is not reported to be here"
			}
			for _, s := range (scene{boat, work, plan, plan}).stages(area) {
				// What a stop or a rejection put in came after people were told.
				newer, drafted := runs[s.Key]
				untold := drafted && !s.planned && !s.Done
				if untold {
					s.plan, s.planned = newer, true
				}
				if s.Key == asked || theirs(s, is) {
					one := crewStage{s, boat, cmp.Or(s.plan.Place, now.Place), first, untold}
					if s.Running {
						one.place = cmp.Or(now.Place, s.Place)
					}
					if drafted && s.Running && newer.State == planner.Running {
						one.plan = newer
					}
					all = append(all, one)
				}
				if done := s.Done || s.Stage.Skill == ""; !done && first == "" {
					first = s.Key.Stage + " is not reported finished"
				}
			}
		}
	}
	slices.SortStableFunc(all, func(a, b crewStage) int {
		return cmp.Or(cmp.Compare(turn(a, asked), turn(b, asked)), a.due(at).Compare(b.due(at)))
	})
	return all, nil
}

// theirs reports whether a stage is a crew's to do: told to it, or running without a
// word of the plan, by skill.
func theirs(s stageNow, crew config.Crew) bool {
	switch {
	case s.Done || crew.Name == "":
		return false
	case s.planned && s.plan.Crew != "":
		return s.plan.Crew == crew.Name && (s.Running || !s.plan.Start.IsZero())
	}
	return s.Running && slices.Contains(crew.Skills, s.Stage.Skill)
}

// due is when a stage can be begun as people were told, and not before now where
// something else must be done first.
func (s crewStage) due(now time.Time) time.Time {
	if s.first != "" && s.plan.Start.Before(now) {
		return now
	}
	return s.plan.Start
}

func turn(s crewStage, asked planner.Key) int {
	switch {
	case s.Key == asked:
		return 0
	case s.Running && !s.Paused:
		return 1
	case s.Running:
		return 2
	case s.Held != "":
		return 4
	}
	return 3
}

// shiftLink leads to a crew's page.
func shiftLink(crew string) string { return "/shift?" + url.Values{"crew": {crew}}.Encode() }

// startLink leads to one stage's go / no-go list.
func startLink(k planner.Key) string {
	return "/shift?" + url.Values{"boat": {k.Boat}, "area": {k.Area}, "stage": {k.Stage}}.Encode()
}

const crewCookie = "fairwindow_crew"

func rememberCrew(w http.ResponseWriter, crew string) {
	http.SetCookie(w, &http.Cookie{
		Name: crewCookie, Value: base64.RawURLEncoding.EncodeToString([]byte(crew)), Path: "/",
		MaxAge: int((365 * 24 * time.Hour).Seconds()), HttpOnly: true, SameSite: http.SameSiteStrictMode,
	})
}

// crewOf is the crew that was asked for, else the one of this browser, else the first of
// the person's own; nothing where the yard has several and nobody has chosen.
func (p *pages) crewOf(r *http.Request) string {
	yard := p.Plans.Yard()
	kept := ""
	if cookie, err := r.Cookie(crewCookie); !errors.Is(err, http.ErrNoCookie) {
		if text, err := base64.RawURLEncoding.DecodeString(cookie.Value); err == nil {
			kept = string(text)
		}
	}
	candidates := []string{r.URL.Query().Get("crew"), kept}
	if person, ok := yard.Person(p.reader(r).name); ok {
		candidates = append(candidates, person.Crews...)
	}
	if len(yard.Crews) == 1 {
		candidates = append(candidates, yard.Crews[0].Name)
	}
	for _, name := range candidates {
		if _, ok := yard.Crew(name); ok {
			return name
		}
	}
	return ""
}
