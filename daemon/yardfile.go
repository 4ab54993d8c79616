package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/daemon/service"
)

// Names in a yard's folder.
const (
	yardName  = "yard.yaml"
	boatsName = "boats.yaml"
)

// yardPath lets people name the folder or the file.
func yardPath(arg string) string {
	if info, err := os.Stat(arg); err == nil && info.IsDir() {
		return filepath.Join(arg, yardName)
	}
	return arg
}

// yardText is the yard file that an argument means.
func yardText(arg string) (path string, text []byte, err error) {
	path = yardPath(arg)
	if text, err = os.ReadFile(path); err != nil {
		return path, nil, usage("the yard file %s can't be read: %w; fairwindow init DIR writes a new one", path, plain(err))
	}
	return path, text, nil
}

// readYard reads and checks a yard file; its error lists every mistake.
func readYard(arg string) (config.Yard, error) {
	path, text, err := yardText(arg)
	if err != nil {
		return config.Yard{}, err
	}
	y, mistakes := file.Yard(path, text, checkFolder(path))
	if err := mistakes.Err(); err != nil {
		return config.Yard{}, usageError{err}
	}
	return y.WithDefaults(), nil
}

// checkFolder looks at what the yard file at a path names beside itself: the file of
// records, and the folders that forecasts come to.
func checkFolder(path string) func(config.Yard) []config.Fault {
	return func(y config.Yard) []config.Fault {
		return append(checkForecasts(y, filepath.Dir(path)), checkRecords(y, filepath.Dir(path))...)
	}
}

// checkForecasts warns only: a folder may still be made, or be on a disk that is away.
func checkForecasts(y config.Yard, beside string) []config.Fault {
	var faults []config.Fault
	for i, f := range y.Forecasts {
		folder := f.Folder
		if !filepath.IsAbs(folder) {
			folder = filepath.Join(beside, folder)
		}
		if is, err := os.Stat(folder); f.Folder != "" && (err != nil || !is.IsDir()) {
			faults = append(faults, config.Fault{Path: fmt.Sprintf("forecasts[%d].folder", i), Warning: true,
				What: fmt.Sprintf("there is no folder %q beside the yard file yet", f.Folder), Right: "fairwindow run makes it; if the forecasts come to another, write its name"})
		}
	}
	return faults
}

func checkRecords(y config.Yard, beside string) []config.Fault {
	if _, err := y.Location(); err != nil || y.Records == "" {
		return nil // the yard's own check names a bad zone
	}
	records, _, err := service.Records(y, beside)
	if err != nil {
		return []config.Fault{{Path: "records", What: err.Error(), Right: "write the name of a file of hourly records, from the yard file's folder"}}
	}
	season, err := conditions.SeasonOf(records)
	if err != nil {
		assumed := "the months of season: are assumed instead"
		if len(y.Season) == 0 {
			assumed = "nothing is planned beyond the forecast without it"
		}
		fault := config.Fault{Path: "records", What: err.Error(), Right: assumed, Warning: true}
		return append(y.Shortfalls(y.ColdestMonth(), "in the season's coldest month"), fault)
	}
	return y.Shortfalls(season.ColdestDay(), "on the usual coldest day of the records")
}

// readBoats reads and checks a file of boats for a yard.
func readBoats(y config.Yard, path string) ([]config.Boat, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, usage("the boats' file %s can't be read: %w", path, plain(err))
	}
	boats, mistakes := file.BoatsFor(y, path, text)
	if err := mistakes.Err(); err != nil {
		return nil, usageError{err}
	}
	return boats, nil
}

// plain is an error without the paths, which its sentence names already.
func plain(err error) error {
	var at *fs.PathError
	var moved *os.LinkError
	switch {
	case errors.As(err, &at):
		return at.Err
	case errors.As(err, &moved):
		return moved.Err
	}
	return err
}

// stateFolder is where a yard's daemon keeps its store: --state, or a folder
// of the yard's name under the user's state directory.
func stateFolder(flag, yard string) (string, error) {
	if flag != "" {
		return flag, nil
	}
	base := os.Getenv("XDG_STATE_HOME")
	if base == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", usage("no home folder to keep the state in: name one with --state")
		}
		base = filepath.Join(home, ".local", "state")
	}
	return filepath.Join(base, "fairwindow", slug(yard)), nil
}

// slug is a name as a folder name.
func slug(name string) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= '0' && r <= '9':
			return r
		case r >= 'A' && r <= 'Z':
			return r + 'a' - 'A'
		}
		return '-'
	}, name), "-")
}

func printJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("the answer can't be written as JSON: %w", err)
	}
	return nil
}
