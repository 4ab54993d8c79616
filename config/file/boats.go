package file

import (
	"fmt"
	"path"
	"strings"

	"go.yaml.in/yaml/v4"

	"fairwindow/config"
)

// Formats of a file of boats, by the end of its name.
const (
	YAML = "yaml"
	CSV  = "csv"
)

// fleet is a YAML file of boats.
type fleet struct {
	Boats []config.Boat `yaml:"boats"`
}

// Boats reads a file of boats, .yaml, .yml or .csv by its name. It checks the
// file's own form; whether the boats suit a yard is for BoatsFor.
func Boats(name string, data []byte) ([]config.Boat, Mistakes) {
	boats, mistakes, _ := readBoats(name, data)
	return boats, mistakes.sorted()
}

// BoatsFor reads a file of boats that come to a yard, and checks them against it.
func BoatsFor(y config.Yard, name string, data []byte) ([]config.Boat, Mistakes) {
	boats, mistakes, locate := readBoats(name, data)
	if locate != nil {
		for _, f := range config.CheckBoats(y, boats) {
			if line, column, known := locate(f.Path); !known {
				mistakes = append(mistakes, Mistake{
					File: name, Line: line, Column: column,
					Path: f.Path, What: f.What, Right: f.Right, Warning: f.Warning,
				})
			}
		}
	}
	return boats, mistakes.sorted()
}

// locator tells where in the file a fault's path stands, and whether a mistake
// is known there.
type locator func(path string) (line, column int, known bool)

// readBoats reads a file and gives back how to find a path in it; nil if it
// could not be read at all.
func readBoats(name string, data []byte) ([]config.Boat, Mistakes, locator) {
	switch strings.ToLower(path.Ext(name)) {
	case ".csv":
		return readCSV(name, data)
	case ".yaml", ".yml":
	default:
		return nil, Mistakes{{File: name, What: "boats are read from .yaml and .csv files", Right: "give the file one of these endings"}}, nil
	}
	var all fleet
	d := open(name, data, &all)
	if !d.readable {
		return all.Boats, d.mistakes, nil
	}
	return all.Boats, d.mistakes, func(path string) (int, int, bool) {
		at, known := d.find(path)
		return at.Line, at.Column, known
	}
}

// WriteBoats writes boats as YAML or CSV; Boats reads them back as they were.
func WriteBoats(format string, boats []config.Boat) ([]byte, error) {
	switch format {
	case YAML:
		return yaml.Dump(fleet{boats})
	case CSV:
		return writeCSV(boats)
	}
	return nil, fmt.Errorf("boats are not written as %q; use yaml or csv", format)
}
