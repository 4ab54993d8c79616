package main

import (
	"fmt"
	"io"
	"time"

	"fairwindow/planner"
)

// printRetold says which told starts a plan does not keep, why, and what that saves.
func printRetold(w io.Writer, plan planner.Plan, zone *time.Location) {
	if len(plan.Retold) == 0 {
		return
	}
	fmt.Fprintln(w, "\nnot as people were told")
	for _, r := range plan.Retold {
		now := "no start"
		if !r.Start.IsZero() {
			now = r.Start.In(zone).Format("Mon 2 Jan 15:04") + " in " + r.Place
		}
		why := "it costs less so"
		if r.Why.Cause != "" {
			why = string(r.Why.Cause)
			if who := r.Why.Evidence.Other.String(); who != "" {
				why += ": " + who
			}
		}
		fmt.Fprintf(w, "  %s: told %s in %s, now %s (%s)\n", r.Key, r.Told.Start.In(zone).Format("Mon 2 Jan 15:04"), r.Told.Place, now, why)
	}
	sum := int64(0)
	for _, t := range plan.Bought {
		sum += t.Amount
	}
	if sum > 0 {
		fmt.Fprintf(w, "  keeping to it as far as possible would cost %d cost-minutes more\n", sum)
	}
}
