package service

import (
	"reflect"
	"slices"

	"fairwindow/config"
	"fairwindow/daemon/record"
	"fairwindow/planner"
)

// keepsSigned refuses a change of boats or systems that would reach into a record which
// somebody signed off: its boat's measures and areas, and the stages of what was signed.
// Owner, dates and whatever no record tells may change.
func (f *facts) keepsSigned(next []config.Boat, after planner.Work) error {
	for _, was := range f.boats {
		at := slices.IndexFunc(next, func(b config.Boat) bool { return b.Name == was.Name })
		whole, locked := record.Locked(f.signed, planner.Key{Boat: was.Name})
		if at < 0 {
			continue // whether it may go at all is letsGo's to say
		}
		if is := next[at]; locked && (was.Length != is.Length || was.Beam != is.Beam || was.Place != is.Place || !reflect.DeepEqual(was.Areas, is.Areas)) {
			return f.shutBook(whole)
		}
		for _, a := range was.Areas {
			if locked && !reflect.DeepEqual(f.work.Stages(was.Name, a.Name), after.Stages(was.Name, a.Name)) {
				return f.shutBook(whole)
			}
		}
		for _, s := range record.LockedCoats(f.signed, was.Name) {
			before, _ := f.work.Stage(s.Key)
			now, _ := after.Stage(s.Key)
			if areaOf(was, s.Key.Area) != areaOf(next[at], s.Key.Area) || !reflect.DeepEqual(before, now) {
				return f.shutBook(s)
			}
		}
	}
	return nil
}

// areaOf is an area of a boat by its name.
func areaOf(b config.Boat, name string) config.Area {
	for _, a := range b.Areas {
		if a.Name == name {
			return a
		}
	}
	return config.Area{}
}

// shutBook says who signed what a change of a boat or a system would reach into.
func (f *facts) shutBook(s record.Signature) error {
	return refuse("%s signed off %s on %s, and this would change what is signed: its length, beam, areas, systems and stages stay. The manager can open it again on the boat's page, with a reason",
		s.By, signedWhat(s.Key), s.At.In(f.zone).Format("Mon 2 Jan 2006 15:04"))
}
