package paper

// column is one of a table, with its part of the width.
type column struct {
	name string
	part float64
}

// row is a table's. With the words of a strike its cells are struck through, and the words
// stand below them, which nobody struck.
type row struct {
	cells  []string
	struck string
}

// table lays rows out; cells break, the heads stand again on a new page and never alone at
// the foot of one, and a row is never torn between two.
func (s *sheet) table(columns []column, rows []row) {
	if len(rows) == 0 {
		return
	}
	var sum float64
	for _, c := range columns {
		sum += c.part
	}
	widths := make([]float64, len(columns))
	heads := row{}
	for i, c := range columns {
		widths[i] = c.part / sum * s.wide
		heads.cells = append(heads.cells, c.name)
	}
	s.room(s.high(heads, widths, "B") + s.high(rows[0], widths, ""))
	s.lay(heads, widths, "B")
	for _, r := range rows {
		if s.high(r, widths, "") > s.left() {
			s.AddPage()
			s.lay(heads, widths, "B")
		}
		s.lay(r, widths, "")
	}
	s.Ln(2)
}

// left is how much of the page is still free.
func (s *sheet) left() float64 {
	_, height := s.GetPageSize()
	return height - foot - 2 - s.GetY()
}

func (s *sheet) high(r row, widths []float64, style string) float64 {
	most := 1
	for i, cell := range r.cells {
		most = max(most, len(s.broken(cell, widths[i], style)))
	}
	return float64(most+len(s.strike(r)))*line + 1
}

// strike are the lines of the words of a strike.
func (s *sheet) strike(r row) []string {
	if r.struck == "" {
		return nil
	}
	return s.broken(r.struck, s.wide, "I")
}

// lay writes one row at the pen and goes below it.
func (s *sheet) lay(r row, widths []float64, style string) {
	top, high := s.GetY(), s.high(r, widths, style)
	x := margin
	for i, cell := range r.cells {
		for n, text := range s.broken(cell, widths[i], style) {
			y := top + 0.5 + float64(n)*line
			s.SetXY(x, y)
			s.CellFormat(widths[i], line, text, "", 0, "L", false, 0, "")
			if r.struck != "" && text != "" {
				s.SetLineWidth(0.3)
				s.Line(x+1, y+line/2, x+1+s.GetStringWidth(text), y+line/2)
			}
		}
		x += widths[i]
	}
	words := s.strike(r)
	for n, text := range words {
		s.SetXY(margin, top+high-0.5-float64(len(words)-n)*line)
		s.CellFormat(s.wide, line, text, "", 0, "L", false, 0, "")
	}
	s.SetLineWidth(0.1)
	if style == "B" {
		s.SetLineWidth(0.3)
	}
	s.Line(margin, top+high, margin+s.wide, top+high)
	s.SetXY(margin, top+high)
}
