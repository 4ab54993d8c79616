package demo

import (
	"slices"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
)

// work moves every job on by one step, to now.
func (c *crews) work(now time.Time, step time.Duration, t told) error {
	for _, j := range slices.Clone(c.jobs) {
		if j.coats() {
			c.coatOn(j, now, step, t)
			continue
		}
		on, err := c.onShift(j.crew, now, 0)
		if err != nil {
			return err
		}
		if j.crew != "" {
			c.workOn(j, now, step, on)
		} else if on {
			c.waitOn(j, now, t.plan)
		}
	}
	return nil
}

// workOn moves handwork on. What may pause does at the end of the shift; the
// rest is finished in overtime.
func (c *crews) workOn(j *job, now time.Time, step time.Duration, on bool) {
	switch {
	case j.paused && on:
		if c.hands(j) && !c.disturbs(&job{planned: j.planned, stage: j.stage, crew: j.crew}) {
			j.paused = false
			c.report(c.press(planner.Resumed, j, now), false)
		}
		return
	case j.paused:
		return
	case j.left <= step:
		c.end(j, now.Add(j.left-step))
		return
	}
	j.left -= step
	if !on && j.stage.Interruptible() {
		j.paused = true
		c.report(c.press(planner.Paused, j, now), false)
	}
}

// waitOn ends a hold when the plan of the day says that it is over.
func (c *crews) waitOn(j *job, now time.Time, plan planner.Plan) {
	end := j.planned.End
	for _, p := range plan.Stages {
		if p.Key == j.key() && !p.End.IsZero() {
			end = p.End
		}
	}
	if !now.Before(end) {
		c.end(j, now)
	}
}

// coatOn moves a coat on: a pass is never left half done, the next one is not
// begun once its window is no longer open.
func (c *crews) coatOn(j *job, now time.Time, step time.Duration, t told) {
	if j.wet == nil {
		switch {
		case now.Before(j.next):
		case t.open[j.key()]:
			c.lay(j)
		default:
			p := c.press(planner.StoppedAt, j, now)
			p.Pass = j.laid
			c.report(p, true)
			c.drop(j)
			c.tally.stopped++
			c.finished[j.key()] = c.entered[j.key().Boat]
		}
		return
	}
	if j.left > step {
		j.left -= step
		return
	}
	at := now.Add(j.left - step)
	j.wet.ended, j.wet = at, nil
	j.laid++
	c.tally.passes++
	p := c.press(planner.PassDone, j, at)
	p.Pass = j.laid
	c.report(p, j.laid < len(j.passes))
	if j.laid == len(j.passes) {
		c.drop(j)
		c.finished[j.key()] = c.entered[j.key().Boat]
		c.tally.stages++
		c.tally.coats++
		return
	}
	j.next = at.Add(j.gaps[j.laid])
}

// end finishes a stage that is no coat. Now and then people who inspect, or who
// look when the tape comes off, reject the coat instead.
func (c *crews) end(j *job, at time.Time) {
	c.drop(j)
	k := j.key()
	r := luck(c.seed, "inspection", k.Boat, k.Area, k.Stage, strings.Repeat("again", c.times[k]))
	looked := j.planned.Kind == config.Inspect || j.planned.Kind == config.Unmask
	if looked && c.times[k] == 1 && r.Float64() < rejects {
		p := c.press(planner.Rejected, j, at)
		p.Note = flaws[r.IntN(len(flaws))]
		c.report(p, false)
		c.rejected[area{k.Boat, k.Area}] = at.AddDate(1, 0, 0)
		c.tally.rejections++
		return
	}
	c.report(c.press(planner.Finished, j, at), false)
	c.finished[k] = c.entered[k.Boat]
	c.tally.stages++
}

// rejects is the part of inspections that reject. Invented.
const rejects = 0.12

// flaws are why coats are rejected.
var flaws = []string{"dust nibs along the sheer", "runs under the rail", "dull patch aft, looks like moisture", "orange peel forward"}

func (c *crews) drop(j *job) {
	c.jobs = slices.DeleteFunc(c.jobs, func(o *job) bool { return o == j })
}
