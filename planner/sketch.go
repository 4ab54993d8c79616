package planner

import (
	"math"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// sketch is the problem as the engine sees it: every stage a task, every place with
// the air and the hulls of one that nothing has moved in or out of, as tables. What a
// hull brings along from elsewhere, and what only a whole layout tells, is left out.
// So the engine's answer is a proposal, and is laid out again.
type sketch struct {
	*model
	engine.Problem
	tasks  map[*job]int
	hands  []int // per boat: the crew of one that its areas share
	tables map[string]int
}

// perMinute is the engine's units of cost in a cost-minute, which it counts whole.
const perMinute = 100

func units(minutes float64) int64 { return int64(math.Round(minutes * perMinute)) }

func newSketch(m *model) *sketch {
	k := &sketch{model: m, tasks: map[*job]int{}, tables: map[string]int{}}
	w := m.yard.Weights
	k.Slots, k.Airs = m.grid.Slots, 2*len(m.places)
	k.Weights = engine.Weights{Move: units(w.Moving), Unplaced: units(max(w.Lateness, 0.1) * givenUp)}
	for _, c := range m.crews {
		k.Crews = append(k.Crews, engine.Crew{Name: c.Name, Hours: c.hours.Levels()})
	}
	for i := range m.places {
		k.addPlace(&m.places[i])
	}
	for i := range m.boats {
		k.addBoat(i)
	}
	k.orders()
	return k
}

func (k *sketch) addPlace(p *place) {
	one := engine.Place{Name: p.Name, Room: p.Boats, Move: p.moves, Movers: k.movers, Waits: p.Kind == config.Standing}
	if p.Kind == config.Booth {
		one.Hold = units(k.yard.Weights.Holding * step.Minutes())
	}
	one.Shut = p.open.Shut()
	k.Places = append(k.Places, one)
}

// addBoat adds a boat with its stages and, after all of them, its launch.
func (k *sketch) addBoat(i int) {
	b := &k.boats[i]
	k.Owners = append(k.Owners, engine.Owner{Name: b.Name, Arrives: b.arrives, Place: b.place})
	k.hands = append(k.hands, len(k.Crews))
	k.Crews = append(k.Crews, engine.Crew{Name: b.Name, Hours: []engine.Level{{N: 1}}})
	if b.gone || len(b.areas) == 0 {
		return
	}
	var last []int
	for _, a := range b.areas {
		last = append(last, k.addArea(a))
	}
	for _, a := range b.areas {
		jobs := k.areas[a].jobs
		if after := k.areas[a].after; after >= 0 && len(jobs) > 0 && len(k.areas[after].jobs) > 0 {
			k.follows(k.areas[after].jobs[len(k.areas[after].jobs)-1], jobs[0])
		}
	}
	launch := engine.Task{Name: b.Name, Owner: i, Release: b.arrives, Modes: []engine.Mode{k.idle()}}
	launch.Due = &engine.Due{At: max(0, k.grid.Ceil(b.promised)), Weight: units(k.yard.Weights.Lateness * step.Minutes()), Ready: -1}
	k.Tasks = append(k.Tasks, launch)
	for n, a := range b.areas {
		if last[n] < 0 {
			continue
		}
		lag := engine.Lag{Before: last[n], After: len(k.Tasks) - 1}
		k.Lags = append(k.Lags, lag)
		if coat := coatOf(k.areas[a].jobs); coat != nil && coat.card.instead("launch") != "" {
			k.ripens(coat, "launch", len(k.Tasks)-1)
		}
	}
}

func coatOf(jobs []*job) *job {
	var coat *job
	for _, j := range jobs {
		if j.coats() {
			coat = j
		}
	}
	return coat
}

// idle is a mode of what nobody works at, wherever the boat is.
func (k *sketch) idle() engine.Mode {
	return engine.Mode{Place: -1, Starts: -1, Works: -1, Soak: -1, Keeps: -1, Cost: -1}
}

// addArea adds an area's stages in their blocks and order; it returns its last task.
func (k *sketch) addArea(a int) int {
	area := &k.areas[a]
	last := -1
	var coat *job
	for _, jobs := range blocksOf(area.jobs) {
		block := engine.Block{Owner: area.boat}
		for _, j := range jobs {
			t := k.addTask(a, j)
			if last >= 0 {
				k.Lags = append(k.Lags, engine.Lag{Before: last, After: t})
			}
			k.cured(a, coat, j)
			k.perishes(area.jobs, j)
			if j.coats() {
				coat = j
			}
			last = t
			block.Tasks = append(block.Tasks, t)
		}
		if !jobs[0].anywhere() {
			k.Blocks = append(k.Blocks, block)
		}
	}
	return last
}

func (k *sketch) follows(before, after *job) {
	k.Lags = append(k.Lags, engine.Lag{Before: k.tasks[before], After: k.tasks[after]})
}

// addTask adds a stage with its modes: each place and crew that may do it.
func (k *sketch) addTask(a int, j *job) int {
	boat := k.areas[a].boat
	t := engine.Task{Name: j.key.String(), Owner: boat, Release: k.release(a, j), Pauses: j.pauses(), Least: k.grid.Steps(leastPart), Fixed: j.at.Running}
	if told, ok := k.told[j.key]; ok && !j.at.Running {
		weight := k.changeWeight(told) * step.Minutes()
		t.Told = &engine.Told{Start: max(0, k.grid.Floor(told.Start)), Place: k.placeNamed(told.Place), Weight: units(weight), Other: units(k.changeWeight(told) * otherPlace)}
	}
	switch {
	case j.at.Running:
		t.Modes = []engine.Mode{k.running(boat, j)}
	case j.anywhere():
		mode := k.idle()
		if until := j.stage.Until; until == "" {
			mode.Long = j.slots
		}
		t.Modes = []engine.Mode{mode}
	default:
		for p := range k.places {
			if k.places[p].Kind != config.Standing && j.may(k.places[p].Place) && k.places[p].Fits(k.boats[boat].Boat) {
				t.Modes = append(t.Modes, k.modes(boat, j, p)...)
			}
		}
	}
	k.tasks[j] = len(k.Tasks)
	k.Tasks = append(k.Tasks, t)
	return k.tasks[j]
}

// release is the first slot at which a stage may begin, as far as it is known before
// anything is planned.
func (k *sketch) release(a int, j *job) engine.Slot {
	area := &k.areas[a]
	if j.at.Running {
		return k.now
	}
	r := max(k.now, area.ended, k.boats[area.boat].arrives, j.again)
	switch {
	case j.at.Held != "":
		return k.grid.Slots
	case !j.at.Pinned.IsZero():
		r = max(r, k.grid.Ceil(j.at.Pinned))
	}
	if told, ok := k.told[j.key]; ok && !told.Start.After(k.p.At.Add(k.yard.Notice.Frozen.Std())) {
		r = max(r, k.grid.Ceil(told.Start))
	}
	return r
}

// running is the one way in which a stage that runs goes on.
func (k *sketch) running(boat int, j *job) engine.Mode {
	mode := k.idle()
	mode.Place, mode.Long = k.boats[boat].place, j.slots
	if e, ok := k.engaged[j]; ok { // its crew's hours have it out already
		mode.Long = e.end - k.now
	}
	mode.Uses = []engine.Use{{Crew: k.hands[boat], N: 1}}
	if j.coats() && mode.Place >= 0 {
		mode.Keeps = k.keeps(boat, j, mode.Place)
	}
	return mode
}

// modes are a place with each crew that may do the stage there.
func (k *sketch) modes(boat int, j *job, p int) []engine.Mode {
	mode := k.idle()
	mode.Place, mode.Long = p, j.slots
	if j.coats() {
		mode.Starts = k.starts(boat, j, p)
		mode.Keeps = k.keeps(boat, j, p)
		mode.Sides = append(mode.Sides, engine.Side{Air: k.places[p].air, Far: true, Upto: k.dustFree(boat, j, p)})
		if clear := k.places[p].clear; clear > 0 {
			mode.Sides = append(mode.Sides, engine.Side{Air: len(k.places) + p, Far: true, Upto: -1, Past: clear})
		}
	} else if j.worked() {
		mode.Works = k.works(boat, j, p)
		mode.Starts = mode.Works
	}
	if j.stage.Dusty() {
		mode.Sides = append(mode.Sides, engine.Side{Air: k.places[p].air, Upto: -1})
	}
	if j.worked() && !j.coats() && k.places[p].clear > 0 {
		mode.Sides = append(mode.Sides, engine.Side{Air: len(k.places) + p, Upto: -1})
	}
	if !j.worked() {
		return []engine.Mode{mode}
	}
	var all []engine.Mode
	for _, c := range j.crews {
		one := mode
		one.Uses = []engine.Use{{Crew: c, N: j.people}, {Crew: k.hands[boat], N: 1}}
		all = append(all, one)
	}
	return all
}
