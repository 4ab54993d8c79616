package main

import (
	"context"
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/daemon/pages"
	"fairwindow/daemon/store"
	"fairwindow/planner"
	"fairwindow/planner/waits"
)

func waitsCommand() *cobra.Command {
	var state string
	var only waits.Only
	var asCSV, asJSON bool
	c := &cobra.Command{
		Use:   "waits YARD",
		Short: "Print what was put off, why, and what it came to",
		Long: `Prints each time that people were told a later start than before, with its one
cause and the evidence as known then, and the hours by cause, place, boat and week:
the same as the page Waits. It reads the daemon's store, whether or not one runs.
Money is named only if the yard file gives rates.`,
		Example: `  fairwindow waits my-yard --boat "Boat Kestrel"
  fairwindow waits my-yard --week 2026-W19 --csv`,
		Args: exactly("YARD"),
		RunE: func(c *cobra.Command, args []string) error {
			if asCSV && asJSON {
				return usage("--csv and --json are two forms of one answer; choose one")
			}
			y, kept, err := openKept(args[0], state)
			if err != nil {
				return err
			}
			defer kept.Close()
			all, err := putOff(c.Context(), kept)
			if err != nil {
				return err
			}
			if err := askedOf(c.Context(), y, kept, all, only); err != nil {
				return err
			}
			return printWaits(c.OutOrStdout(), y, all, only, asCSV, asJSON)
		},
	}
	c.Flags().StringVar(&only.Boat, "boat", "", "of one boat")
	c.Flags().StringVar(&only.Place, "place", "", "of one place")
	c.Flags().StringVar(&only.Week, "week", "", "of one week of ISO 8601, like 2026-W19")
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().BoolVar(&asCSV, "csv", false, "print each deferral as a line of CSV")
	c.Flags().BoolVar(&asJSON, "json", false, "print deferrals and sums as JSON")
	return c
}

// askedOf refuses a boat or a place of which nothing could be known, and what is no week:
// "nothing has been put off" would be no answer.
func askedOf(ctx context.Context, y config.Yard, kept *store.Store, all []waits.Entry, only waits.Only) error {
	rows, err := kept.Boats(ctx)
	if err != nil {
		return err
	}
	var boats, places []string
	for _, r := range rows {
		boats = append(boats, r.Boat.Name)
	}
	for _, p := range y.Places {
		places = append(places, p.Name)
	}
	for _, e := range all { // boats long gone, and places of an older yard file
		boats, places = append(boats, e.Key.Boat), append(places, e.Place)
	}
	for _, asked := range []struct {
		what, name string
		known      []string
	}{{"boat", only.Boat, boats}, {"place", only.Place, places}} {
		if asked.name != "" && !slices.Contains(asked.known, asked.name) {
			slices.Sort(asked.known)
			return usage("--%s: %s", asked.what, noSuch(asked.what, asked.name, slices.Compact(asked.known)))
		}
	}
	var year, week int
	if _, err := fmt.Sscanf(only.Week, "%4d-W%2d", &year, &week); only.Week != "" && (err != nil || fmt.Sprintf("%04d-W%02d", year, week) != only.Week || week < 1 || week > 53) {
		return usage("--week: %q is no week of ISO 8601; write it like 2026-W19", only.Week)
	}
	return nil
}

// putOff is the history that a store tells of.
func putOff(ctx context.Context, kept *store.Store) ([]waits.Entry, error) {
	moves, err := kept.Moves(ctx, 0)
	if err != nil {
		return nil, err
	}
	first, err := kept.FirstTold(ctx)
	if err != nil {
		return nil, err
	}
	presses, err := kept.Presses(ctx)
	if err != nil {
		return nil, err
	}
	return waits.History(waits.Known{Moves: moves, First: first, Presses: presses}), nil
}

func printWaits(w io.Writer, y config.Yard, all []waits.Entry, only waits.Only, asCSV, asJSON bool) error {
	zone, err := y.Location()
	if err != nil {
		return err
	}
	sum := waits.Sum(waits.Lines(all, y, zone), only, y.Rates)
	var some []waits.Entry
	for _, e := range all {
		if only.Has(e, zone) {
			some = append(some, e)
		}
	}
	switch {
	case asCSV:
		return pages.DeferralsCSV(w, some, only, zone)
	case asJSON:
		return pages.WaitsJSON(w, some, sum)
	case len(some) == 0:
		_, err := fmt.Fprintln(w, "Nothing has been put off.")
		return err
	}
	for _, e := range some {
		if !e.Again {
			fmt.Fprintf(w, "%s  %s\n", e.At.In(zone).Format("Mon 2 Jan 15:04"), pages.Deferral(e, zone))
		}
	}
	fmt.Fprintf(w, "\n%.1f h put off in all%s\n", sum.Hours, costOf(sum.Cost, sum.Money))
	if sum.Again > 0 {
		fmt.Fprintf(w, "another %.1f h are of stages that moved only because one before them did; they are not counted again\n", sum.Again)
	}
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	for _, one := range []struct {
		name string
		rows []waits.Row
	}{{"by cause", sum.Causes}, {"by place", sum.Places}, {"by boat", sum.Boats}, {"by week", sum.Weeks}} {
		fmt.Fprintf(t, "\n%s\n", one.name)
		for _, r := range one.rows {
			name := r.Name
			switch {
			case one.name == "by cause":
				name = pages.CauseName(planner.Cause(name))
			case name == "":
				name = "no place"
			}
			fmt.Fprintf(t, "%.1f h\t  %s%s\n", r.Hours, name, costOf(r.Cost, sum.Money))
		}
	}
	return t.Flush()
}

func costOf(cost *float64, currency string) string {
	if cost == nil {
		return ""
	}
	return ", " + waits.Money(*cost, currency)
}
