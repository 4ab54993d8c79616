// Package paper answers one question: how does a record look on paper? It lays a
// record out as a PDF with numbered pages; the same record in the same style gives the
// same bytes.
package paper

import (
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/daemon/record"
)

// Style is how its reader reads.
type Style struct {
	US      bool // °F, mil and quarts on Letter, else °C, µm and litres on A4
	Zone    *time.Location
	Twelve  bool // hours go to twelve, twice a day
	Against func(conditions.Bound, float64) string
}

// decides stands at the foot of every page.
const decides = "A record of what was reported and measured. The maker's instructions, the site's rules, local codes and licensed practice decide."

// sizes in mm and points.
const (
	margin = 16.0
	foot   = 16.0
	line   = 4.4
	body   = 8.6
)

// sheet is the paper being written.
type sheet struct {
	*fpdf.Fpdf
	Style
	wide    float64 // of the text
	letters *sfnt.Font
	buffer  sfnt.Buffer // of letters
}

// Write writes a record as PDF.
func Write(w io.Writer, r record.Record, style Style) error {
	size := "A4"
	if style.US {
		size = "Letter"
	}
	letters, err := newType()
	if err != nil {
		return err
	}
	s := &sheet{Fpdf: fpdf.New("P", "mm", size, ""), Style: style, letters: letters}
	s.SetCatalogSort(true)
	s.SetCreationDate(r.Newest())
	s.SetModificationDate(r.Newest())
	s.SetProducer("fairwindow", true)
	s.SetTitle("Record of coats, "+r.Boat.Name, true)
	s.AddUTF8FontFromBytes("go", "", goregular.TTF)
	s.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	s.AddUTF8FontFromBytes("go", "I", goitalic.TTF)
	s.SetMargins(margin, margin, margin)
	s.SetAutoPageBreak(true, foot+2)
	width, _ := s.GetPageSize()
	s.wide = width - 2*margin
	s.AliasNbPages("{pages}")
	s.SetHeaderFunc(func() { s.head(r) })
	s.SetFooterFunc(s.tail)
	s.AddPage()
	if err := s.record(r); err != nil {
		return err
	}
	return s.Output(w)
}

func (s *sheet) head(r record.Record) {
	s.SetFont("go", "", 8)
	s.CellFormat(s.wide/2, 5, s.cut(r.Yard, s.wide/2), "", 0, "L", false, 0, "")
	s.CellFormat(s.wide/2, 5, s.cut("Record of coats: "+r.Boat.Name, s.wide/2), "", 1, "R", false, 0, "")
	y := s.GetY()
	s.SetLineWidth(0.2)
	s.Line(margin, y, margin+s.wide, y)
	s.SetY(y + 3)
}

// cut shortens a text to one line of a width; it stands in full on the first page.
func (s *sheet) cut(text string, width float64) string {
	runes := []rune(text)
	for n := len(runes); n > 0; n-- {
		if n < len(runes) {
			text = string(runes[:n]) + "..."
		}
		if s.GetStringWidth(text) <= width-2 {
			break
		}
	}
	return text
}

func (s *sheet) tail() {
	s.SetY(-foot)
	y := s.GetY()
	s.SetLineWidth(0.2)
	s.Line(margin, y, margin+s.wide, y)
	s.SetFont("go", "", 7)
	s.CellFormat(s.wide-30, 5, decides, "", 0, "L", false, 0, "")
	s.CellFormat(30, 5, fmt.Sprintf("page %d of {pages}", s.PageNo()), "", 1, "R", false, 0, "")
}

// title begins a part of the record; it does not stand alone at the foot of a page.
func (s *sheet) title(text string, size float64) {
	s.room(24)
	s.Ln(2)
	s.SetFont("go", "B", size)
	s.MultiCell(s.wide, size*0.5, text, "", "L", false)
	s.Ln(0.8)
}

// room begins a new page if less than so many mm are left.
func (s *sheet) room(mm float64) {
	_, height := s.GetPageSize()
	if s.GetY()+mm > height-foot-2 {
		s.AddPage()
	}
}

func (s *sheet) words(style, text string) {
	s.SetFont("go", style, body)
	s.MultiCell(s.wide, line, text, "", "L", false)
}

// facts is a list of names and what they are.
func (s *sheet) facts(pairs [][2]string) {
	for _, p := range pairs {
		if p[1] == "" {
			continue
		}
		rows := s.broken(p[1], s.wide-34, "")
		s.room(line * float64(len(rows)))
		s.SetFont("go", "B", body)
		s.CellFormat(34, line, p[0], "", 0, "L", false, 0, "")
		s.SetFont("go", "", body)
		for i, row := range rows {
			if i > 0 {
				s.SetX(margin + 34)
			}
			s.CellFormat(s.wide-34, line, row, "", 1, "L", false, 0, "")
		}
	}
	s.Ln(1)
}

// broken breaks a text into lines of a width.
func (s *sheet) broken(text string, width float64, style string) []string {
	s.SetFont("go", style, body)
	var rows []string
	for _, part := range strings.Split(text, "\n") {
		lines := s.SplitText(part, width-2)
		if len(lines) == 0 {
			lines = []string{""}
		}
		rows = append(rows, lines...)
	}
	return rows
}

// moment is a time with its day and year: a record is read years later.
func (s *sheet) moment(t time.Time) string {
	if t.IsZero() {
		return "no time known"
	}
	return t.In(s.Zone).Format("2 Jan 2006 ") + s.hour(t)
}

func (s *sheet) hour(t time.Time) string {
	if s.Twelve {
		return t.In(s.Zone).Format("3:04 pm")
	}
	return t.In(s.Zone).Format("15:04")
}

const notMeasured = "not measured"

func (s *sheet) temperature(v *float64) string {
	if v == nil {
		return notMeasured
	}
	if s.US {
		return fmt.Sprintf("%.1f", unit.In(unit.Temperature(*v), "F"))
	}
	return fmt.Sprintf("%.1f", *v)
}

func (s *sheet) difference(v *float64) string {
	if v == nil {
		return notMeasured
	}
	if s.US {
		return fmt.Sprintf("%.1f", unit.In(unit.TempDiff(*v), "F"))
	}
	return fmt.Sprintf("%.1f", *v)
}

// degrees and apart are the signs of a temperature and of a difference.
func (s *sheet) degrees() string {
	if s.US {
		return "°F"
	}
	return "°C"
}

func (s *sheet) apart() string {
	if s.US {
		return "°F"
	}
	return "K"
}

func (s *sheet) film(um float64) string {
	if s.US {
		return fmt.Sprintf("%.1f mil", unit.In(unit.Film(um), "mil"))
	}
	return fmt.Sprintf("%.0f µm", um)
}

func (s *sheet) amount(litres float64) string {
	if s.US {
		return fmt.Sprintf("%.2f qt", unit.In(unit.Volume(litres), "qt"))
	}
	return fmt.Sprintf("%.2f L", litres)
}
