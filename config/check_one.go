package config

import (
	"fmt"
	"slices"
	"strings"
)

// CheckBoat finds everything wrong with one boat among the others of a yard. Paths
// start at the boat: areas[1].size.
func CheckBoat(y Yard, b Boat, others []Boat) []Fault {
	var faults []Fault
	for _, o := range others {
		if strings.EqualFold(o.Name, b.Name) {
			faults = append(faults, Fault{Path: "boat", What: fmt.Sprintf("there is a boat %q already", o.Name), Right: "give this one another name"})
		}
	}
	return append(faults, ofOne("boats[0]", CheckBoats(y, []Boat{b}))...)
}

// CheckSystem finds everything wrong with one more system of a yard. Paths start at
// the system: stages[2].rate.
func CheckSystem(y Yard, s System) []Fault {
	n := len(y.Systems)
	y.Systems = append(slices.Clone(y.Systems), s)
	c := &checker{y: y}
	c.systems()
	return ofOne(fmt.Sprintf("systems[%d]", n), c.faults)
}

// ofOne are the faults of one thing, with their paths from there on.
func ofOne(prefix string, faults []Fault) []Fault {
	var own []Fault
	for _, f := range faults {
		if rest, ok := strings.CutPrefix(f.Path, prefix); ok && (rest == "" || rest[0] == '.') {
			f.Path = strings.TrimPrefix(rest, ".")
			own = append(own, f)
		}
	}
	return own
}

// WithSystems is the yard with systems that are not written in its file, and why
// some of them are not in force: the file has one of that name, or lacks what they
// need. The file's own always are.
func (y Yard) WithSystems(own []System) (Yard, map[string]string) {
	file, aside := y, map[string]string{}
	y.Systems = slices.Clone(y.Systems)
	for _, s := range own {
		bad := slices.DeleteFunc(CheckSystem(file, s), func(f Fault) bool { return f.Warning })
		switch {
		case slices.ContainsFunc(file.Systems, func(o System) bool { return strings.EqualFold(o.Name, s.Name) }):
			aside[s.Name] = "the yard file has a system of that name, which counts"
		case len(bad) > 0:
			aside[s.Name] = bad[0].What + "; " + bad[0].Right
		default:
			y.Systems = append(y.Systems, s)
		}
	}
	return y.WithDefaults(), aside
}
