package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/config/file"
)

func checkCommand() *cobra.Command {
	var schema, boats, asJSON bool
	var state string
	c := &cobra.Command{
		Use:   "check YARD",
		Short: "Say what is wrong with a yard file, or what was understood",
		Long: `Reads a yard file, and boats.yaml beside it if there is one, and prints every
mistake as file:line:col: what; what would be right. Without mistakes it prints
on one screen what was understood. Exit code 0: good; 1: mistakes.`,
		Example: `  fairwindow check my-yard
  fairwindow check --schema > yard.schema.json
  fairwindow check --schema-boats > boats.schema.json`,
		Args: func(c *cobra.Command, args []string) error {
			if schema || boats {
				return nil
			}
			return exactly("YARD")(c, args)
		},
		RunE: func(c *cobra.Command, args []string) error {
			if schema || boats {
				text, err := file.Schema()
				if boats {
					text, err = file.BoatsSchema()
				}
				if err != nil {
					return err
				}
				_, err = c.OutOrStdout().Write(append(text, '\n'))
				return err
			}
			return check(c, args[0], state, asJSON)
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder, for systems written on the pages; default under the user's state directory")
	c.Flags().BoolVar(&schema, "schema", false, "print the JSON Schema of a yard file")
	c.Flags().BoolVar(&boats, "schema-boats", false, "print the JSON Schema of a YAML file of boats")
	c.MarkFlagsMutuallyExclusive("schema", "schema-boats")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

func check(c *cobra.Command, arg, state string, asJSON bool) error {
	path, text, err := yardText(arg)
	if err != nil {
		return err
	}
	y, mistakes := file.Yard(path, text, checkFolder(path))
	if mistakes.Err() == nil {
		var aside file.Mistakes
		if y, aside, err = withSystems(c.Context(), y, state); err != nil {
			return err
		}
		mistakes = append(mistakes, aside...)
	}
	var boats []config.Boat
	beside := filepath.Join(filepath.Dir(path), boatsName)
	text, err = os.ReadFile(beside)
	unseen := "" // what the mistakes of the yard file keep from being checked
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return usage("the boats' file %s can't be read: %w", beside, plain(err))
	case mistakes.Err() != nil:
		unseen = beside + " is checked once the yard file is right"
	default:
		var more file.Mistakes
		boats, more = file.BoatsFor(y, beside, text)
		mistakes = append(mistakes, more...)
	}
	bad := mistakes.Err() != nil
	switch {
	case asJSON:
		if mistakes == nil {
			mistakes = file.Mistakes{}
		}
		if err := printJSON(c.OutOrStdout(), struct {
			Good     bool          `json:"good"`
			Mistakes file.Mistakes `json:"mistakes"`
		}{!bad, mistakes}); err != nil {
			return err
		}
	default:
		for _, m := range mistakes {
			fmt.Fprintln(c.ErrOrStderr(), m)
		}
		if unseen != "" {
			fmt.Fprintln(c.ErrOrStderr(), unseen)
		}
		if !bad {
			understood(c.OutOrStdout(), y.WithDefaults(), boats)
		}
	}
	if bad {
		return errNo
	}
	return nil
}

// understood prints a yard on one screen.
func understood(w io.Writer, y config.Yard, boats []config.Boat) {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	defer t.Flush()
	fmt.Fprintf(t, "yard\t%s, %s, %.3f %.3f\n", y.Name, y.Zone, y.Latitude, y.Longitude)
	for _, p := range y.Places {
		fmt.Fprintf(t, "place\t%s\t%s %s × %s, %s\n", p.Name, p.Kind, p.Length, p.Width, count(p.Boats, "boat"))
	}
	for _, c := range y.Crews {
		fmt.Fprintf(t, "crew\t%s\t%d people: %s\n", c.Name, c.People, strings.Join(c.Skills, ", "))
		for _, s := range c.Shifts {
			fmt.Fprintf(t, "\t\tshift %q for %s\n", s.Starts, s.Length)
		}
	}
	for _, c := range y.Cards {
		made := ""
		if c.Illustrative {
			made = ", illustrative"
		}
		fmt.Fprintf(t, "card\t%s rev %d\t%s%s\n", c.Name, c.Revision, c.Material, made)
	}
	for _, s := range y.Systems {
		fmt.Fprintf(t, "system\t%s\t%s\n", s.Name, count(len(s.Stages), "stage"))
	}
	fmt.Fprintf(t, "limits\t%s where a card is silent\n", y.Profile)
	if y.Records != "" {
		fmt.Fprintf(t, "season\tof the records %s\n", y.Records)
	}
	fmt.Fprintf(t, "sources\t%s, %s\n", count(len(y.Sensors), "sensor"), count(len(y.Forecasts), "forecast"))
	for _, b := range boats {
		fmt.Fprintf(t, "boat\t%s\t%s, arrives %s, promised %s\n", b.Name, b.Length, b.Arrives, b.Promised)
	}
}

// count is "1 boat", "2 boats".
func count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}
