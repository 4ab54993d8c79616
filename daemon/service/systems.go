package service

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"fairwindow/config"
	"fairwindow/daemon/store"
)

// written is the yard in force and what it is made of.
type written struct {
	file  config.Yard                     // the yard file alone
	own   []config.Version[config.System] // systems written on the pages
	aside map[string]string               // those of them that are not in force, with why
}

// putTogether puts file and pages together into the yard in force.
func (f *facts) putTogether() {
	var own []config.System
	for _, v := range f.written.own {
		own = append(own, v.Of)
	}
	f.yard, f.written.aside = f.written.file.WithSystems(own)
}

// recallSystems reads back the systems written on the pages.
func (f *facts) recallSystems(ctx context.Context, from *store.Store) (err error) {
	if f.written.own, err = from.Systems(ctx); err != nil {
		return err
	}
	f.putTogether()
	return nil
}

// notInForce says which systems written on the pages do not count, for every page.
func (f *facts) notInForce() []string {
	var out []string
	for _, name := range slices.Sorted(maps.Keys(f.written.aside)) {
		out = append(out, fmt.Sprintf("System %s, written on the pages, is not in force: %s.", name, f.written.aside[name]))
	}
	return out
}

// whyAside adds to a fault about a system that it is known and why it does not count.
func (f *facts) whyAside(what string) string {
	for name, why := range f.written.aside {
		if strings.Contains(what, "system "+strconv.Quote(name)) {
			return what + " in force, since " + why
		}
	}
	return what
}

// OwnSystems are the systems written on the pages, and why some are not in force.
func (s *Service) OwnSystems(context.Context) ([]config.Version[config.System], map[string]string, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.facts.written.own), maps.Clone(s.facts.written.aside), nil
}

// SystemVersions are all that a system written on the pages has been, newest first.
func (s *Service) SystemVersions(ctx context.Context, name string) ([]config.Version[config.System], error) {
	return s.store.SystemVersions(ctx, name)
}

// EditSystem takes what a person makes of a system. The boats that have it are
// planned by it at once; none of them loses a stage that was reported.
func (s *Service) EditSystem(ctx context.Context, e config.Edit[config.System]) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.facts.takesSystem(e); err != nil {
		return err
	}
	if _, err := s.commit(ctx, store.Change{Systems: []config.Edit[config.System]{e}}); err != nil {
		return overtaken(err)
	}
	if err := s.facts.recallWork(ctx, s.store); err != nil {
		return err
	}
	s.cycle.ask(s.clock.Now(), fmt.Sprintf("system %s changed by %s", e.To.Name, e.By))
	return nil
}

// takesSystem says why an edit can't be taken, and what would be right.
func (f *facts) takesSystem(e config.Edit[config.System]) error {
	name := e.To.Name
	if e.By == "" {
		return refuse("nobody's name is on it: say who changes %s", name)
	}
	inFile := slices.ContainsFunc(f.written.file.Systems, func(s config.System) bool { return strings.EqualFold(s.Name, name) })
	users := f.users(name)
	if e.Removed {
		if len(users) > 0 && !inFile {
			return refuse("system %s is in use by %s: give them another first", name, strings.Join(users, ", "))
		}
		return nil
	}
	if inFile {
		return refuse("the yard file has a system %s already, and the file's counts: give this one another name", name)
	}
	next := f.written.file
	next.Systems = slices.Clone(next.Systems)
	for _, v := range f.written.own {
		if _, not := f.written.aside[v.Of.Name]; !not && v.Of.Name != name {
			next.Systems = append(next.Systems, v.Of)
		}
	}
	if err := refuseFaults("system "+name, config.CheckSystem(next, e.To)); err != nil {
		return err
	}
	next.Systems = append(next.Systems, e.To)
	for _, b := range f.here() {
		if !slices.Contains(users, b.Name) {
			continue
		}
		if err := refuseFaults(b.Name+" has this system", config.CheckBoat(next, b, nil)); err != nil {
			return err
		}
	}
	return f.keepsWork(next.WithDefaults(), f.boats)
}

// users are the boats with an area of a system.
func (f *facts) users(system string) []string {
	var names []string
	for _, b := range f.boats {
		if slices.ContainsFunc(b.Areas, func(a config.Area) bool { return a.System == system }) {
			names = append(names, b.Name)
		}
	}
	return names
}
