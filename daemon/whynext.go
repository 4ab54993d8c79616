package main

import (
	"fmt"
	"time"

	"fairwindow/planner"
)

// nextSentence words the next-best start and what it would cost.
func nextSentence(o planner.Other, zone *time.Location) string {
	s := "next best: " + o.Start.In(zone).Format("Mon 2 Jan 15:04")
	if o.Place != "" {
		s += " in " + o.Place
	}
	if o.Crew != "" {
		s += " by " + o.Crew
	}
	about := ""
	if o.Estimate {
		about = "at least "
	}
	switch {
	case o.Extra > 0:
		return fmt.Sprintf("%s, which would cost %s%d cost-minutes more", s, about, o.Extra)
	case o.Extra < 0:
		return fmt.Sprintf("%s, which by itself would cost %d cost-minutes less", s, -o.Extra)
	}
	return s + ", at no cost that can be told without planning anew"
}
