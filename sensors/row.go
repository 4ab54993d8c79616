package sensors

import (
	"encoding/csv"
	"strings"
)

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

// Cells parts one line of CSV and trims the cells. The error is encoding/csv's.
func Cells(line string, separator rune) ([]string, error) {
	r := csv.NewReader(strings.NewReader(strings.TrimRight(line, "\r\n")))
	r.Comma = separator
	r.TrimLeadingSpace = true
	cells, err := r.Read()
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells, err
}
