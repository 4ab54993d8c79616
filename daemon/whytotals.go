package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"fairwindow/config"
	"fairwindow/planner"
)

// totals prints what all stages of a plan wait.
func totals(w io.Writer, y config.Yard, plan planner.Plan, asJSON bool) error {
	zone, err := y.Location()
	if err != nil {
		return err
	}
	sums := planner.Totals(plan, zone)
	if asJSON {
		return printJSON(w, sums)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(t, "hours that stages wait by the plan of %s: %.0f\n", plan.At.In(zone).Format("Mon 2 Jan 15:04"), sums.Hours)
	for _, one := range []struct {
		name string
		rows []planner.Hours
	}{{"by cause", sums.Causes}, {"by place", sums.Places}, {"by boat", sums.Boats}, {"by week", sums.Weeks}} {
		fmt.Fprintf(t, "\n%s\n", one.name)
		for _, r := range one.rows {
			name := r.Name
			if name == "" {
				name = "no place"
			}
			fmt.Fprintf(t, "%.1f h\t  %s\n", r.Hours, name)
		}
	}
	if sums.Without > 0 {
		fmt.Fprintf(t, "\n%d stages have no start; their waiting has no end and is not counted\n", sums.Without)
	}
	if err := t.Flush(); err != nil {
		return err
	}
	printRetold(w, plan, zone)
	return nil
}
