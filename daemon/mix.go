package main

import (
	"fmt"
	"io"
	"text/tabwriter"
	"time"

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
			card, err := cardNamed(y, args[1])
			if err != nil {
				return err
			}
			if area == "" || temp == "" {
				return usage("how much, on how warm a hull? give both --area, such as 42m2, and --temp, such as 32C")
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
				return printJSON(c.OutOrStdout(), mixedAs(card, sheet))
			}
			return printSheet(c.OutOrStdout(), card, sheet, y.Units)
		},
	}
	c.Flags().StringVar(&area, "area", "", "area of one pass, such as 42m2 or 450ft2")
	c.Flags().StringVar(&temp, "temp", "", "hull temperature, such as 32C")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// mixAnswer is the sheet for a program: durations as people write them, as everywhere in
// JSON, and what the printed sheet says besides.
type mixAnswer struct {
	config.Sheet               // m², °C, µm, L
	PotLife      unit.Duration `json:"pot_life"`
	Stands       unit.Duration `json:"stands"`
	Mixed        config.Parts  `json:"mixed"`                // more than the pass takes where whole kits are mixed
	Kilograms    *mixWeights   `json:"kilograms,omitempty"`  // of what is mixed, where the card has densities
	WholeKits    int           `json:"whole_kits,omitempty"` // where the card mixes whole kits
	LeftOver     unit.Volume   `json:"left_over,omitempty"`  // of those, L
}

// mixWeights are null where the card does not say.
type mixWeights struct {
	Base     *float64 `json:"base"`
	Hardener *float64 `json:"hardener"`
	Reducer  *float64 `json:"reducer"`
}

func mixedAs(card config.Card, s config.Sheet) mixAnswer {
	a := mixAnswer{Sheet: s, PotLife: unit.Duration(s.PotLife.Round(time.Minute)), Stands: unit.Duration(s.Stands.Round(time.Minute))}
	weighs := func(m unit.Mass) *float64 {
		if !unit.Known(m) {
			return nil
		}
		kilograms := unit.In(m, "kg")
		return &kilograms
	}
	a.Mixed, a.WholeKits, a.LeftOver = mixed(card, s)
	base, hardener, reducer := card.Mix.Density.Weighs(a.Mixed)
	if weight := (mixWeights{weighs(base), weighs(hardener), weighs(reducer)}); weight != (mixWeights{}) {
		a.Kilograms = &weight
	}
	return a
}

// mixed is what goes into the pot for a pass: what the pass takes, or what is in the whole
// kits, the reducer for all of it, and how many they are and what of it is left over.
func mixed(card config.Card, s config.Sheet) (m config.Parts, kits int, over unit.Volume) {
	pots, left, err := card.KitPots(s, 0)
	if err != nil {
		return s.Litres, 0, 0 // the card has no kits
	}
	return pots[0].Litres, pots[0].Kits, left.Base + left.Hardener + left.Reducer
}

// printSheet prints a sheet as it is read beside the mixing bench.
func printSheet(w io.Writer, card config.Card, s config.Sheet, units string) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	line := func(name, format string, args ...any) { fmt.Fprintf(t, name+"\t"+format+"\n", args...) }
	made := ""
	if s.Illustrative {
		made = " (illustrative: made-up figures, not a maker's)"
	}
	line("card", "%s rev %d%s", s.Card, s.Revision, made)
	if s.Variant != "" {
		line("variant", "%s, by %s", s.Variant, s.Method)
	}
	line("one pass", "%s at a hull of %s", showArea(s.Area, units), showTemperature(s.Surface, units))
	line("film", "%s wet, %s dry", showFilm(s.Wet, units), showFilm(s.Dry, units))
	litres, kits, over := mixed(card, s)
	if kits > 0 {
		line("whole kits", "%d: the pass takes %s, and %s of the mix is left over", kits,
			showVolume(s.Litres.Base+s.Litres.Hardener+s.Litres.Reducer, units), showVolume(over, units))
	}
	base, hardener, reducer := card.Mix.Density.Weighs(litres)
	line("base", "%s%s", showVolume(litres.Base, units), named(showWeight(base, units)))
	line("hardener", "%s%s%s", showVolume(litres.Hardener, units), named(showWeight(hardener, units)), named(s.Hardener))
	line("reducer", "%s%s%s", showVolume(litres.Reducer, units), named(showWeight(reducer, units)), named(s.Reducer))
	line("loss", "%.0f %% counted in", 100*float64(s.Loss))
	if s.Stands > 0 {
		line("stands", "%s after mixing, before use", unit.Duration(s.Stands.Round(time.Minute)))
	}
	line("pot life", "%s at this temperature; never stretch it with reducer", unit.Duration(s.PotLife.Round(time.Minute)))
	for _, c := range s.Cautions {
		line("caution", "%s", c)
	}
	line("caution", "%s", "two-part paint: air-fed breathing apparatus, no ignition; the maker's instructions and the site's rules decide")
	return t.Flush()
}

func named(what string) string {
	if what == "" {
		return ""
	}
	return ", " + what
}

// showWeight is nothing where no card says what a litre weighs.
func showWeight(m unit.Mass, units string) string {
	switch {
	case !unit.Known(m):
		return ""
	case units == "US":
		return fmt.Sprintf("%.2f lb", unit.In(m, "lb"))
	}
	return fmt.Sprintf("%.2f kg", unit.In(m, "kg"))
}

func showVolume(v unit.Volume, units string) string {
	if units == "US" {
		return fmt.Sprintf("%.2f qt", unit.In(v, "qt"))
	}
	return fmt.Sprintf("%.2f L", float64(v))
}

func showFilm(f unit.Film, units string) string {
	if units == "US" {
		return fmt.Sprintf("%.1f mil", unit.In(f, "mil"))
	}
	return fmt.Sprintf("%.0f µm", float64(f))
}

func showArea(a unit.Area, units string) string {
	if units == "US" {
		return fmt.Sprintf("%.0f ft²", unit.In(a, "ft2"))
	}
	return fmt.Sprintf("%.0f m²", float64(a))
}

func showTemperature(t unit.Temperature, units string) string {
	if units == "US" {
		return fmt.Sprintf("%.0f °F", unit.In(t, "F"))
	}
	return fmt.Sprintf("%.0f °C", float64(t))
}
