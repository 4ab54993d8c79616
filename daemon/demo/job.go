package demo

import (
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// job is a stage that people are at.
type job struct {
	planned planner.Planned
	stage   config.Stage
	card    config.Card
	crew    string
	people  int
	left    time.Duration // of the stage, or of the pass being laid
	paused  bool

	passes []time.Duration // of a coat: how long each really takes
	gaps   []time.Duration // flash-off before each, the first is none
	laid   int
	wet    *coat     // the pass being laid; nil in a flash-off
	next   time.Time // when the next pass is due
}

func (j *job) key() planner.Key { return j.planned.Key }

func (j *job) coats() bool { return j.planned.Kind == config.Coat }

// dusty work keeps coats away.
func (j *job) dusty() bool { return j.stage.Dusty() && !j.paused }

// unbroken is how long the job takes if it may not pause, else nothing.
func (j *job) unbroken() time.Duration {
	if j.crew == "" || !j.coats() && j.stage.Interruptible() {
		return 0
	}
	sum := time.Duration(0)
	for i := range j.passes {
		sum += j.gaps[i] + j.passes[i]
	}
	return sum
}

// newJob draws how long the work will really take: the planned time by a
// lognormal factor, wider for work by hand than for passes.
func newJob(seed uint64, yard config.Yard, boat config.Boat, p planner.Planned, times int) *job {
	r := luck(seed, "work", p.Key.Boat, p.Key.Area, p.Key.Stage, strings.Repeat("again", times))
	j := &job{planned: p, crew: p.Crew, people: p.People, stage: config.Stage{Name: p.Key.Stage, Kind: p.Kind}}
	if s, ok := stageOf(yard, boat, p.Key); ok {
		s.Kind = p.Kind
		j.stage = s
		j.card, _ = yard.Card(s.Card)
	}
	if !j.coats() || len(p.Passes) == 0 {
		j.left = stretch(p.End.Sub(p.Start), scatter(r, 0.16))
		if len(p.Work) > 0 {
			j.left = 0
			for _, w := range p.Work {
				j.left += stretch(w.To.Sub(w.From), 1)
			}
			j.left = stretch(j.left, scatter(r, 0.16))
		}
		j.passes, j.gaps = []time.Duration{j.left}, []time.Duration{0}
		return j
	}
	for i, s := range p.Passes {
		gap := time.Duration(0)
		if i > 0 {
			gap = s.From.Sub(p.Passes[i-1].To)
		}
		j.passes, j.gaps = append(j.passes, stretch(s.To.Sub(s.From), scatter(r, 0.10))), append(j.gaps, gap)
	}
	j.left = j.passes[0]
	return j
}

// stretch is a duration by a factor, in whole minutes and at least one.
func stretch(d time.Duration, by float64) time.Duration {
	return max(time.Minute, time.Duration(float64(d)*by).Round(time.Minute))
}

// stageOf finds the stage of a key in its system. A stage that was put in names
// the one it is for at its end: "abrade for finish coat".
func stageOf(yard config.Yard, boat config.Boat, k planner.Key) (config.Stage, bool) {
	for _, a := range boat.Areas {
		if a.Name != k.Area {
			continue
		}
		system, _ := yard.System(a.System)
		if s, _, ok := system.Stage(k.Stage); ok {
			return s, true
		}
		for _, s := range system.Stages {
			if strings.HasSuffix(k.Stage, " "+s.Name) {
				return s, true
			}
		}
	}
	return config.Stage{}, false
}
