package main

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// cureRun is one coat followed on each side of the hull.
type cureRun struct {
	card        config.Card
	coated, now time.Time
	zone        *time.Location
	gap         time.Duration // beyond which nothing was measured; 0 for a steady surface
	notes       []string
	facets      []curing
}

// curing is one side: what it stood in, and how far its clock came.
type curing struct {
	name   string
	spells []conditions.Spell
	last   conditions.Exposure // as last measured
	clock  conditions.Clock
	// reached is when each milestone was or will be; nothing for one that is never
	// reached if the surface stays as it is.
	reached map[conditions.Milestone]time.Time
	trail   []conditions.Clock // some of the clock's past and future, for the chart
	blind   time.Duration      // not measured
}

// stays is how long a surface is taken to stay as it is: longer than any card's cure.
const stays = 400 * 24 * time.Hour

// follow runs every side's clock.
func (r *cureRun) follow() {
	for i := range r.facets {
		r.facets[i].run(r.card.Cure, r.coated, r.now)
	}
}

func (f *curing) run(cure conditions.Cure, coated, now time.Time) {
	f.clock, f.reached = cure.Start(coated), map[conditions.Milestone]time.Time{}
	thin := max(1, len(f.spells)/600)
	for i, s := range f.spells {
		if !unit.Known(s.Coldest) {
			f.blind += s.Until.Sub(f.clock.At)
		}
		next := cure.Run(f.clock, s.Until, s.Exposure)
		f.pass(cure, f.clock, next, s)
		if f.clock = next; i%thin == 0 || i == len(f.spells)-1 {
			f.trail = append(f.trail, next)
		}
	}
	if !unit.Known(f.last.Coldest) {
		return // nothing is known that could stay
	}
	ahead := conditions.Spell{Until: now.Add(stays), Exposure: f.last}
	f.pass(cure, f.clock, cure.Run(f.clock, ahead.Until, ahead.Exposure), ahead)
}

// pass notes the milestones between two states of the clock.
func (f *curing) pass(cure conditions.Cure, from, to conditions.Clock, over conditions.Spell) {
	for _, m := range config.Milestones() {
		if _, have := f.reached[m]; have || !cure.Reached(to, m) {
			continue
		}
		if at, ok := cure.When(from, m, []conditions.Spell{over}); ok {
			f.reached[m] = at
		}
	}
}

// given reports whether the card says anything of a milestone.
func given(cure conditions.Cure, m conditions.Milestone) bool {
	return len(cure.Of(m)) > 0 || len(cure.Bands) > 0 && (m == conditions.Recoat || m == conditions.LastRecoat)
}

// reach is one side's way to a milestone.
type reach struct {
	Facet    string     `json:"facet"`
	At       *time.Time `json:"at"` // reached or expected; null: not if the surface stays as it is
	Reached  bool       `json:"reached"`
	Progress float64    `json:"progress"`
}

// milestoneRow is one milestone on the slowest and on the fastest side.
type milestoneRow struct {
	Milestone conditions.Milestone `json:"milestone"`
	Slowest   reach                `json:"slowest"`
	Fastest   reach                `json:"fastest"`
}

// decides is the side that the milestone goes by.
func (m milestoneRow) decides() reach {
	if m.Milestone.Closes() {
		return m.Fastest
	}
	return m.Slowest
}

func (r *cureRun) row(m conditions.Milestone) milestoneRow {
	row := milestoneRow{Milestone: m}
	for i, f := range r.facets {
		at := reach{Facet: f.name, Progress: min(1, f.clock.Progress(m))}
		if when, ok := f.reached[m]; ok {
			at.At, at.Reached = &when, !when.After(r.now)
		}
		if i == 0 || at.after(row.Slowest) {
			row.Slowest = at
		}
		if i == 0 || row.Fastest.after(at) {
			row.Fastest = at
		}
	}
	return row
}

// after reports whether this side comes later than another; never is last.
func (a reach) after(b reach) bool {
	switch {
	case a.At == nil && b.At == nil:
		return a.Progress < b.Progress
	case a.At == nil || b.At == nil:
		return a.At == nil
	}
	return a.At.After(*b.At)
}
