package config

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions/skin"
	"fairwindow/conditions/unit"
)

var (
	builds   = []string{"laminate", "cored", "aluminium", "steel", "wood"}
	colours  = []string{"white", "light", "medium", "dark"}
	backings = []string{"cabin", "tank", "keel", "open"}
)

// CheckBoats finds everything wrong with boats that come to a yard. Paths
// start at boats.
func CheckBoats(y Yard, boats []Boat) []Fault {
	c := &checker{y: y}
	longestShifts := map[string]float64{} // shift by skill, h
	named(c, "boats", "boat", "boat", boats, func(b Boat) string { return b.Name })
	for i, b := range boats {
		path := fmt.Sprintf("boats[%d]", i)
		fits := c.hull(path, b)
		c.dates(path, b)
		c.warranty(path, b)
		if len(b.Areas) == 0 {
			c.fault(path+".areas", "nothing is done to this boat", "write at least one area with its system and size")
		}
		named(c, path+".areas", "area", "area", b.Areas, func(a Area) string { return a.Name })
		for j, a := range b.Areas {
			at := fmt.Sprintf("%s.areas[%d]", path, j)
			system, from, ok := c.area(at, a)
			if !ok {
				continue
			}
			for k := from; k < len(system.Stages) && fits; k++ {
				if !c.room(at, b, system, k) {
					break
				}
			}
			for _, s := range system.Stages[from:] {
				c.lasts(at, s, a, longestShifts)
			}
		}
		c.circles(path, b)
	}
	return c.faults
}

// hull checks the boat itself, and reports whether any place could hold it.
func (c *checker) hull(path string, b Boat) bool {
	for _, l := range []struct {
		key  string
		size unit.Written[unit.Length]
	}{{"length", b.Length}, {"beam", b.Beam}} {
		if !(l.size.SI > 0 && l.size.SI <= 200) {
			c.fault(path+"."+l.key, fmt.Sprintf("a %s of %s", l.key, orNone(l.size)), "write it like \"18 m\" or \"60 ft\"")
		}
	}
	odd := b.Beam.SI > b.Length.SI || b.Length.SI <= 0
	if odd && b.Length.SI > 0 {
		c.fault(path+".beam", fmt.Sprintf("the boat is wider (%s) than long (%s)", b.Beam, b.Length), "check both")
	}
	if !b.Height.IsZero() && b.Height.SI <= 0 {
		c.fault(path+".height", fmt.Sprintf("a height of %s", b.Height), "write the height on its stands, like \"6 m\", or leave it out")
	}
	if !b.Weight.IsZero() && b.Weight.SI <= 0 {
		c.fault(path+".weight", fmt.Sprintf("a weight of %s", b.Weight), "write it like \"24 t\", or leave it out")
	}
	c.oneOf(path+".build", b.Build, builds...)
	c.oneOf(path+".colour", b.Colour, colours...)
	c.oneOf(path+".behind", b.Behind, backings...)
	c.skin(path, b)
	if odd {
		return false
	}
	if !slices.ContainsFunc(c.y.Places, func(p Place) bool { return p.Fits(b) }) {
		c.fault(path+".length", fmt.Sprintf("no place of the yard holds a boat of %s by %s", b.Length, b.Beam), c.largest(func(Place) bool { return true }))
		return false
	}
	if b.Place == "" || !c.refers(path+".place", "place", b.Place, names(c.y.Places, placeName)) {
		return true
	}
	if p, _ := c.y.Place(b.Place); !p.Fits(b) {
		c.fault(path+".place", fmt.Sprintf("%s is too small for a boat of %s by %s", p.Name, b.Length, b.Beam), "name another place, or leave it to the plan")
	}
	return true
}

// skin checks the layers as the boat's owner wrote them.
func (c *checker) skin(path string, b Boat) {
	for i, l := range b.Skin {
		at := fmt.Sprintf("%s.skin[%d]", path, i)
		if l.Of == "" {
			c.fault(at+".of", "this layer is of nothing", "use "+either(skin.Materials()))
		} else {
			c.oneOf(at+".of", l.Of, skin.Materials()...)
		}
		if !(l.Thick.SI > 0 && l.Thick.SI <= 1) {
			c.fault(at+".thick", fmt.Sprintf("a layer of %s", orNone(l.Thick)), "write its thickness, like \"12 mm\"")
		}
	}
}

// largest says how long a boat the longest of some places takes.
func (c *checker) largest(counts func(Place) bool) string {
	var best Place
	for _, p := range c.y.Places {
		if counts(p) && p.Length.SI > best.Length.SI {
			best = p
		}
	}
	if best.Name == "" {
		return "write such a place"
	}
	right := fmt.Sprintf("%s is the longest: it is %s long and %s wide", best.Name, best.Length, best.Width)
	if !best.Height.IsZero() {
		right += fmt.Sprintf(" and %s high", best.Height)
	}
	return right + fmt.Sprintf(", and %g m are kept free on every side", float64(aroundHull))
}

func (c *checker) dates(path string, b Boat) {
	const right = "write it like 2026-04-03 or 2026-04-03 08:00"
	arrives, _, err := parseWall(b.Arrives)
	if err != nil {
		c.fault(path+".arrives", fmt.Sprintf("%q is not a day or a time", b.Arrives), right)
	}
	promised, _, err2 := parseWall(b.Promised)
	if err2 != nil {
		c.fault(path+".promised", fmt.Sprintf("%q is not a day or a time", b.Promised), right)
	}
	if err == nil && err2 == nil && !promised.After(arrives) {
		c.fault(path+".promised", fmt.Sprintf("the launch (%s) is promised no later than the boat comes (%s)", b.Promised, b.Arrives), "promise a later day")
	}
}

// area checks what is done to an area, and says from which stage of which system on.
func (c *checker) area(path string, a Area) (system System, from int, ok bool) {
	if !(a.Size.SI > 0 && a.Size.SI <= 10000) {
		c.fault(path+".size", fmt.Sprintf("a size of %s", orNone(a.Size)), "write the surface to coat, like \"74 m2\"")
	}
	if !c.refers(path+".system", "system", a.System, names(c.y.Systems, systemName)) {
		return System{}, 0, false
	}
	system, ok = c.y.System(a.System)
	return system, c.done(path, a, system), ok
}

// done checks what was done before the boat came, and says at which stage the
// work goes on.
func (c *checker) done(path string, a Area, system System) int {
	if a.DoneAt != "" {
		if _, _, err := parseWall(a.DoneAt); err != nil {
			c.fault(path+".done_at", fmt.Sprintf("%q is not a day or a time", a.DoneAt), "write it like 2026-04-03 16:00")
		}
		if a.Done == "" {
			c.fault(path+".done_at", "nobody knows what was done then", "write done: and the stage")
		}
	}
	if a.Done == "" {
		return 0
	}
	stages := names(system.Stages, func(s Stage) string { return s.Name })
	if !c.refers(path+".done", fmt.Sprintf("stage of %q named", system.Name), a.Done, stages) {
		return 0
	}
	_, at, _ := system.Stage(a.Done)
	if a.DoneAt == "" {
		for _, s := range system.Stages[:at+1] {
			if s.Kind == Coat {
				c.warn(path+".done", "nobody knows since when the last coat cures", "write done_at: and when the stage was finished")
				break
			}
		}
	}
	return at + 1
}

// room checks that the boat fits somewhere the stage may be done, with the
// whole block that the stage opens.
func (c *checker) room(path string, b Boat, system System, j int) bool {
	s := system.Stages[j]
	stages := system.Stages[j : j+1]
	if s.Block != "" {
		stages = system.block(j)
	}
	counts := func(p Place) bool { return allowsAll(stages, p) }
	if !slices.ContainsFunc(c.y.Places, counts) {
		return true // faulted with the system
	}
	if slices.ContainsFunc(c.y.Places, func(p Place) bool { return counts(p) && p.Fits(b) }) {
		return true
	}
	c.fault(path+".system", fmt.Sprintf("a boat of %s by %s fits nowhere that stage %q of system %q may be done", b.Length, b.Beam, s.Name, system.Name), c.largest(counts))
	return false
}

// lasts checks that a stage which may not pause fits into a shift.
func (c *checker) lasts(path string, s Stage, a Area, longestShifts map[string]float64) {
	if s.Interruptible() || s.Skill == "" || a.Size.SI <= 0 {
		return
	}
	card, _ := c.y.Card(s.Card)
	hours := extent(s, card, a.Size.SI)
	shift, known := longestShifts[s.Skill]
	if !known {
		shift = c.longestShift(s.Skill)
		longestShifts[s.Skill] = shift
	}
	if shift > 0 && hours > shift+1e-9 {
		c.fault(path+".size", fmt.Sprintf("stage %q takes %s h on %s and may not pause, and the longest shift with the skill %q has %s h", s.Name, short(hours), a.Size, s.Skill, short(shift)),
			"part the area, or let more people work at that stage")
	}
}

// longestShift is the longest run of hours that a crew with a skill works in a
// year of its shifts, closures aside; shifts that meet are one. Zero if none.
func (c *checker) longestShift(skill string) float64 {
	zone, err := c.y.Location()
	if err != nil {
		zone = time.UTC
	}
	from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC) // any year will do
	most := time.Duration(0)
	for _, crew := range c.y.Crews {
		if !slices.Contains(crew.Skills, skill) {
			continue
		}
		var all []Span
		for _, s := range crew.Shifts {
			spans, err := occurrences(s.Starts, s.Length.Std(), zone, from, from.AddDate(1, 0, 0))
			if err == nil {
				all = append(all, spans...)
			}
		}
		for _, s := range union(all) {
			most = max(most, s.To.Sub(s.From))
		}
	}
	return most.Hours()
}

// circles faults areas that wait for each other.
func (c *checker) circles(path string, b Boat) {
	after := map[string]string{}
	for _, a := range b.Areas {
		after[a.Name] = a.After
	}
	for j, a := range b.Areas {
		at := fmt.Sprintf("%s.areas[%d].after", path, j)
		if a.After == "" || !c.refers(at, "area", a.After, names(b.Areas, func(a Area) string { return a.Name })) {
			continue
		}
		trail := []string{a.Name}
		for next := a.After; next != "" && len(trail) <= len(b.Areas); next = after[next] {
			trail = append(trail, next)
			if next == a.Name {
				c.fault(at, "areas wait for each other: "+strings.Join(trail, " after "), "leave one after: out")
				break
			}
		}
	}
}
