package paper

import (
	"fmt"
	"strings"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// lacking stands for a letter that the type does not have, such as the signs that phones offer.
// What was really written is in record.json and in the CSV.
const lacking = '□'

// newType is the type that everything is written in; bold and italic have the same letters.
func newType() (*sfnt.Font, error) {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		return nil, fmt.Errorf("read the type: %w", err)
	}
	return f, nil
}

// printable is a text in letters that the type has: the library ends the program over one that
// is beyond its tables, and leaves out the others without a word.
func (s *sheet) printable(text string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '\n':
			return r
		case '\t', '\r':
			return ' '
		}
		if n, err := s.letters.GlyphIndex(&s.buffer, r); err != nil || n == 0 {
			return lacking
		}
		return r
	}, text)
}

// What writes or measures text does so with what can be printed.

// GetStringWidth is the width of a text as it is printed.
func (s *sheet) GetStringWidth(text string) float64 {
	return s.Fpdf.GetStringWidth(s.printable(text))
}

// SplitText breaks a text as it is printed.
func (s *sheet) SplitText(text string, width float64) []string {
	return s.Fpdf.SplitText(s.printable(text), width)
}

// MultiCell writes lines.
func (s *sheet) MultiCell(width, height float64, text, border, align string, fill bool) {
	s.Fpdf.MultiCell(width, height, s.printable(text), border, align, fill)
}

// CellFormat writes one line.
func (s *sheet) CellFormat(width, height float64, text, border string, next int, align string, fill bool, link int, address string) {
	s.Fpdf.CellFormat(width, height, s.printable(text), border, next, align, fill, link, address)
}
