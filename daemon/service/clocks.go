package service

import (
	"sort"
	"time"

	"fairwindow/conditions"
	"fairwindow/planner"
)

// clockStep is the longest span that one surface reading speaks for, and how
// often clocks are saved.
const (
	clockStep = 15 * time.Minute
	clockSave = time.Hour
)

// runClocks runs the clock of each area's last coat up to now over what the
// surface was, and returns those to be saved. Callers hold the turn.
func (s *Service) runClocks(now time.Time) []planner.CoatNow {
	f := &s.facts
	f.followHulls(now)
	var save []planner.CoatNow
	for _, coat := range f.lastCoats() {
		card, ok := f.yard.Card(coat.Card)
		if !ok || coat.Ended.IsZero() || coat.Ended.After(now) {
			continue
		}
		was, running := f.clocks[coat.Key]
		fresh := !running || !was.Clock.Coated.Equal(coat.Ended)
		if fresh {
			was = planner.CoatNow{Key: coat.Key, Clock: card.Cure.Start(coat.Ended)}
		}
		clock, blind := was.Clock, f.blindUntil(coat.Key, now)
		var unknown *conditions.Exposure
		for clock.At.Before(now) {
			until := clock.At.Add(clockStep)
			if until.After(now) {
				until = now
			}
			// Of weeks without the daemon nothing is at hand: it is looked at once, not each quarter of an hour.
			surface := unknown
			if surface == nil || !until.Before(blind) {
				is := f.surface(coat.Key, until)
				surface = &is
			}
			if until.Before(blind) {
				unknown = surface
			}
			clock = card.Cure.Run(clock, until, *surface)
		}
		is := planner.CoatNow{Key: coat.Key, Clock: clock}
		f.clocks[coat.Key] = is
		if fresh || was.Clock.At.Truncate(clockSave) != now.Truncate(clockSave) {
			save = append(save, is)
		}
	}
	return save
}

// blindUntil is the time before which nothing at hand tells of an area's surface; now at most.
func (f *facts) blindUntil(k planner.Key, now time.Time) time.Time {
	first := now
	for _, name := range []string{"boat " + k.Boat, f.work.Place(k.Boat).Place} {
		if held := f.readings[name]; len(held) > 0 && held[0].At.Before(first) {
			first = held[0].At
		}
	}
	if is := f.followers[k.Boat]; is != nil && len(is.course) > 0 && is.course[0].at.Before(first) {
		first = is.course[0].at
	}
	return first
}

// lastCoats are the last coats of all areas of all boats that are still here.
func (f *facts) lastCoats() []planner.LastCoat {
	var coats []planner.LastCoat
	for _, b := range f.boats {
		if !f.work.Place(b.Name).Launched.IsZero() {
			continue
		}
		for _, a := range b.Areas {
			if coat, ok := f.work.LastCoat(b.Name, a.Name); ok {
				coats = append(coats, coat)
			}
		}
	}
	return coats
}

func sortBy[T any](list []T, key func(T) planner.Key) {
	sort.Slice(list, func(i, j int) bool { return key(list[i]).Less(key(list[j])) })
}
