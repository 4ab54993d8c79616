package demo

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// crews are the people of the yard. They do what the told plan says as well as
// people do: a little late, a little slower or faster, some reports entered
// hours after the fact, now and then a coat rejected, and one day somebody ill.
// They start a coat only while its window is announced as open, and between two
// passes stop if it no longer is.
type crews struct {
	seed  uint64
	yard  config.Yard
	zone  *time.Location
	begun time.Time
	boats []config.Boat
	w     *world
	score *scorer

	arrivals map[string]time.Time
	here     map[string]bool // arrived, until launched
	gone     map[string]time.Time
	moves    []*move
	jobs     []*job
	finished map[planner.Key]time.Time // when its end was entered
	times    map[planner.Key]int       // how often it was begun
	setOut   map[planner.Key]time.Time // when people will be at a stage they were told to start
	rejected map[area]time.Time        // when people were told to do it again; far off until that is entered
	illOn    string                    // the first day on which somebody may be ill
	illTold  map[planner.Key]string    // the day on which the coat could not be done

	queue   []planner.Press // happened, not entered yet
	entered map[string]time.Time
	count   int
	tally   tally
}

// area is one area of one boat.
type area struct{ boat, name string }

// tally counts what the crews did.
type tally struct {
	stages, coats, passes, stopped, rejections, late, cant, moves int
}

// told is what people go by at one time.
type told struct {
	plan planner.Plan
	open map[planner.Key]bool
}

func newCrews(seed uint64, yard config.Yard, boats []config.Boat, w *world) (*crews, error) {
	zone, err := yard.Location()
	if err != nil {
		return nil, err
	}
	c := &crews{
		seed: seed, yard: yard, zone: zone, begun: w.now, boats: boats, w: w, score: &scorer{yard: yard},
		arrivals: map[string]time.Time{}, here: map[string]bool{}, gone: map[string]time.Time{},
		finished: map[planner.Key]time.Time{}, times: map[planner.Key]int{}, setOut: map[planner.Key]time.Time{}, rejected: map[area]time.Time{},
		illTold: map[planner.Key]string{}, entered: map[string]time.Time{},
	}
	r := luck(seed, "people")
	c.illOn = w.now.AddDate(0, 0, 2+r.IntN(4)).UTC().Format(dayLayout)
	var coming []string
	for _, b := range boats {
		at, err := yard.Time(b.Arrives)
		if err != nil {
			return nil, fmt.Errorf("boat %s, arrives: %w", b.Name, err)
		}
		if len(b.Arrives) == len(dayLayout) { // a bare day: in the morning
			at = at.Add(time.Duration(between(r, 7.5*60, 9.5*60)) * time.Minute)
		}
		if at.After(w.now) {
			at = at.Add(time.Duration(between(r, 0, 60)) * time.Minute)
			coming = append(coming, b.Name)
		}
		c.arrivals[b.Name] = at
	}
	if len(coming) > 2 { // one of several comes a day late
		late := coming[r.IntN(len(coming))]
		c.arrivals[late] = c.arrivals[late].AddDate(0, 0, 1)
	}
	return c, nil
}

// act lets people work from the last step to now and returns what they enter.
func (c *crews) act(now time.Time, step time.Duration, t told) ([]planner.Press, error) {
	c.arrive(now)
	c.finishMoves(now)
	if err := c.work(now, step, t); err != nil {
		return nil, err
	}
	if err := c.begin(now, t); err != nil {
		return nil, err
	}
	c.launch(now, t.plan)
	return c.enter(now), nil
}

// report queues a press. Six in a hundred are entered late; none before an
// earlier one about the same boat. What others must know at once (prompt) is
// entered at once, and all about that boat that was still to be entered with it.
func (c *crews) report(p planner.Press, prompt bool) {
	c.count++
	r := luck(c.seed, "press", p.Key.Boat, p.Key.Area, p.Key.Stage, string(p.Kind), fmt.Sprint(p.Pass, c.times[p.Key]))
	p.Once = fmt.Sprintf("demo-%d-%d", c.seed, c.count)
	p.Entered = p.Happened.Add(time.Duration(between(r, 0, 4)) * time.Minute)
	if prompt {
		c.catchUp(p.Key.Boat, p.Entered)
	} else if r.Float64() < 0.06 {
		p.Entered = p.Happened.Add(time.Duration(between(r, 20, 150)) * time.Minute)
		c.tally.late++
	}
	// What happened before the play, such as an arrival, is entered as it begins.
	for _, least := range []time.Time{c.entered[p.Key.Boat], c.begun} {
		if p.Entered.Before(least) {
			p.Entered = least
		}
	}
	c.entered[p.Key.Boat] = p.Entered
	c.queue = append(c.queue, p)
}

// catchUp has people enter by at what they owe about a boat.
func (c *crews) catchUp(boat string, at time.Time) {
	for i := range c.queue {
		if q := &c.queue[i]; q.Key.Boat == boat && q.Entered.After(at) {
			q.Entered = at
		}
	}
	if c.entered[boat].After(at) {
		c.entered[boat] = at
	}
}

// enter takes the presses out of the queue whose time has come.
func (c *crews) enter(now time.Time) []planner.Press {
	slices.SortStableFunc(c.queue, func(a, b planner.Press) int { return a.Entered.Compare(b.Entered) })
	n := 0
	for n < len(c.queue) && !c.queue[n].Entered.After(now) {
		n++
	}
	ready := slices.Clone(c.queue[:n])
	for _, p := range ready {
		if p.Kind == planner.Rejected {
			c.rejected[area{p.Key.Boat, p.Key.Area}] = now
		}
	}
	c.queue = c.queue[n:]
	return ready
}

// onShift reports whether a crew works at a time and for so long after it. What
// has no crew, such as a cure, needs anybody there to see it begin and end.
func (c *crews) onShift(crew string, at time.Time, need time.Duration) (bool, error) {
	if crew == "" {
		for _, crew := range c.yard.Crews {
			if on, err := c.onShift(crew.Name, at, 0); on || err != nil {
				return on, err
			}
		}
		return false, nil
	}
	need = max(need, time.Minute)
	spans, err := c.yard.ShiftsOf(crew, at, at.Add(need))
	return len(spans) > 0 && !spans[0].From.After(at) && !spans[0].To.Before(at.Add(need)), err
}

// overtime is how long people stay to finish what cannot be left.
const overtime = time.Hour

// begin starts the told stages whose time has come and that people can start.
func (c *crews) begin(now time.Time, t told) error {
	for i, p := range t.plan.Stages {
		if p.Start.IsZero() || c.over(p.Key, t.plan) || c.jobOf(p.Key) != nil || c.barred(p.Key, now, t.plan) {
			continue
		}
		c.bringIn(now, p, t.plan)
		if !c.due(now, p) || !c.here[p.Key.Boat] || c.moving(p.Key.Boat) || c.behind(t.plan, i) {
			continue
		}
		if p.Place != "" && c.w.boats[p.Key.Boat].place != p.Place {
			continue
		}
		if err := c.start(now, p, t); err != nil {
			return err
		}
	}
	return nil
}

// start begins one stage, unless the crew, the air or the window forbid it.
func (c *crews) start(now time.Time, p planner.Planned, t told) error {
	if p.Kind == config.Coat && !t.open[p.Key] || p.Kind == config.Wipe && !c.worthWiping(p.Key, t) {
		return nil
	}
	boat, _ := c.boat(p.Key.Boat)
	j := newJob(c.seed, c.yard, boat, p, c.times[p.Key])
	on, err := c.onShift(j.crew, now, j.unbroken()-overtime)
	if err != nil || !on || !c.hands(j) || c.disturbs(j) || c.ill(now, j) {
		return err
	}
	c.times[p.Key]++
	delete(c.setOut, p.Key)
	c.jobs = append(c.jobs, j)
	start := c.press(planner.Started, j, now)
	for _, point := range c.yard.Checklist[j.stage.Kind] {
		start.Checks = append(start.Checks, planner.Point{Words: point.Words, Go: true})
	}
	c.report(start, j.coats())
	if j.coats() {
		c.lay(j)
	}
	return nil
}

// worthWiping reports that the coat a wipe is for may be put on now: nobody wipes
// a hull that cannot be painted afterwards.
func (c *crews) worthWiping(k planner.Key, t told) bool {
	wiped := false
	for _, p := range t.plan.Stages {
		if p.Key.Boat != k.Boat || p.Key.Area != k.Area {
			continue
		}
		if wiped = wiped || p.Key == k; wiped && p.Kind == config.Coat {
			return t.open[p.Key]
		}
	}
	return true
}

// lay begins the next pass of a coat.
func (c *crews) lay(j *job) {
	j.left = j.passes[j.laid]
	j.wet = c.w.begin(j.key().Boat, j.key().Area, j.card)
	c.score.begin(c.w, j.key(), j.laid+1, j.wet)
}

// due reports whether people really begin now: they set out for the start they
// were told first, though a plan made since may have moved it by some minutes.
func (c *crews) due(now time.Time, p planner.Planned) bool {
	at, set := c.setOut[p.Key]
	switch {
	case p.Start.After(now.Add(time.Hour)): // put off for good
		delete(c.setOut, p.Key)
		return false
	case !set && p.Start.After(now):
		return false
	case !set:
		at = c.dueAt(p)
		c.setOut[p.Key] = at
	}
	return !now.Before(at)
}

// dueAt is when people begin a stage: mostly some minutes late, once in twenty
// an hour or two.
func (c *crews) dueAt(p planner.Planned) time.Time {
	r := luck(c.seed, "late", p.Key.Boat, p.Key.Area, p.Key.Stage, fmt.Sprint(c.times[p.Key]))
	minutes := min(45, 8*r.ExpFloat64())
	if r.Float64() < 0.05 {
		minutes = between(r, 50, 120)
	}
	return p.Start.Add(time.Duration(minutes) * time.Minute)
}

// over reports that people did a stage. It is to be done again only if a later
// plan says so after a rejection.
func (c *crews) over(k planner.Key, plan planner.Plan) bool {
	done, ok := c.finished[k]
	if !ok {
		return false
	}
	again, ok := c.rejected[area{k.Boat, k.Area}]
	return !ok || again.Before(done) || plan.At.Before(again)
}

// barred reports that an area was rejected and people have no plan yet that
// knows of it.
func (c *crews) barred(k planner.Key, now time.Time, plan planner.Plan) bool {
	again, ok := c.rejected[area{k.Boat, k.Area}]
	return ok && (!now.After(again) || plan.At.Before(again))
}

// behind reports that an earlier stage of the same area is not done yet.
func (c *crews) behind(plan planner.Plan, i int) bool {
	p := plan.Stages[i]
	for k, q := range plan.Stages {
		if k == i || q.Key.Boat != p.Key.Boat || q.Key.Area != p.Key.Area || c.over(q.Key, plan) {
			continue
		}
		if !q.Start.IsZero() && (q.Start.Before(p.Start) || q.Start.Equal(p.Start) && k < i) {
			return true
		}
	}
	return false
}

// hands reports that a crew has the people free.
func (c *crews) hands(j *job) bool {
	crew, ok := c.yard.Crew(j.crew)
	if !ok {
		return true
	}
	busy := 0
	for _, o := range c.jobs {
		if o.crew == j.crew && !o.paused {
			busy += o.people
		}
	}
	return busy+j.people <= crew.People || busy == 0
}

// disturbs reports that dust or overspray would meet other work on the boat or
// in its air.
func (c *crews) disturbs(j *job) bool {
	for _, o := range c.jobs {
		if o.crew == "" || j.crew == "" {
			continue // nobody works: a hold
		}
		same := o.key().Boat == j.key().Boat
		near := same || c.sameAir(o.key().Boat, j.key().Boat)
		if near && (o.coats() && j.dusty() || j.coats() && o.dusty()) || same && (o.coats() || j.coats()) {
			return true
		}
	}
	return false
}

func (c *crews) sameAir(a, b string) bool {
	x, y := c.w.boats[a], c.w.boats[b]
	if x == nil || y == nil {
		return false
	}
	px, py := c.w.airs[x.place].place, c.w.airs[y.place].place
	return px.Name == py.Name || px.Air != "" && px.Air == py.Air
}

// ill says once, for the first coat from one day on, that a painter is away; that
// coat waits for the next day.
func (c *crews) ill(now time.Time, j *job) bool {
	today := now.UTC().Format(dayLayout)
	if j.coats() && len(c.illTold) == 0 && today >= c.illOn {
		p := c.press(planner.Cant, j, now)
		p.Note = "one painter is ill today, we are one short"
		c.report(p, true)
		c.illTold[j.key()] = today
		c.tally.cant++
	}
	return c.illTold[j.key()] == today
}

func (c *crews) press(kind planner.PressKind, j *job, at time.Time) planner.Press {
	return planner.Press{Kind: kind, Key: j.key(), Happened: at, By: cmp.Or(j.crew, "yard foreman")}
}

func (c *crews) jobOf(k planner.Key) *job {
	for _, j := range c.jobs {
		if j.key() == k {
			return j
		}
	}
	return nil
}

func (c *crews) boat(name string) (config.Boat, bool) {
	for _, b := range c.boats {
		if b.Name == name {
			return b, true
		}
	}
	return config.Boat{}, false
}
