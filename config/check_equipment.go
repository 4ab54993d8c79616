package config

import (
	"fmt"
	"slices"
	"time"
)

func (c *checker) equipment() {
	named(c, "equipment", "name", "equipment", c.y.Equipment, equipmentName)
	for i, e := range c.y.Equipment {
		path := fmt.Sprintf("equipment[%d]", i)
		if e.Count < 1 || e.Count > 1000 {
			c.fault(path+".count", fmt.Sprintf("the yard has %d of it", e.Count), "write count: with how many there are, 1 or more")
		}
		for j, h := range e.Hours {
			c.recurs(fmt.Sprintf("%s.hours[%d]", path, j), h.Starts, h)
		}
		if e.Name != "" && !c.used(e.Name) {
			c.warn(path+".name", fmt.Sprintf("no stage and no place uses %q", e.Name), "name it at uses: of a stage or at lift: of a place")
		}
	}
}

func (c *checker) used(name string) bool {
	return slices.ContainsFunc(c.y.Places, func(p Place) bool { return p.Lift == name }) ||
		slices.ContainsFunc(c.y.Systems, func(s System) bool {
			return slices.ContainsFunc(s.Stages, func(s Stage) bool { return slices.Contains(s.Uses, name) })
		})
}

// lift checks what takes boats into a place and out of it.
func (c *checker) lift(path string, p Place) {
	if p.Lift == "" || !c.refers(path, "equipment", p.Lift, names(c.y.Equipment, equipmentName)) {
		return
	}
	c.meets(path, "move", 1, p.Lift)
}

// uses checks what equipment a stage takes.
func (c *checker) uses(at string, s Stage) {
	wanted, taken := map[string]int{}, map[string]int{}
	for _, name := range s.Uses {
		wanted[name]++
	}
	for k, name := range s.Uses {
		path := fmt.Sprintf("%s.uses[%d]", at, k)
		if !c.refers(path, "equipment", name, names(c.y.Equipment, equipmentName)) {
			continue
		}
		taken[name]++
		if e, _ := c.y.equipmentNamed(name); taken[name] == e.Count+1 && e.Count > 0 {
			c.fault(path, fmt.Sprintf("the stage takes %d of %q and the yard has %d", wanted[name], name, e.Count), "name it less often, or raise its count:")
		}
		if taken[name] == 1 && s.Skill != "" {
			c.meets(path, s.Skill, s.People, name)
		}
	}
}

// meets faults equipment that is never there while those who use it work. Hours
// recur, so one year of them tells; this one has every day of the calendar.
func (c *checker) meets(path, skill string, people int, name string) {
	e, _ := c.y.equipmentNamed(name)
	zone, err := c.y.Location()
	if err != nil || len(e.Hours) == 0 {
		return
	}
	from := time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)
	to := from.AddDate(1, 0, 0)
	there, err := recurring(e.Hours, zone, from, to)
	if err != nil {
		return // faulted with the equipment
	}
	known := false
	for _, crew := range c.y.Crews {
		if !slices.Contains(crew.Skills, skill) || max(crew.People, 1) < people {
			continue
		}
		works, err := recurring(crew.Shifts, zone, from, to)
		if err != nil || len(works) == 0 {
			return // faulted with the crews
		}
		if known = true; lasts(subtract(works, there)) < lasts(works) {
			return
		}
	}
	if known {
		c.fault(path, fmt.Sprintf("%q is never there while a crew with the skill %q works", name, skill), "write hours: that meet a shift of theirs, or leave hours: out")
	}
}

func lasts(spans []Span) time.Duration {
	var sum time.Duration
	for _, s := range spans {
		sum += s.To.Sub(s.From)
	}
	return sum
}
