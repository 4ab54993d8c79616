package main

import (
	"fairwindow/config"
	"fairwindow/config/file"
)

// bookFiles turn what is written down on the pages into files and back.
type bookFiles struct{}

func (bookFiles) ReadBoats(y config.Yard, name string, text []byte) ([]config.Boat, []string, bool) {
	boats, mistakes := file.BoatsFor(y, name, text)
	var lines []string
	for _, m := range mistakes {
		lines = append(lines, m.String())
	}
	return boats, lines, mistakes.Err() == nil
}

func (bookFiles) WriteBoats(format string, boats []config.Boat) ([]byte, error) {
	return file.WriteBoats(format, boats)
}

func (bookFiles) WriteSystem(s config.System) ([]byte, error) { return file.WriteSystem(s) }
