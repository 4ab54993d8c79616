package planner

import (
	"fmt"
	"slices"
	"time"

	"fairwindow/config"
	"fairwindow/planner/engine"
)

// Broken is one rule that a plan breaks.
type Broken struct {
	Key  Key    `json:"key"`
	Rule string `json:"rule"` // place, crew, equipment, shift, order, cure, recoat, life, dust, clearance, conditions, people's word, whole
	What string `json:"what"`
}

// Check goes through a plan as a foreman would, stage by stage, and reports what
// could not be done as planned. It is the guard against a mistake of the
// search, so it shares nothing with it but the nouns, the presses' fold and the
// air that the problem foretells: stays, hulls, cures and limits are worked out
// anew, step by step. No plan is told while anything is broken.
func Check(p Problem, plan Plan) []Broken { return check(p, plan, nil) }

// check is the same in airs that are worked out already, if they are.
func check(p Problem, plan Plan, airs *outlook) []Broken {
	c := &checker{p: p, plan: plan, yard: p.Yard.WithDefaults(), air: airs}
	c.work = Replay(c.yard, p.Boats, p.Presses)
	c.whole()
	c.rooms()
	c.swaps()
	c.people()
	c.equipment()
	c.order()
	c.words()
	for _, b := range p.Boats {
		c.boat(b)
	}
	c.dust()
	return c.broken
}

// checker is one check under way.
type checker struct {
	p      Problem
	plan   Plan
	yard   config.Yard
	work   Work
	broken []Broken
	wet    []wetSpan
	air    *outlook
}

// wetSpan is a coat from its first drop until it is dust-free.
type wetSpan struct {
	key   Key
	place string
	Span
	sprayed time.Time
}

func (c *checker) report(k Key, rule, format string, args ...any) {
	c.broken = append(c.broken, Broken{k, rule, fmt.Sprintf(format, args...)})
}

func (s Planned) placed() bool { return s.State != Unplaced }

func (s Planned) worked() bool { return s.Stage.Skill != "" }

// parts are the spans in which people are at it, from at on.
func (s Planned) parts(at time.Time) []Span {
	if len(s.Work) > 0 {
		return s.Work
	}
	from := s.Start
	if s.State == Running && from.Before(at) {
		from = at
	}
	return []Span{{from, s.End}}
}

func (s Span) meets(o Span) bool { return s.From.Before(o.To) && o.From.Before(s.To) }

func (s Span) within(o Span) bool { return !s.From.Before(o.From) && !s.To.After(o.To) }

// whole: every open stage is in the plan once, and nothing else but repairs.
func (c *checker) whole() {
	seen := map[Key]int{}
	for _, s := range c.plan.Stages {
		seen[s.Key]++
		if _, known := c.work.Stage(s.Key); !known && !s.Repair {
			c.report(s.Key, "whole", "no such stage")
		}
		if done, ok := c.work.Stage(s.Key); ok && done.Done {
			c.report(s.Key, "whole", "it is done already")
		}
	}
	for _, b := range c.p.Boats {
		if !c.work.Place(b.Name).Launched.IsZero() {
			continue
		}
		for _, a := range b.Areas {
			for _, s := range c.work.Stages(b.Name, a.Name) {
				if !s.Done && seen[s.Key] != 1 {
					c.report(s.Key, "whole", "planned %d times", seen[s.Key])
				}
			}
		}
	}
}

// rooms: no place holds more boats than it can, no boat is in two places or in
// none between its first stay and its last, and each fits.
func (c *checker) rooms() {
	for _, p := range c.yard.Places {
		var starts []Block
		for _, b := range c.plan.Blocks {
			if b.Place == p.Name {
				starts = append(starts, b)
			}
		}
		for _, b := range starts {
			n := 0
			for _, o := range starts {
				if !o.From.After(b.From) && b.From.Before(o.To) {
					n++
				}
			}
			// Two boats that people reported in one place are people's, not the plan's.
			fact := !b.From.After(c.p.At) && c.work.Place(b.Boat).Place == p.Name
			if n > max(p.Boats, 1) && !fact {
				c.report(Key{Boat: b.Boat}, "place", "%d boats in %s at %v", n, p.Name, b.From)
			}
		}
	}
	for _, boat := range c.p.Boats {
		blocks := c.blocksOf(boat.Name)
		for i, b := range blocks {
			if i > 0 && !b.From.Equal(blocks[i-1].To) {
				c.report(Key{Boat: boat.Name}, "place", "in %s until %v and in %s from %v", blocks[i-1].Place, blocks[i-1].To, b.Place, b.From)
			}
			place, ok := c.yard.Place(b.Place)
			if !ok || !place.Fits(boat) && b.From.After(c.p.At) {
				c.report(Key{Boat: boat.Name}, "place", "%s does not hold it", b.Place)
			}
		}
	}
}

func (c *checker) blocksOf(boat string) []Block {
	var blocks []Block
	for _, b := range c.plan.Blocks {
		if b.Boat == boat {
			blocks = append(blocks, b)
		}
	}
	slices.SortFunc(blocks, func(a, b Block) int { return a.From.Compare(b.From) })
	return blocks
}

// job is people at something for a while.
type crewJob struct {
	key Key
	Span
	people int
}

// people: each crew is on shift and has hands enough; a boat is worked at in one
// area at a time; work happens where the boat stands, in open places.
func (c *checker) people() {
	for _, crew := range c.yard.Crews {
		jobs := c.jobsOf(crew.Name)
		shifts, err := c.yard.ShiftsOf(crew.Name, c.p.At.Add(-24*time.Hour), c.plan.Until)
		if err != nil {
			c.report(Key{}, "shift", "%v", err)
		}
		for _, j := range jobs {
			sum := 0
			for _, o := range jobs {
				if !o.From.After(j.From) && j.From.Before(o.To) {
					sum += o.people
				}
			}
			if sum > crew.People && !c.running(j.key) {
				c.report(j.key, "crew", "%d people of %s at %v, which has %d", sum, crew.Name, j.From, crew.People)
			}
			on := slices.ContainsFunc(shifts, func(s config.Span) bool { return j.within(Span(s)) })
			if !on && !c.running(j.key) {
				c.report(j.key, "shift", "%s is not on shift from %v to %v", crew.Name, j.From, j.To)
			}
		}
	}
	for i, s := range c.plan.Stages {
		if !s.placed() || !s.worked() {
			continue
		}
		for _, part := range s.parts(c.p.At) {
			c.where(s, part)
			for _, o := range c.plan.Stages[i+1:] {
				if !o.placed() || !o.worked() || o.Key.Boat != s.Key.Boat || o.State == Running || s.State == Running {
					continue
				}
				if slices.ContainsFunc(o.parts(c.p.At), part.meets) {
					c.report(o.Key, "place", "worked at together with %s of %s", s.Key.Stage, s.Key.Area)
				}
			}
		}
	}
}

func (c *checker) running(k Key) bool {
	s, ok := c.work.Stage(k)
	return ok && s.Running
}

func (c *checker) jobsOf(crew string) []crewJob {
	var jobs []crewJob
	for _, s := range c.plan.Stages {
		if s.Crew == crew && s.placed() {
			for _, part := range s.parts(c.p.At) {
				jobs = append(jobs, crewJob{s.Key, part, s.People})
			}
		}
	}
	for _, b := range c.plan.Blocks {
		if b.Mover == crew {
			jobs = append(jobs, crewJob{Key{Boat: b.Boat}, b.moving(), 1})
		}
	}
	return jobs
}

// where: the boat is in the stage's place, brought in, and the place is of a
// kind and open.
func (c *checker) where(s Planned, part Span) {
	if s.State == Running {
		return
	}
	in := slices.ContainsFunc(c.plan.Blocks, func(b Block) bool {
		return b.Boat == s.Key.Boat && b.Place == s.Place && part.within(Span{b.From.Add(b.Move), b.To})
	})
	if !in {
		c.report(s.Key, "place", "the boat is not in %s from %v to %v", s.Place, part.From, part.To)
	}
	place, ok := c.yard.Place(s.Place)
	if !ok || len(s.Stage.Places) > 0 && !slices.Contains(s.Stage.Places, place.Kind) {
		c.report(s.Key, "place", "%s is not a place for it", s.Place)
		return
	}
	open, err := c.yard.OpenHours(s.Place, c.p.At.Add(-24*time.Hour), c.plan.Until.Add(24*time.Hour))
	if err != nil || !slices.ContainsFunc(open, func(o config.Span) bool { return part.within(Span(o)) }) {
		c.report(s.Key, "place", "%s is closed between %v and %v", s.Place, part.From, part.To)
	}
}

// order: a stage starts when the one before it is done, and an area when the one
// it waits for is; it takes its time, without a break if it may not pause.
func (c *checker) order() {
	for _, b := range c.p.Boats {
		for _, a := range b.Areas {
			done := c.p.At.Add(-time.Hour)
			if a.After != "" {
				for _, s := range c.plan.Stages {
					if s.Key.Boat == b.Name && s.Key.Area == a.After && s.End.After(done) {
						done = s.End
					}
				}
			}
			for _, s := range c.stagesOf(b.Name, a.Name) {
				if !s.placed() {
					continue
				}
				if s.Start.Before(done) && s.State != Running {
					c.report(s.Key, "order", "starts %v, before %v when what it waits for ends", s.Start, done)
				}
				done = s.End
				c.long(s, a)
			}
		}
	}
}

// stagesOf are an area's planned stages in order of the work: the fold's, with
// the plan's repairs before the stage that each is for.
func (c *checker) stagesOf(boat, area string) []Planned {
	var all []Planned
	for _, s := range c.plan.Stages {
		if s.Key.Boat == boat && s.Key.Area == area {
			all = append(all, s)
		}
	}
	rank := map[string]int{}
	for i, s := range c.work.Stages(boat, area) {
		rank[s.Key.Stage] = 2 * i
	}
	slices.SortStableFunc(all, func(a, b Planned) int {
		ra, okA := rank[a.Key.Stage]
		rb, okB := rank[b.Key.Stage]
		if okA && okB {
			return ra - rb
		}
		return a.Start.Compare(b.Start) // a repair stands where it is planned
	})
	return all
}

func (c *checker) long(s Planned, a config.Area) {
	if s.State == Running || !s.worked() {
		return
	}
	pass := s.Stage.Takes.Std()
	if pass == 0 && s.Stage.Rate.SI > 0 {
		pass = time.Duration(float64(a.Size.SI) / float64(s.Stage.Rate.SI) / float64(max(s.People, 1)) * float64(time.Hour))
	}
	var worked time.Duration
	for _, part := range s.parts(c.p.At) {
		worked += part.To.Sub(part.From)
	}
	spent := time.Duration(0)
	if done, ok := c.work.Stage(s.Key); ok {
		spent = done.WorkedBy(c.p.At)
	}
	need := pass
	if s.Kind == config.Coat {
		card, _ := c.yard.Card(s.Stage.Card)
		for i, one := range s.Passes {
			if one.To.Sub(one.From) < pass-step {
				c.report(s.Key, "whole", "pass %d is too short", i+1)
			}
			if i > 0 && one.From.Sub(s.Passes[i-1].To) < card.FlashOff.Least.Std() {
				c.report(s.Key, "whole", "pass %d comes before the flash-off is over", i+1)
			}
		}
		need = pass * time.Duration(max(s.Stage.Passes-c.passesDone(s.Key), 1))
	}
	if worked+spent+step < need {
		c.report(s.Key, "whole", "%v for work of %v", worked+spent, need)
	}
	if !s.Stage.Interruptible() && len(s.parts(c.p.At)) > 1 {
		c.report(s.Key, "shift", "it may not pause")
	}
}

func (c *checker) passesDone(k Key) int {
	s, _ := c.work.Stage(k)
	return len(s.Passes)
}

func (c *checker) outlook() *outlook {
	if c.air == nil {
		grid := engine.Grid{Origin: c.p.At.UTC().Truncate(step), Step: step}
		grid.Slots = grid.Steps(c.p.Horizon)
		p := c.p
		p.Yard = c.yard
		c.air = newOutlook(p, grid, c.work)
	}
	return c.air
}
