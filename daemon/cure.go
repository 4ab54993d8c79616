package main

import (
	"fmt"
	"os"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/sensors/surface"
)

// cureAsk is what the flags of `cure` say.
type cureAsk struct {
	coated, until, yard string
	temp, humidity      string
	asJSON              bool
	chart               string
}

func cureCommand() *cobra.Command {
	var ask cureAsk
	c := &cobra.Command{
		Use:   "cure CARD --coated TIME (READINGS.csv | --temp T)",
		Short: "How far a coat has cured by measured surface temperatures, and when the next may go on",
		Long: `Runs a card's clock over a table of surface temperatures since the end of the last
pass: every milestone, reached or expected if the surface stays as last measured; the
recoat window; what time did not count, and why. What opens goes by the slowest side,
what closes by the fastest.

The table's header names its columns: time, and one column for each side measured,
called as you like (surface; coldest,warmest; port,starboard,deck), with _C or _F, °C
where it names none:

  time,port_C,deck_C
  2026-04-06 09:00,18,19
  2026-04-06 12:00,20,26

Others are humidity, or air and dew_point, for cards that mind. Times are RFC
3339 or on the yard's clock. A gap was not measured: in it what opens stands still and
what closes goes on at the card's fastest.

Exit code 0: the recoat window is open or to come, or the card has none; 1: it has
closed, or does not open if the surface stays as it is; 2: wrong use or wrong input.`,
		Example: `  fairwindow cure Topcoat --coated "2026-04-06 09:00" readings.csv
  fairwindow cure "High-build primer" --coated 2026-04-06T09:00:00Z --temp 18C`,
		Args: between(1, "CARD", "READINGS.csv"),
		RunE: func(c *cobra.Command, args []string) error { return ask.answer(c, args) },
	}
	f := c.Flags()
	f.StringVar(&ask.coated, "coated", "", `end of the last pass, such as "2026-04-06 09:00" on the yard's clock`)
	f.StringVar(&ask.until, "until", "", "time to tell how far it was; default that of the last reading")
	f.StringVar(&ask.yard, "yard", "", "yard file whose cards to use; default the starter yard")
	f.StringVar(&ask.temp, "temp", "", "steady surface temperature instead of readings, such as 18C")
	f.StringVar(&ask.humidity, "humidity", "", "with --temp: the air's humidity, such as 60%")
	f.BoolVar(&ask.asJSON, "json", false, "print JSON")
	f.StringVar(&ask.chart, "chart", "", "write the chart to this SVG file instead of the terminal")
	return c
}

func (ask *cureAsk) answer(c *cobra.Command, args []string) error {
	y, err := yardOrStarter(ask.yard)
	if err != nil {
		return err
	}
	card, err := cardNamed(y, args[0])
	if err != nil {
		return err
	}
	zone, err := y.Location()
	if err != nil {
		return usageError{err}
	}
	if ask.coated == "" {
		return usage(`--coated is missing: the end of the last pass, such as --coated "2026-04-06 09:00"`)
	}
	coated, err := wallTime(ask.coated, zone)
	if err != nil {
		return usage("--coated: %w", err)
	}
	until := time.Time{}
	if ask.until != "" {
		if until, err = wallTime(ask.until, zone); err != nil {
			return usage("--until: %w", err)
		}
		if until.Before(coated) {
			return usage("--until: %s is before the coat, which ended at %s", day(until, zone), day(coated, zone))
		}
		if until.Sub(coated) > mostCure {
			return usage("--until: %s is more than 400 days after the coat", day(until, zone))
		}
	}
	run := cureRun{card: card, coated: coated, now: until, zone: zone}
	switch {
	case len(args) == 2 && ask.temp+ask.humidity != "":
		return usage("give a file of readings or --temp and --humidity, not both")
	case len(args) == 2:
		err = ask.measured(y, args[1], &run)
	default:
		err = ask.steady(&run)
	}
	if err != nil {
		return err
	}
	run.follow()
	answer := run.answer()
	picture := run.chart(answer)
	if ask.chart != "" {
		if err := os.WriteFile(ask.chart, []byte(picture.SVG()), 0o644); err != nil {
			return usage("the chart %s can't be written: %w", ask.chart, plain(err))
		}
	}
	switch {
	case ask.asJSON:
		if err := printJSON(c.OutOrStdout(), answer); err != nil {
			return err
		}
	default:
		printCure(c.OutOrStdout(), answer, zone)
		if ask.chart == "" {
			fmt.Fprint(c.OutOrStdout(), "\n", picture.Text())
		}
	}
	if answer.Recoat.State == windowClosed || answer.Recoat.State == windowMissed || answer.Recoat.State == windowStill {
		return errNo
	}
	return nil
}

// mostCure is the longest time that a coat is followed.
const mostCure = 400 * 24 * time.Hour

// cardNamed is a card of the yard; its error names the nearest.
func cardNamed(y config.Yard, name string) (config.Card, error) {
	if card, ok := y.Card(name); ok {
		return card, nil
	}
	var names []string
	for _, c := range y.Cards {
		names = append(names, c.Name)
	}
	return config.Card{}, usage("%s", noSuch("card", name, names))
}

// steady is a surface that stays as it is from the coat on.
func (ask *cureAsk) steady(run *cureRun) error {
	if ask.temp == "" {
		return usage("READINGS.csv is missing: a table of surface temperatures, or --temp for a steady one")
	}
	t, err := unit.Parse[unit.Temperature](ask.temp)
	if err != nil {
		return usage("--temp: %w", err)
	}
	e := conditions.Exposure{Coldest: t.SI, Warmest: t.SI, Humidity: unit.NaN[unit.Humidity]()}
	if ask.humidity != "" {
		h, err := unit.Parse[unit.Humidity](ask.humidity)
		if err != nil {
			return usage("--humidity: %w", err)
		}
		if !(h.SI > 0 && h.SI <= 100) {
			return usage("--humidity: %s cannot be; give more than 0 %% and up to 100 %%", ask.humidity)
		}
		e.Humidity = h.SI
	}
	if run.now.IsZero() {
		run.now = run.coated
	}
	f := curing{name: "surface", last: e}
	if run.now.After(run.coated) {
		f.spells = []conditions.Spell{{Until: run.now, Exposure: e}}
	}
	run.facets = []curing{f}
	return nil
}

// measured is a surface by a table of readings.
func (ask *cureAsk) measured(y config.Yard, path string, run *cureRun) error {
	text, err := os.ReadFile(path)
	if err != nil {
		return usage("the readings %s can't be read: %w", path, plain(err))
	}
	table, err := surface.Read(path, text, run.zone)
	if err != nil {
		return usageError{err}
	}
	last := table.Rows[len(table.Rows)-1]
	if last.Before(run.coated) {
		return usage("%s: every reading is before the coat, which ended at %s; the last is of %s", path, day(run.coated, run.zone), day(last, run.zone))
	}
	if last.Sub(run.coated) > mostCure {
		return usage("%s: the last reading, of %s, is more than 400 days after the coat", path, day(last, run.zone))
	}
	early, late := 0, 0
	for _, at := range table.Rows {
		if at.Before(run.coated) {
			early++
		}
		if !run.now.IsZero() && at.After(run.now) {
			late++
		}
	}
	run.notes = table.Notes
	if early > 0 {
		run.notes = append(run.notes, fmt.Sprintf("left out: %d before the coat", early))
	}
	if late > 0 {
		run.notes = append(run.notes, fmt.Sprintf("left out: %d after %s", late, day(run.now, run.zone)))
		table = table.Until(run.now)
	}
	if run.now.IsZero() {
		run.now = last
	}
	stale := y.WithDefaults().Notice.Stale.Std()
	run.gap = table.Gap(stale)
	for i, spells := range table.Spells(run.coated, run.now, run.gap) {
		run.facets = append(run.facets, curing{name: table.Facets[i].Name, spells: spells, last: table.Last(i)})
	}
	return nil
}
