package main

import (
	"fmt"
	"io"
	"os"
	"reflect"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/sensors/booth"
	"fairwindow/sensors/record"
)

// boothFit is what `booth --readings --json` prints.
type boothFit struct {
	Place    string    `json:"place"`
	Readings int       `json:"readings"`
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	// Fitted is null where the readings cannot tell; Why says which would.
	Fitted *conditions.Fitted `json:"fitted"`
	Why    string             `json:"why,omitempty"`
	// Leaks and Loses are as the yard file takes them, none below nothing.
	Leaks string `json:"leaks,omitempty"`
	Loses string `json:"loses,omitempty"`
	// Alike are other booths with the same plant in the yard file.
	Alike []string `json:"alike"`
	Notes []string `json:"notes"`
}

func (ask *boothAsk) fit(c *cobra.Command, y config.Yard, p config.Place) error {
	zone, err := y.Location()
	if err != nil {
		return usageError{err}
	}
	table, err := ask.read(zone)
	if err != nil {
		return err
	}
	last := len(table.Seen) - 1
	a := boothFit{
		Place: p.Name, Readings: len(table.Seen), From: table.Seen[0].At.In(zone), To: table.Seen[last].At.In(zone),
		Alike: alikeBooths(y, p), Notes: append([]string{}, table.Notes...),
	}
	fitted, err := y.Enclosure(p).Fit(table.Seen)
	if err != nil {
		a.Why = err.Error()
	} else {
		a.Fitted = &fitted
		a.Leaks, a.Loses = pasted(fitted.Leaks, "m3/h"), pasted(fitted.Loses, "W/K")
	}
	if ask.asJSON {
		err = printJSON(c.OutOrStdout(), a)
	} else {
		err = printFit(c.OutOrStdout(), a)
	}
	if err == nil && a.Fitted == nil {
		return errNo
	}
	return err
}

// read reads the readings, with the air outdoors from wherever it is told.
func (ask *boothAsk) read(zone *time.Location) (booth.Table, error) {
	text, err := os.ReadFile(ask.readings)
	if err != nil {
		return booth.Table{}, usage("the readings %s can't be read: %w", ask.readings, plain(err))
	}
	table, err := booth.Read(ask.readings, text, zone)
	switch {
	case err != nil:
		return table, usageError{err}
	case table.Outdoors && ask.weather+ask.station != "":
		return table, usage("%s has the air outdoors already: leave out --weather, or the columns outdoors_…", ask.readings)
	case table.Outdoors:
		return table, nil
	case ask.weather == "":
		return table, usage("%s has no column outdoors_air: give it, with outdoors_dew_point or outdoors_humidity, or --weather, a file of recorded weather", ask.readings)
	}
	if text, err = os.ReadFile(ask.weather); err != nil {
		return table, usage("the weather file %s can't be read: %w", ask.weather, plain(err))
	}
	hours, faults, err := record.Read(ask.weather, text, record.Options{Station: ask.station, Zone: zone})
	if err != nil {
		return table, usageError{err}
	}
	known := 0
	for i := range table.Seen {
		s := &table.Seen[i]
		if s.Outdoors = conditions.At(hours, s.At); s.Outdoors.Sure == conditions.Measured {
			known++
		}
	}
	if known == 0 {
		return table, usage("%s tells no air and dew point at the time of any reading: it goes from %s to %s, the readings from %s to %s", ask.weather,
			day(hours[0].At, zone), day(hours[len(hours)-1].At, zone), day(table.Seen[0].At, zone), day(table.Seen[len(table.Seen)-1].At, zone))
	}
	for _, line := range faults[:min(len(faults), fewFaults)] {
		table.Notes = append(table.Notes, ask.weather+": "+line)
	}
	return table, nil
}

// alikeBooths are the other booths whose plant is written alike.
func alikeBooths(y config.Yard, p config.Place) []string {
	alike := []string{}
	for _, other := range y.Places {
		if other.Name != p.Name && other.Booth != nil && reflect.DeepEqual(other.Booth, p.Booth) {
			alike = append(alike, other.Name)
		}
	}
	return alike
}

func printFit(w io.Writer, a boothFit) error {
	when := func(t time.Time) string { return t.Format("Mon 2 Jan 2006 15:04") }
	fmt.Fprintf(w, "%s by %d readings, from %s to %s\n", a.Place, a.Readings, when(a.From), when(a.To))
	for _, line := range a.Notes {
		fmt.Fprintln(w, "note:", line)
	}
	f := a.Fitted
	if f == nil {
		_, err := fmt.Fprintf(w, "\nThe readings do not tell how much it leaks and loses:\n%s.\n", a.Why)
		return err
	}
	fmt.Fprintf(w, "\nleaks      %s m3/h%s\n", within(f.Leaks, 0), doubt(f.Leaks))
	fmt.Fprintf(w, "loses      %s W/K%s\n", within(f.Loses, 0), doubt(f.Loses))
	fmt.Fprintf(w, "its sensor reads %s\n", reads(f.Offset))
	fmt.Fprintf(w, "%.2g K of air and dew points are left unexplained, root mean square, of the %d readings used\n", f.Left, f.Used)
	if f.Why != "" {
		fmt.Fprintln(w, f.Why)
	}
	fmt.Fprintln(w, "± is the standard error of what is chance; a fan, heater or dehumidifier unlike its name plate is not in it.")
	fmt.Fprintf(w, "\nFor the yard file, under booth: of %q:\n\n      leaks: %s\n      loses: %s\n", a.Place, a.Leaks, a.Loses)
	if len(a.Alike) > 0 {
		fmt.Fprintf(w, "\nThe plant of %s is written alike there: if it is one and the same text, part them, for these lines are %s's alone.\n", strings.Join(a.Alike, ", "), a.Place)
	}
	return nil
}
