package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/daemon/pages"
	"fairwindow/daemon/record"
	"fairwindow/daemon/record/bundle"
	"fairwindow/daemon/record/paper"
	"fairwindow/daemon/service"
)

func recordCommand() *cobra.Command {
	var state, pdf, table, evidence string
	c := &cobra.Command{
		Use:   "record YARD BOAT",
		Short: "Print or write the record of the coats on a boat",
		Long: `Writes the record of what went on a boat, from what the daemon keeps: who, with
what, in which air, by which limits, what nobody measured, what was struck through
and who signed. Without a flag it prints the record as JSON. --evidence writes it
with all that it rests on, as a ZIP that opens without this program; fairwindow
verify checks one. Nothing is changed, and the daemon may run meanwhile.`,
		Example: `  fairwindow record my-yard "Boat Tern" --pdf tern.pdf
  fairwindow record my-yard "Boat Tern" --csv tern.csv
  fairwindow record my-yard "Boat Tern" --evidence tern.zip`,
		Args: exactly("YARD", "BOAT"),
		RunE: func(c *cobra.Command, args []string) error {
			y, kept, err := openKept(args[0], state)
			if err != nil {
				return err
			}
			defer kept.Close()
			style, err := paperOf(y)
			if err != nil {
				return err
			}
			if evidence != "" {
				err := toFile(evidence, func(w io.Writer) error { return service.EvidenceOf(c.Context(), kept, y, args[1], w, style) })
				if err != nil {
					return err
				}
				fmt.Fprintln(c.OutOrStdout(), "written:", evidence)
			}
			r, err := service.RecordOf(c.Context(), kept, y, args[1])
			if err != nil {
				return usageError{err}
			}
			for _, out := range []struct {
				name  string
				write func(io.Writer) error
			}{{pdf, func(w io.Writer) error { return paper.Write(w, r, style) }}, {table, r.CSV}} {
				if out.name == "" {
					continue
				}
				if err := toFile(out.name, out.write); err != nil {
					return err
				}
				fmt.Fprintln(c.OutOrStdout(), "written:", out.name)
			}
			if pdf == "" && table == "" && evidence == "" {
				text, err := r.Canonical()
				if err == nil {
					_, err = c.OutOrStdout().Write(text)
				}
				return err
			}
			return nil
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().StringVar(&pdf, "pdf", "", "write the record as PDF to this file")
	c.Flags().StringVar(&table, "csv", "", "write the record as a table to this file")
	c.Flags().StringVar(&evidence, "evidence", "", "write the record with its evidence to this ZIP")
	return c
}

// paperOf is how a yard's people read.
func paperOf(y config.Yard) (paper.Style, error) {
	zone, err := y.Location()
	return paper.Style{US: y.Units == "US", Zone: zone, Against: pages.Against}, err
}

// toFile writes a file whole or not at all. What is there and is no file, such as a pipe, is
// written to as it stands: a rename would put a file in its place.
func toFile(name string, write func(io.Writer) error) (err error) {
	defer func() {
		if err != nil {
			err = usage("%s was not written: %w", name, plain(err))
		}
	}()
	is, err := os.Stat(name)
	switch {
	case err == nil && is.IsDir():
		return errors.New("it is a folder; name a file in it")
	case err == nil && !is.Mode().IsRegular():
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		return errors.Join(write(f), f.Close())
	}
	f, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			os.Remove(f.Name())
		}
	}()
	if err := errors.Join(write(f), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

func verifyCommand() *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "verify BUNDLE",
		Short: "Check that an evidence bundle is what it was",
		Long: `Reads an evidence bundle against its manifest, file by file, and each signed record
against the digest that its signature names. Compare a digest with the one on the
printed record: a bundle made anew by somebody else carries another. Exit code 0:
all is as it was; 1: something is not.`,
		Example: `  fairwindow verify tern.zip
  fairwindow verify tern.zip --json`,
		Args: exactly("BUNDLE"),
		RunE: func(c *cobra.Command, args []string) error {
			f, err := os.Open(args[0])
			if err != nil {
				return usage("the bundle %s can't be read: %w", args[0], plain(err))
			}
			defer f.Close()
			is, err := f.Stat()
			if err == nil && is.IsDir() {
				err = errors.New("is a directory")
			}
			if err != nil {
				return usage("the bundle %s can't be read: %w", args[0], plain(err))
			}
			v, err := bundle.Verify(f, is.Size())
			if err != nil {
				return usage("%s: %w", args[0], err)
			}
			if !asJSON {
				return sayVerified(c.OutOrStdout(), v)
			}
			if err := printJSON(c.OutOrStdout(), verifiedAs(v)); err != nil {
				return err
			}
			if len(v.Faults) > 0 {
				return errNo
			}
			return nil
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}

// verdictOn is what a bundle is found to be, for a program.
type verdictOn struct {
	AsItWas bool              `json:"as_it_was"`
	Files   int               `json:"files"`
	Digest  string            `json:"sha256"`
	Faults  []string          `json:"faults"`
	Signed  []verifiedSigning `json:"signed"`
}

// verifiedSigning is a signature in it; Matches is of one of the whole record only.
type verifiedSigning struct {
	record.Signature
	Matches bool `json:"matches"`
}

func verifiedAs(v bundle.Verified) verdictOn {
	is := verdictOn{AsItWas: len(v.Faults) == 0, Files: v.Files, Digest: v.Digest, Faults: append([]string{}, v.Faults...), Signed: []verifiedSigning{}}
	for _, g := range v.Signed {
		is.Signed = append(is.Signed, verifiedSigning{g, v.Matches[g.ID]})
	}
	return is
}

func sayVerified(w io.Writer, v bundle.Verified) error {
	fmt.Fprintf(w, "files as the manifest says: %d\n", v.Files)
	fmt.Fprintf(w, "the record in it: SHA-256 %s\n", v.Digest)
	for _, g := range v.Signed {
		of := "the whole record"
		if g.Key.Stage != "" {
			of = g.Key.Stage + " on " + g.Key.Area
		}
		fmt.Fprintf(w, "%s %s by %s, %s, %s UTC", of, g.Act, g.By, g.Role, g.At.UTC().Format(time.DateTime))
		if g.Act == record.Signed {
			fmt.Fprintf(w, ": SHA-256 %s", g.Digest)
			if g.Key.Stage == "" && !v.Matches[g.ID] {
				fmt.Fprint(w, ", which is not the record of today; it is kept beside it")
			}
		}
		fmt.Fprintln(w)
	}
	for _, fault := range v.Faults {
		fmt.Fprintln(w, "NOT AS IT WAS:", fault)
	}
	if len(v.Faults) > 0 {
		return errNo
	}
	fmt.Fprintln(w, "all is as it was")
	return nil
}
