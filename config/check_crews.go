package config

import (
	"fmt"
	"strings"
)

func (c *checker) crews() {
	if len(c.y.Crews) == 0 {
		c.fault("crews", "there is no crew", "write at least one crew with its skills and shifts")
	}
	named(c, "crews", "name", "crew", c.y.Crews, crewName)
	for i, crew := range c.y.Crews {
		path := fmt.Sprintf("crews[%d]", i)
		if len(crew.Skills) == 0 {
			c.fault(path+".skills", "this crew can do nothing", "write skills: with the words that stages use")
		}
		seen := map[string]bool{}
		for j, skill := range crew.Skills {
			if at := fmt.Sprintf("%s.skills[%d]", path, j); skill == "" || seen[skill] {
				c.fault(at, fmt.Sprintf("skill %q is empty or there twice", skill), "write each skill once")
			}
			seen[skill] = true
		}
		if crew.People < 0 || crew.People > 1000 {
			c.fault(path+".people", fmt.Sprintf("%d people are no crew", crew.People), "write 1 or more")
		}
		if len(crew.Shifts) == 0 {
			c.fault(path+".shifts", "this crew never works", "write at least one shift: starts: \"0 7 * * 1-5\" and length: 8.5 h")
		}
		for j, s := range crew.Shifts {
			at := fmt.Sprintf("%s.shifts[%d]", path, j)
			c.recurs(at, s.Starts, s)
			if s.Length > days(1) && s.Length.Std() <= longest {
				c.warn(at+".length", fmt.Sprintf("people would work %s without a break", s.Length), "write the length of one shift, like \"8.5 h\"")
			}
		}
	}
}

// recurs checks a shift, or a closure that recurs.
func (c *checker) recurs(path, expr string, s Shift) {
	if _, err := parseCron(expr); err != nil {
		what, right := err.Error(), "write minute hour day month weekday, like \"0 7 * * 1-5\""
		if before, after, ok := strings.Cut(what, "; "); ok {
			what, right = before, after
		}
		c.fault(path+".starts", what, right)
	} else if f := strings.Fields(expr); !strings.HasPrefix(f[2], "*") && !strings.HasPrefix(f[4], "*") {
		c.warn(path+".starts", fmt.Sprintf("%q happens on the day of the month and also on the weekday, each by itself", expr), "leave one of them *")
	}
	switch {
	case s.Length <= 0:
		c.fault(path+".length", fmt.Sprintf("it lasts %s", s.Length), "write how long it lasts, like \"8.5 h\"")
	case s.Length.Std() > longest:
		c.fault(path+".length", fmt.Sprintf("it lasts %s", s.Length), "write at most a year")
	}
}

func (c *checker) closures() {
	for i, closure := range c.y.Closures {
		path := fmt.Sprintf("closures[%d]", i)
		if closure.Place != "" && closure.Crew != "" {
			c.fault(path+".crew", "a closure is of a place or of a crew, not of both", "write two closures")
		}
		if closure.Equipment != "" {
			if closure.Place != "" || closure.Crew != "" {
				c.fault(path+".equipment", "a closure of equipment shuts no place and no crew", "write two closures")
			}
			c.refers(path+".equipment", "equipment", closure.Equipment, names(c.y.Equipment, equipmentName))
		}
		if closure.Place != "" {
			c.refers(path+".place", "place", closure.Place, names(c.y.Places, placeName))
		}
		if closure.Crew != "" {
			c.refers(path+".crew", "crew", closure.Crew, names(c.y.Crews, crewName))
		}
		if strings.TrimSpace(closure.Why) == "" {
			c.fault(path+".why", "nobody will know why it is closed", "write why:, like why: public holiday")
		}
		switch {
		case closure.Starts != "" && closure.From != "":
			c.fault(path+".from", "a closure recurs (starts, length) or happens once (from, to), not both", "write two closures")
		case closure.Starts != "":
			c.recurs(path, closure.Starts, Shift{closure.Starts, closure.Length})
		case closure.From == "":
			c.fault(path, "nobody knows when it is closed", "write from: and to:, or starts: and length:")
		default:
			c.once(path, closure)
		}
	}
}

func (c *checker) once(path string, closure Closure) {
	if _, bare, err := parseWall(closure.From); err != nil {
		c.fault(path+".from", fmt.Sprintf("%q is not a day or a time", closure.From), "write it like 2026-04-03 or 2026-04-03 08:00")
	} else if closure.To == "" && !bare {
		c.fault(path+".to", "it has no end", "write to:, or only the day in from: for the whole day")
	} else if closure.To != "" {
		if _, _, err := parseWall(closure.To); err != nil {
			c.fault(path+".to", fmt.Sprintf("%q is not a day or a time", closure.To), "write it like 2026-04-03 or 2026-04-03 08:00")
		} else if _, _, err := closure.wall(); err != nil {
			c.fault(path+".to", fmt.Sprintf("it ends (%s) before it starts (%s)", closure.To, closure.From), "write to: after from:")
		}
	}
}
