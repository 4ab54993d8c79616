package sensors

import (
	"encoding/csv"
	"errors"
	"fmt"
	"strings"
)

// EachRow reads a table, a record a line: header is handed the cells of the first and
// what separates them, row those of every other with its number. Blank lines and those
// that begin with # are passed over. A text without
// a header is no error here. Its errors name file and line.
func EachRow(name string, text []byte, header func(cells []string, separator rune) error, row func(line int, cells []string) error) error {
	columns, separator := 0, ','
	take := func(n int, line string) error {
		if columns == 0 {
			separator = Separator(line)
		}
		cells, err := Cells(line, separator)
		switch {
		case err != nil:
			return err
		case columns == 0:
			columns = len(cells)
			return header(cells, separator)
		case len(cells) != columns:
			return fmt.Errorf("%d cells under %d columns; is the file cut off?", len(cells), columns)
		}
		return row(n, cells)
	}
	for i, line := range strings.Split(strings.TrimPrefix(string(text), "\ufeff"), "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if err := take(i+1, line); err != nil {
			return fmt.Errorf("%s:%d: %w", name, i+1, err)
		}
	}
	return nil
}

// Separator is the one of comma, semicolon and tab that stands most often in a
// CSV header.
func Separator(header string) rune {
	best := ','
	for _, c := range []rune{';', '\t'} {
		if strings.Count(header, string(c)) > strings.Count(header, string(best)) {
			best = c
		}
	}
	return best
}

// Cells parts one line of CSV and trims the cells.
func Cells(line string, separator rune) ([]string, error) {
	r := csv.NewReader(strings.NewReader(strings.TrimRight(line, "\r\n")))
	r.Comma = separator
	r.TrimLeadingSpace = true
	cells, err := r.Read()
	var fault *csv.ParseError
	if errors.As(err, &fault) {
		// A row is read by itself, so its line is always the first.
		err = fmt.Errorf("column %d of the line: %w; write a quote within a quoted cell twice", fault.Column, fault.Err)
	}
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells, err
}
