package service

import (
	"fmt"
	"time"

	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
)

// lapse is a recoat window that the plan itself lets end while nobody is on
// shift: a coat now, and a repair instead of the next coat in time.
type lapse struct {
	Next   planner.Key // the coat that comes too late
	Place  string
	Crew   string
	Coat   planner.Planned
	Repair planner.Planned
}

// offFor is the time without a shift that people call a weekend or a holiday.
// Common practice, no source.
const offFor = 30 * time.Hour

// lapses are those of a plan, to be told before the coat is on.
func (f *facts) lapses(plan planner.Plan) []lapse {
	coats, repairs := map[planner.Key]planner.Planned{}, map[planner.Key]planner.Planned{}
	var out []lapse
	for _, s := range plan.Stages {
		area := planner.Key{Boat: s.Key.Boat, Area: s.Key.Area}
		coat, coated := coats[area]
		repair, repaired := repairs[area]
		switch {
		case s.Repair && coated:
			if !repaired {
				repairs[area] = s
			}
		case s.Kind != config.Coat || s.Start.IsZero():
		default:
			if repaired && f.off(coat.Crew, coat.End, repair.Start) {
				out = append(out, lapse{Next: s.Key, Place: s.Place, Crew: s.Crew, Coat: coat, Repair: repair})
			}
			delete(repairs, area)
			if s.State != planner.Running { // of a coat that is on the guard tells by its clock
				coats[area] = s
			}
		}
	}
	return out
}

// off reports whether a crew is away for long within a span.
func (f *facts) off(crew string, from, to time.Time) bool {
	shifts, err := f.yard.ShiftsOf(crew, from, to)
	if err != nil {
		return false
	}
	last := from
	for _, s := range append(shifts, config.Span{From: to, To: to}) {
		if s.From.Sub(last) >= offFor {
			return true
		}
		last = s.To
	}
	return false
}

// lapse tells of one.
func (g *guarding) lapse(l lapse) {
	n := notify.Notice{Kind: notify.WeekendCloses, Boat: l.Next.Boat, Area: l.Next.Area, Stage: l.Next.Stage, Place: l.Place, Crew: l.Crew}
	day := func(t time.Time) string { return t.In(g.facts.zone).Format("Mon 15:04") }
	n.Cause = notify.Cause{Sure: notify.Forecast, Text: fmt.Sprintf("%s is planned to end %s, and %s %s",
		l.Coat.Key.Stage, day(l.Coat.End), l.Repair.Key.Stage, day(l.Repair.Start))}
	_, name := g.watch.of(ofWeekend, l.Next)
	g.say(name, n)
}
