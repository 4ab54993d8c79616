package planner

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/config"
)

// changeBoat is the problem with one boat as it would be.
func changeBoat(p Problem, i int, b config.Boat) Problem {
	p.Boats = slices.Clone(p.Boats)
	p.Boats[i] = b
	return p
}

// promise gives a boat another day of launch.
func (c Change) promise(p Problem) (Problem, error) {
	i, err := boatIn(p, c.Boat)
	if err != nil {
		return p, err
	}
	b := p.Boats[i]
	is, err := p.Yard.Time(c.Day)
	if err != nil {
		return p, err
	}
	if was, err := p.Yard.Time(b.Promised); err == nil && was.Equal(is) {
		return p, NoChange{fmt.Sprintf("%s is promised for %s already", b.Name, c.Day)}
	}
	b.Promised = c.Day
	return changeBoat(p, i, b), nil
}

// putOff has a boat that is still to come arrive later.
func (c Change) putOff(p Problem) (Problem, error) {
	i, err := boatIn(p, c.Boat)
	if err != nil {
		return p, err
	}
	b := p.Boats[i]
	if isHere(Replay(p.Yard, p.Boats, p.Presses).Place(b.Name)) {
		return p, fmt.Errorf("%s is in the yard already and can't come later: swap its turn with another boat's, or take it out", b.Name)
	}
	was, err := p.Yard.Time(b.Arrives)
	if err != nil {
		return p, err
	}
	day := c.Day
	if day == "" {
		zone, err := p.Yard.Location()
		if err != nil {
			return p, err
		}
		day = was.In(zone).Add(c.By.Std()).Format("2006-01-02 15:04")
	}
	is, err := p.Yard.Time(day)
	if err != nil {
		return p, err
	}
	switch {
	case is.Equal(was):
		return p, NoChange{fmt.Sprintf("%s comes on %s already", b.Name, day)}
	case is.Before(was):
		return p, fmt.Errorf("%s is not put off to %s: it comes on %s, which is later", b.Name, day, b.Arrives)
	}
	b.Arrives = day
	return changeBoat(p, i, b), nil
}

// takeOut leaves a boat out, with all that was reported and told of it.
func (c Change) takeOut(p Problem) (Problem, error) {
	i, err := boatIn(p, c.Boat)
	if err != nil {
		return p, err
	}
	name := p.Boats[i].Name
	of := func(k Key) bool { return k.Boat == name }
	p.Boats = slices.Delete(slices.Clone(p.Boats), i, i+1)
	p.Presses = slices.DeleteFunc(slices.Clone(p.Presses), func(q Press) bool { return of(q.Key) })
	p.Hulls = slices.DeleteFunc(slices.Clone(p.Hulls), func(h HullNow) bool { return h.Boat == name })
	p.Coats = slices.DeleteFunc(slices.Clone(p.Coats), func(n CoatNow) bool { return of(n.Key) })
	p.Told = slices.DeleteFunc(slices.Clone(p.Told), func(t Told) bool { return of(t.Key) })
	p.First = slices.DeleteFunc(slices.Clone(p.First), func(t Told) bool { return of(t.Key) })
	return p, nil
}

// both are two boats of the yard that are not launched.
func (c Change) both(p Problem) (i, j int, work Work, err error) {
	work = Replay(p.Yard, p.Boats, p.Presses)
	if i, err = boatIn(p, c.Boat); err != nil {
		return
	}
	if j, err = boatIn(p, c.Other); err != nil {
		return
	}
	if i == j {
		return i, j, work, fmt.Errorf("%s can't be swapped with itself: name two boats", p.Boats[i].Name)
	}
	for _, n := range []int{i, j} {
		if name := p.Boats[n].Name; !work.Place(name).Launched.IsZero() {
			return i, j, work, fmt.Errorf("%s is launched: there is nothing to swap", name)
		}
	}
	return
}

// swapPlaces puts each of two boats where the other is, or would be put on arrival.
func (c Change) swapPlaces(p Problem) (Problem, error) {
	i, j, work, err := c.both(p)
	if err != nil {
		return p, err
	}
	stands := func(n int) string {
		if at := work.Place(p.Boats[n].Name).Place; at != "" {
			return at
		}
		return p.Boats[n].Place
	}
	of := [2]int{i, j}
	to := [2]string{stands(j), stands(i)}
	if to[0] == to[1] {
		return p, NoChange{fmt.Sprintf("%s and %s have one place, %s", p.Boats[i].Name, p.Boats[j].Name, orNowhere(to[0]))}
	}
	p.Boats, p.Presses = slices.Clone(p.Boats), slices.Clone(p.Presses)
	for n, which := range of {
		b := &p.Boats[which]
		place, ok := p.Yard.Place(to[n])
		switch {
		case !ok:
			return p, fmt.Errorf("nobody wrote where %s is put on arrival, so %s can't be put there: write place: for it", p.Boats[of[1-n]].Name, b.Name)
		case !place.Fits(*b):
			return p, fmt.Errorf("%s is too small for %s, which is %s by %s", place.Name, b.Name, b.Length, b.Beam)
		}
		if stage, runs := running(work, *b); runs {
			return p, fmt.Errorf("%s can't be moved: %s runs on it; swap when that is done", b.Name, stage)
		}
		if isHere(work.Place(b.Name)) {
			p.Presses = append(p.Presses, Press{Kind: Moved, Key: Key{Boat: b.Name}, Place: place.Name, Happened: p.At, Entered: p.At, By: "what if"})
		} else {
			b.Place = place.Name
		}
	}
	return p, nil
}

func orNowhere(place string) string {
	if place == "" {
		return "that nobody wrote"
	}
	return place
}

func isHere(b BoatNow) bool { return !b.Arrived.IsZero() || b.Place != "" }

// running is a stage of a boat that people are at.
func running(work Work, b config.Boat) (string, bool) {
	for _, a := range b.Areas {
		for _, s := range work.Stages(b.Name, a.Name) {
			if s.Running && !s.Paused {
				return strings.Join([]string{a.Name, s.Stage.Name}, ", "), true
			}
		}
	}
	return "", false
}

// swapTurns gives each of two boats the other's promised launch and, where both are
// still to come, its arrival.
func (c Change) swapTurns(p Problem) (Problem, error) {
	i, j, work, err := c.both(p)
	if err != nil {
		return p, err
	}
	p.Boats = slices.Clone(p.Boats)
	a, b := &p.Boats[i], &p.Boats[j]
	here := [2]bool{isHere(work.Place(a.Name)), isHere(work.Place(b.Name))}
	if here[0] != here[1] {
		if here[1] {
			a, b = b, a
		}
		return p, fmt.Errorf("%s is in the yard and %s is still to come, so their turns can't be swapped: give each another promise", a.Name, b.Name)
	}
	was := [2]time.Time{}
	for n, day := range []string{a.Promised, b.Promised} {
		if was[n], err = p.Yard.Time(day); err != nil {
			return p, err
		}
	}
	if was[0].Equal(was[1]) && (here[0] || a.Arrives == b.Arrives) {
		return p, NoChange{fmt.Sprintf("%s and %s have one turn", a.Name, b.Name)}
	}
	a.Promised, b.Promised = b.Promised, a.Promised
	if !here[0] {
		a.Arrives, b.Arrives = b.Arrives, a.Arrives
	}
	return p, nil
}
