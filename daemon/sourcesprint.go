package main

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/daemon/pages"
	"fairwindow/sensors"
)

// printSources prints a block for each source, and at the end how many ask for somebody.
func printSources(w io.Writer, y config.Yard, is sourcesNow) error {
	zone, err := y.Location()
	if err != nil {
		return err
	}
	var asking []string
	for _, a := range is.Sensors {
		printAccount(w, y.Units, a, is.At)
		if !a.Well() {
			asking = append(asking, a.Source)
		}
	}
	for _, f := range is.Forecasts {
		printForecast(w, f, is.At, zone)
		if !f.well() {
			asking = append(asking, "forecast "+f.Name)
		}
	}
	if len(is.Unasked) > 0 {
		fmt.Fprintf(w, "messages come that no sensor of the yard file asks for, and are not kept, on: %s\n", strings.Join(is.Unasked, ", "))
	}
	if is.Well {
		fmt.Fprintf(w, "all is well at %s\n", is.At.In(zone).Format("Mon 2 Jan 15:04"))
		return nil
	}
	fmt.Fprintf(w, "at %s somebody must see to: %s\n", is.At.In(zone).Format("Mon 2 Jan 15:04"), strings.Join(asking, "; "))
	return nil
}

func printAccount(w io.Writer, units string, a sensors.Account, now time.Time) {
	head := []string{fmt.Sprintf("%s (%s)", a.Source, cmp.Or(a.Place, a.Boat))}
	switch {
	case a.ByHand:
		head = append(head, "by hand")
	case a.Every > 0:
		head = append(head, "every "+a.Every.String())
	}
	if a.Due != "" {
		head = append(head, "calibrated until "+a.Due)
	}
	fmt.Fprintln(w, strings.Join(head, ", "))
	if a.At.IsZero() {
		var names []string
		for _, v := range a.Measures {
			name, _ := pages.Reading(units, v, 0)
			names = append(names, name)
		}
		fmt.Fprintf(w, "  never heard: %s\n", strings.Join(names, ", "))
	} else {
		var values []string
		for _, v := range sortedKeys(a.Values) {
			x := math.NaN()
			if a.Values[v] != nil {
				x = *a.Values[v]
			}
			name, worded := pages.Reading(units, v, x)
			values = append(values, name+" "+worded)
		}
		fmt.Fprintf(w, "  %s ago: %s\n", pages.Length(now.Sub(a.At)), cmp.Or(strings.Join(values, ", "), "no value"))
		fmt.Fprintf(w, "  doubted: %s in the last hour, %s in the last day\n",
			cmp.Or(sensors.Counted(a.Hour), "none"), cmp.Or(sensors.Counted(a.Day), "none"))
	}
	if words := pages.Exposed(a); words != "" {
		fmt.Fprintf(w, "  in solvent vapour: %s\n", words)
	}
	if !a.Checked.IsZero() {
		fmt.Fprintf(w, "  agreed with an instrument by hand %s ago\n", pages.Length(now.Sub(a.Checked)))
	}
	for _, f := range a.Asks {
		fmt.Fprintf(w, "  ! %s\n", wanted(units, f))
	}
}

// wanted words one thing that somebody must see to.
func wanted(units string, f sensors.Flag) string {
	words := string(f.Fault)
	if f.Of != "" {
		name, _ := pages.Reading(units, f.Of, 0)
		words = name + " " + words
	}
	if f.Note != "" {
		words += ": " + f.Note
	}
	return words
}

func printForecast(w io.Writer, f forecastNow, now time.Time, zone *time.Location) {
	fmt.Fprintf(w, "forecast %s (%s), every %s, old after %s\n", f.Name, f.Format, f.Every, f.Stale)
	if f.Failed != "" {
		fmt.Fprintf(w, "  ! %s; it is asked again at %s\n", f.Failed, f.Next.In(zone).Format("Mon 2 Jan 15:04"))
	}
	if f.Issued.IsZero() {
		fmt.Fprintln(w, "  ! none has come")
		return
	}
	fmt.Fprintf(w, "  issued %s ago, to %s\n", pages.Length(now.Sub(f.Issued)), f.Until.In(zone).Format("Mon 2 Jan 15:04"))
	for _, e := range f.Errs {
		fmt.Fprintf(w, "  errs in %s a day ahead: air by %+.1f ± %.1f K, dew point by %+.1f ± %.1f K, of %d pairs\n",
			e.Place, -e.Air, e.AirError, -e.Dew, e.DewError, e.Pairs)
	}
	if f.Ended {
		fmt.Fprintln(w, "  ! it has ended: it foretells nothing of what is to come")
	}
	if f.Old {
		fmt.Fprintln(w, "  ! old: no window opens by it")
	}
	for _, flag := range f.Flags {
		fmt.Fprintf(w, "  ! %s\n", wanted("", flag))
	}
}

// sortedKeys are the keys of a map in order.
func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
