package planner

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// model is a problem made ready for planning: names are indices, times slots.
type model struct {
	p         Problem
	yard      config.Yard
	grid      engine.Grid
	now       engine.Slot // the first slot that is not past
	work      Work
	out       *outlook
	places    []place
	crews     []crew
	movers    []int // crews with the skill "move"
	equipment []equipment
	lifted    bool // some place has a lift
	cuts      map[cut]*engine.Timetable
	boats     []boat
	areas     []area
	cards     map[string]*card
	engaged   map[*job]engaged
	tight     map[Key]tightened // by Check, along an earlier plan
	last      *schedule         // of the plan that was made
	told      map[Key]Told
	first     map[Key]Told
	// The least deviations from a limit, in standard deviations of the error.
	firm, pencil float64
	spans        *conditions.Spans
	scores       []float64 // of the span that is being judged
	rules        map[ruling]*conditions.Rules
	starts       map[start]outcome // of coats, as they were judged
}

type place struct {
	config.Place
	open  *engine.Timetable
	air   int // index of the shared air
	like  int // index of the first place that differs from it in nothing but its name
	moves engine.Slot
	clear engine.Slot // clearance after spraying
	lift  int         // index of the equipment that takes boats in and out, or -1
}

type crew struct {
	config.Crew
	hours *engine.Timetable
}

type boat struct {
	config.Boat
	here     bool
	place    int // where it is, or is put; -1 unknown
	arrives  engine.Slot
	promised time.Time
	areas    []int
	hull     *hull
	surface  [parts]*conditions.Moment // by part, as last measured or worked out
	gone     bool
}

type area struct {
	config.Area
	boat  int
	after int // index of the area that is finished first, or -1
	jobs  []*job
	all   []config.Stage
	film  *film
	ended engine.Slot // of the last stage done
	last  Key
	// underway is the block whose first stages are done, in the boat's present place.
	underway string
	pinned   int // blocks up to the last stage that is pinned
}

func newModel(p Problem) (*model, error) {
	if p.At.IsZero() || p.Horizon <= 0 {
		return nil, fmt.Errorf("a plan needs a time to be made at and a horizon longer than nothing, not %v and %v", p.At, p.Horizon)
	}
	work := Replay(p.Yard.WithDefaults(), p.Boats, p.Presses)
	if err := bounded(p, work); err != nil {
		return nil, err
	}
	m := &model{p: p, yard: p.Yard.WithDefaults(), cards: map[string]*card{}, rules: map[ruling]*conditions.Rules{}, told: keyed(p.Told), first: keyed(p.First)}
	m.grid = engine.Grid{Origin: p.At.UTC().Truncate(step), Step: step}
	m.grid.Slots = m.grid.Steps(p.Horizon)
	m.now = m.grid.Ceil(p.At)
	m.trust(conditions.Deviations(float64(m.yard.Confidence.Plan.SI)), conditions.Deviations(float64(m.yard.Confidence.Pencil.SI)))
	m.spans = p.Experience.Spans(step)
	for _, c := range m.yard.Cards {
		m.cards[c.Name] = newCard(c)
	}
	if err := m.addEquipment(); err != nil {
		return nil, err
	}
	if err := m.addPlaces(); err != nil {
		return nil, err
	}
	if err := m.addCrews(); err != nil {
		return nil, err
	}
	m.addCuts()
	p.Yard = m.yard
	m.work = work
	m.out = newOutlook(p, m.grid, m.work)
	for _, b := range p.Boats {
		if err := m.addBoat(b); err != nil {
			return nil, err
		}
	}
	m.engage()
	return m, m.acyclic()
}

func keyed(all []Told) map[Key]Told {
	by := make(map[Key]Told, len(all))
	for _, t := range all {
		by[t.Key] = t
	}
	return by
}

func (m *model) end() time.Time { return m.grid.Time(m.grid.Slots) }

// clock fills a timetable with n over spans of time: a slot is open if all of it is.
func (m *model) clock(spans []config.Span, n int) *engine.Timetable {
	t := engine.NewTimetable(m.grid.Slots, 0)
	for _, s := range spans {
		t.Raise(m.grid.Ceil(s.From), m.grid.Floor(s.To), n)
	}
	return t
}

func (m *model) addPlaces() error {
	airs := map[string]int{}
	var opens [][]config.Span
	for i, p := range m.yard.Places {
		hours, err := m.yard.OpenHours(p.Name, m.grid.Origin, m.end())
		if err != nil {
			return err
		}
		name := p.Air
		if name == "" {
			name = "\x00" + p.Name
		}
		if _, ok := airs[name]; !ok {
			airs[name] = i
		}
		one := place{Place: p, open: m.clock(hours, 1), air: airs[name], moves: m.grid.Steps(p.Move.Std()), lift: m.equipmentNamed(p.Lift)}
		if p.Lift != "" && one.lift < 0 {
			return fmt.Errorf("place %s: lift: the yard has no equipment %q", p.Name, p.Lift)
		}
		if p.Booth != nil {
			one.clear = m.grid.Steps(p.Booth.Clearance.Std())
		}
		m.lifted = m.lifted || one.lift >= 0
		one.like = i
		for n := range m.places {
			if one.like == i && p.Air == "" && alike(m.places[n].Place, p) && slices.Equal(opens[n], hours) {
				one.like = n
			}
		}
		opens = append(opens, hours)
		m.places = append(m.places, one)
	}
	return nil
}

// alike reports whether two places differ in nothing but their names.
func alike(a, b config.Place) bool {
	a.Name, b.Name = "", ""
	return reflect.DeepEqual(a, b)
}

func (m *model) addCrews() error {
	for i, c := range m.yard.Crews {
		hours, err := m.yard.ShiftsOf(c.Name, m.grid.Origin, m.end())
		if err != nil {
			return err
		}
		m.crews = append(m.crews, crew{Crew: c, hours: m.clock(hours, c.People)})
		if slices.Contains(c.Skills, "move") {
			m.movers = append(m.movers, i)
		}
	}
	return nil
}

func (m *model) placeNamed(name string) int {
	return slices.IndexFunc(m.places, func(p place) bool { return p.Name == name })
}

func (m *model) addBoat(b config.Boat) error {
	state := m.work.Place(b.Name)
	one := boat{Boat: b, here: !state.Arrived.IsZero() || state.Place != "", place: m.placeNamed(state.Place), gone: !state.Launched.IsZero()}
	if one.place < 0 {
		one.place = m.placeNamed(b.Place)
	}
	arrives, err := m.yard.Time(b.Arrives)
	if err != nil && !one.here {
		return fmt.Errorf("boat %s: arrives: %w", b.Name, err)
	}
	if one.arrives = m.now; !one.here {
		one.arrives = max(m.now, m.grid.Ceil(arrives))
	}
	if one.promised, err = m.yard.Time(b.Promised); err != nil {
		return fmt.Errorf("boat %s: promised: %w", b.Name, err)
	}
	for i := range m.p.Hulls {
		if h := &m.p.Hulls[i]; h.Boat == b.Name {
			h.over(&one.surface)
		}
	}
	if one.hull, err = m.out.hull(b); err != nil {
		return fmt.Errorf("boat %s: %w", b.Name, err)
	}
	index, names := len(m.boats), map[string]int{}
	if !one.gone {
		for _, a := range b.Areas {
			made, err := m.newArea(index, one, a)
			if err != nil {
				return fmt.Errorf("boat %s, area %s: %w", b.Name, a.Name, err)
			}
			names[a.Name] = len(m.areas)
			one.areas = append(one.areas, len(m.areas))
			m.areas = append(m.areas, made)
		}
	}
	for _, i := range one.areas {
		m.areas[i].after = -1
		if name := m.areas[i].After; name != "" {
			after, ok := names[name]
			if !ok {
				return fmt.Errorf("boat %s, area %s: after: the boat has no area %q", b.Name, m.areas[i].Name, name)
			}
			m.areas[i].after = after
		}
	}
	m.boats = append(m.boats, one)
	return nil
}

func (m *model) newArea(index int, b boat, a config.Area) (area, error) {
	if _, ok := m.yard.System(a.System); !ok {
		return area{}, fmt.Errorf("the yard has no system %q", a.System)
	}
	made := area{Area: a, boat: index, ended: math.MinInt32}
	block := "\x00"
	for _, p := range m.work.Stages(b.Name, a.Name) {
		made.all = append(made.all, p.Stage)
		if p.Done {
			made.last, block = p.Key, p.Stage.Block
			if !p.Ended.IsZero() {
				made.ended = max(made.ended, m.grid.Ceil(p.Ended))
			}
			if err := m.done(&made, p); err != nil {
				return area{}, err
			}
			continue
		}
		j, err := m.newJob(len(m.areas), a, p)
		if err != nil {
			return area{}, fmt.Errorf("stage %s: %w", p.Stage.Name, err)
		}
		made.jobs = append(made.jobs, j)
	}
	for n, jobs := range blocksOf(made.jobs) {
		if slices.ContainsFunc(jobs, func(j *job) bool { return !j.at.Pinned.IsZero() }) {
			made.pinned = n + 1
		}
	}
	if len(made.jobs) > 0 && b.here {
		first := made.jobs[0]
		if first.stage.Block == block && block != "" || first.at.Running {
			made.underway = first.stage.Block
			if made.underway == "" {
				made.underway = first.key.Stage
			}
		}
	}
	return made, nil
}

// done carries a finished stage into the area's film.
func (m *model) done(a *area, p Progress) error {
	switch {
	case p.Stage.Kind == config.Coat:
		c := m.cards[p.Stage.Card]
		if c == nil {
			return fmt.Errorf("stage %s: the yard has no card %q", p.Stage.Name, p.Stage.Card)
		}
		a.film = m.filmOf(c, partOf(a.Area), p)
	case a.film != nil && p.Stage.Kind == config.Sand:
		a.film.sanded = true
	case a.film != nil && revives(p.Stage.Name):
		a.film.revived = true
	}
	return nil
}

// filmOf is a coat that is on. Its clock is the problem's, else one that ran on
// an unknown surface; without a time it is of unknown age.
func (m *model) filmOf(c *card, part int, p Progress) *film {
	f := &film{card: c, key: p.Key, part: part}
	coated := p.coated()
	read := c.Cure.Start(coated)
	is := func(n CoatNow) bool { return n.Key == p.Key }
	switch i := slices.IndexFunc(m.p.Coats, is); {
	case i >= 0:
		read = m.p.Coats[i].Clock
	case coated.IsZero():
		f.ageless = true
		return f
	case coated.After(m.grid.Origin): // entered with a time still to come: it cures from then
		f.coated = m.grid.Ceil(coated)
		return f
	}
	clock := clockAt(c.Cure, read, m.grid.Origin)
	f.clock, f.coated, f.read = &clock, m.grid.Floor(clock.Coated), m.grid.Floor(clock.At)
	f.left = 1 - float64(clock.At.Sub(m.grid.Time(f.read)))/float64(step)
	return f
}

// acyclic refuses areas that wait for each other.
func (m *model) acyclic() error {
	for i := range m.areas {
		seen := []string{m.areas[i].Name}
		for a := m.areas[i].after; a >= 0; a = m.areas[a].after {
			seen = append(seen, m.areas[a].Name)
			if a == i {
				return fmt.Errorf("boat %s: areas wait for each other: %s; take one \"after\" out", m.boats[m.areas[i].boat].Name, strings.Join(seen, " after "))
			}
			if len(seen) > len(m.areas)+1 {
				break // a circle further on is reported from there
			}
		}
	}
	return nil
}
