package planner

import (
	"slices"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// cured makes a stage wait for its milestone of the coat under it and, if it is a
// coat, come before that may no longer be overcoated, or behind a repair.
func (k *sketch) cured(a int, coat, j *job) {
	need := j.stage.Needs()
	if j.anywhere() && j.stage.Until != "" {
		need = j.stage.Until
	}
	if coat != nil {
		if need != "" && coat.card.instead(need) != "" {
			k.ripens(coat, need, k.tasks[j])
		}
		if j.coats() {
			k.lapses(a, coat, j)
		}
		return
	}
	if f := k.areas[a].film; f != nil && !j.at.Running {
		boat := &k.boats[k.areas[a].boat]
		w := k.out.begin(boat.hull, max(boat.place, 0), curing, boat.surface)
		t := &k.Tasks[k.tasks[j]]
		t.Release = max(t.Release, min(k.out.opens(f, need, w), k.grid.Slots))
	}
}

// ripens is the lag from a coat to a task that waits for a milestone of it.
func (k *sketch) ripens(coat *job, m conditions.Milestone, task int) {
	before := k.tasks[coat]
	lag := engine.Lag{Before: before, After: task}
	for _, mode := range k.Tasks[before].Modes {
		lag.Opens = append(lag.Opens, k.opens(coat, m, mode.Place))
	}
	k.Lags = append(k.Lags, lag)
}

// lapses is the greatest lag between two coats, with the abrading that is put in
// behind it.
func (k *sketch) lapses(a int, coat, j *job) {
	jobs := k.areas[a].jobs
	between := jobs[slices.Index(jobs, coat)+1 : slices.Index(jobs, j)]
	sanded := slices.ContainsFunc(between, func(x *job) bool { return x.stage.Kind == config.Sand })
	if sanded || coat.card.rates[conditions.LastRecoat] == nil {
		return
	}
	r, err := k.newJob(a, k.areas[a].Area, Progress{Key: j.key, Stage: repairStage(repairName(abrade, j.stage.Name, func(string) bool { return false }), j.stage, k.areas[a].all), Repair: true})
	if err != nil || len(r.crews) == 0 {
		return
	}
	cost := k.yard.Weights.Repair * float64(r.slots) * step.Minutes() * float64(r.people)
	before := k.tasks[coat]
	lag := engine.Lag{Before: before, After: k.tasks[j], Bounded: true, Repair: &engine.Repair{Long: r.slots, Cost: units(cost)}}
	for _, mode := range k.Tasks[before].Modes {
		lag.Closes = append(lag.Closes, k.closes(coat, mode.Place))
	}
	k.Lags = append(k.Lags, lag)
}

// perishes keeps a coat near to the wipe, the sanding or the masking before it.
func (k *sketch) perishes(jobs []*job, coat *job) {
	if !coat.coats() || coat.at.Running {
		return
	}
	for n := slices.Index(jobs, coat) - 1; n >= 0 && !jobs[n].coats(); n-- {
		life := k.grid.Steps(jobs[n].stage.Life.Std())
		if life > 0 && perishes(jobs[n].stage.Kind) && jobs[n].stage.Block == coat.stage.Block {
			k.Lags = append(k.Lags, engine.Lag{Before: k.tasks[jobs[n]], After: k.tasks[coat], Bounded: true, Greatest: life})
		}
	}
}
