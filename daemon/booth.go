package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// boothAsk is what the flags of `booth` say.
type boothAsk struct {
	humidity                   string
	readings, weather, station string
	asJSON                     bool
}

func boothCommand() *cobra.Command {
	var ask boothAsk
	c := &cobra.Command{
		Use:   "booth [YARD] PLACE",
		Short: "What a booth can hold in which weather, or how much it leaks and loses by its readings",
		Long: `Prints the steady air and humidity in a booth, idle, spraying and curing, over the air
outdoors, and where its heater is short; from what air outdoors it holds its set point;
how far it dries; how fast its air is changed. Without YARD it is a booth of the starter
yard.

With --readings it fits leakage, wall loss and the offset of the air's sensor to readings
of the booth, and prints the lines for the yard file, or which readings are still needed.
The table's header names its columns: time; mode (idle, spraying, curing); air, and
humidity or dew_point, inside; heater, the power that it gave, if it is metered; and
outdoors_air with outdoors_dew_point or outdoors_humidity, unless --weather tells them.
Units follow after an underscore: air_F, heater_kW; °C where a temperature has none.

Best are means over an hour in which mode, heater and weather stood still, some of them
with the heater off and the fans on. Leave out hours in which the booth was switched off
or a door stood open, the first half hour after, and curing ones in which the
dehumidifier was off. Flows, heater and dehumidifier are believed as the yard file has
them.

Exit code 0: done; 1: the readings cannot tell; 2: wrong use or wrong input.`,
		Example: `  fairwindow booth "booth 1" --humidity 90
  fairwindow booth my-yard "booth 1" --readings booth1.csv
  fairwindow booth my-yard "booth 1" --readings booth1.csv --weather airport.csv`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) < 1 {
				return usage("PLACE is missing: %s", c.UseLine())
			}
			return between(1, "YARD", "PLACE")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error { return ask.answer(c, args) },
	}
	f := c.Flags()
	f.StringVar(&ask.humidity, "humidity", "80", "humidity outdoors, such as 80 or 80%")
	f.StringVar(&ask.readings, "readings", "", "file of readings of the booth to fit its leakage and wall loss to")
	f.StringVar(&ask.weather, "weather", "", "with --readings: file of recorded weather (EPW, TMY2 or hourly CSV) that tells the air outdoors")
	f.StringVar(&ask.station, "station", "", "with --weather: station in the file, where it has several; default its first")
	f.BoolVar(&ask.asJSON, "json", false, "print JSON")
	return c
}

func (ask *boothAsk) answer(c *cobra.Command, args []string) error {
	yard := ""
	if len(args) == 2 {
		yard = args[0]
	}
	y, err := yardOrStarter(yard)
	if err != nil {
		return err
	}
	p, err := boothIn(y, args[len(args)-1])
	if err != nil {
		return err
	}
	if ask.readings != "" {
		if c.Flags().Changed("humidity") {
			return usage("--humidity is for the table of what the booth holds; leave it out beside --readings")
		}
		return ask.fit(c, y, p)
	}
	if ask.weather+ask.station != "" {
		return usage("--weather tells the air outdoors to a fit: give --readings with it, the file of what was read in the booth")
	}
	h, err := unit.Parse[unit.Humidity](strings.TrimSuffix(ask.humidity, "%") + "%")
	if err != nil {
		return usage("--humidity: %w", err)
	}
	if !(h.SI > 0 && h.SI <= 100) {
		return usage("--humidity: %s cannot be; give more than 0 %% and up to 100 %%", ask.humidity)
	}
	holds := holdsOf(y, p, h.SI)
	if ask.asJSON {
		return printJSON(c.OutOrStdout(), holds)
	}
	printHolds(c.OutOrStdout(), holds, p, y.Units)
	return nil
}

// boothIn is a booth of the yard; its error names those there are.
func boothIn(y config.Yard, name string) (config.Place, error) {
	var booths []string
	for _, p := range y.Places {
		if p.Kind == config.Booth {
			booths = append(booths, p.Name)
		}
	}
	p, ok := y.Place(name)
	switch {
	case ok && slices.Contains(booths, name):
		return p, nil
	case len(booths) == 0:
		return p, usage("there is no booth in this yard: a place of kind: booth has air of its own")
	case ok:
		return p, usage("%s is a %s: its air is outdoors', so there is nothing to hold; the booths are %s", name, p.Kind, strings.Join(booths, ", "))
	}
	return p, usage("%s", noSuch("booth", name, booths))
}
