package main

import (
	"fmt"
	"io"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

func mixCommand() *cobra.Command {
	var area, temp string
	var asJSON bool
	c := &cobra.Command{
		Use:   "mix YARD CARD --area A --temp T",
		Short: "Print what to mix for one pass of a card",
		Long: `Prints the mix sheet of a card for one pass over an area at a hull temperature:
which reducer, how much of each part, how long a pot lasts.`,
		Example: `  fairwindow mix my-yard Topcoat --area 42m2 --temp 32C
  fairwindow mix my-yard "High-build primer" --area 450ft2 --temp 64F`,
		Args: exactly("YARD", "CARD"),
		RunE: func(c *cobra.Command, args []string) error {
			y, err := readYard(args[0])
			if err != nil {
				return err
			}
			card, ok := y.Card(args[1])
			if !ok {
				return usage("there is no card %q in %s; there are %s", args[1], args[0], cardNames(y))
			}
			a, err := unit.Parse[unit.Area](area)
			if err != nil {
				return usage("--area: %w", err)
			}
			t, err := unit.Parse[unit.Temperature](temp)
			if err != nil {
				return usage("--temp: %w", err)
			}
			sheet, err := card.Sheet(a.SI, t.SI)
			if err != nil {
				return usageError{err}
			}
			if asJSON {
				return printJSON(c.OutOrStdout(), sheet)
			}
			printSheet(c.OutOrStdout(), sheet, y.Units)
			return nil
		},
	}
	c.Flags().StringVar(&area, "area", "", "area of one pass, such as 42m2 or 450ft2")
	c.Flags().StringVar(&temp, "temp", "", "hull temperature, such as 32C")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

func cardNames(y config.Yard) string {
	names := ""
	for i, c := range y.Cards {
		if i > 0 {
			names += ", "
		}
		names += fmt.Sprintf("%q", c.Name)
	}
	return names
}

func printSheet(w io.Writer, s config.Sheet, units string) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	defer t.Flush()
	for _, line := range s.Lines(units) {
		fmt.Fprintf(t, "%s\t%s\n", line[0], line[1])
	}
}
