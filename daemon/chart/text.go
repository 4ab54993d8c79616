package chart

import (
	"fmt"
	"math"
	"strings"
	"time"
)

// Size of a text chart, characters: it fits in 100 columns.
const (
	gutter  = 8
	columns = 90
	rows    = 22
)

// Marks that are no line's letter.
const (
	several = '+'
	present = '|'
)

// Text draws the chart in at most 100 columns and some 30 lines, one row for
// each step of the scale, a letter for each line; + is several of them.
func (c Chart) Text() string {
	most := rows
	if c.Rows > 0 {
		most = c.Rows
	}
	low, high, step, ok := c.scale(most)
	if !ok {
		return c.Title + ": nothing is known to draw\n"
	}
	every := c.every()
	n := int(c.To.Sub(c.From)/every) + 1
	var b strings.Builder
	fmt.Fprintf(&b, "%s, %s\n", c.Title, c.Unit)
	cells := c.cells(low, step, int(math.Round((high-low)/step))+1, n, every)
	for i := len(cells) - 1; i >= 0; i-- {
		fmt.Fprintf(&b, "%*s |%s\n", gutter-2, figure(low+float64(i)*step, step), strings.TrimRight(string(cells[i]), " "))
	}
	fmt.Fprintf(&b, "%*s +%s\n", gutter-2, "", strings.Repeat("-", n))
	for _, s := range c.Strips {
		b.WriteString(strings.TrimRight(fmt.Sprintf("%*s |%s", gutter-2, s.Name, s.row(c.From, n, every)), " ") + "\n")
	}
	b.WriteString(c.axis(n, every))
	b.WriteString(c.key(every))
	return b.String()
}

// every is how much time a column stands for.
func (c Chart) every() time.Duration {
	span := c.To.Sub(c.From)
	for _, m := range []int{5, 10, 15, 20, 30, 60, 120, 180, 240, 360, 720} {
		if every := time.Duration(m) * time.Minute; span < columns*every {
			return every
		}
	}
	return (span/columns/(24*time.Hour) + 1) * 24 * time.Hour
}

// cells are the rows of the drawing from the bottom up.
func (c Chart) cells(low, step float64, high, n int, every time.Duration) [][]rune {
	back, front := grid(high, n), grid(high, n)
	if k := int(c.Now.Sub(c.From) / every); !c.Now.IsZero() && k >= 0 && k < n {
		for i := range back {
			back[i][k] = present
		}
	}
	for _, l := range c.Lines {
		on := front
		if l.Behind {
			on = back
		}
		for k := range n {
			v := l.at(c.From.Add(time.Duration(k) * every))
			i := int(math.Round((v - low) / step))
			if math.IsNaN(v) || i < 0 || i >= high {
				continue
			}
			switch at := &on[i][k]; *at {
			case ' ', present, l.Letter:
				*at = l.Letter
			default:
				*at = several
			}
		}
	}
	for i, row := range front {
		for k, letter := range row {
			if letter != ' ' {
				back[i][k] = letter
			}
		}
	}
	return back
}

func grid(high, n int) [][]rune {
	cells := make([][]rune, high)
	for i := range cells {
		cells[i] = []rune(strings.Repeat(" ", n))
	}
	return cells
}

func (s Strip) row(from time.Time, n int, every time.Duration) string {
	row := []rune(strings.Repeat(" ", n))
	for k := range n {
		at := from.Add(time.Duration(k) * every)
		if s.during(at, at.Add(every)) {
			row[k] = s.Letter
		}
	}
	return string(row)
}

// axis names the hours below the drawing, as many as do not touch.
func (c Chart) axis(n int, every time.Duration) string {
	row := []rune(strings.Repeat(" ", gutter+n+10))
	free := 0
	for _, t := range c.ticks(max(1, n/8)) {
		at := gutter + int(t.at.Sub(c.From)/every)
		name := []rune("'" + c.label(t))
		if at < free || at+len(name) > 100 {
			continue
		}
		copy(row[at:], name)
		free = at + len(name) + 1
	}
	return strings.TrimRight(string(row), " ") + "\n"
}

// key says what each letter is.
func (c Chart) key(every time.Duration) string {
	words := []string{fmt.Sprintf("a column is %s", spell(every))}
	for _, l := range c.Lines {
		if !l.Twin {
			words = append(words, fmt.Sprintf("%c %s", l.Letter, l.Name))
		}
	}
	words = append(words, fmt.Sprintf("%c several", several))
	if !c.Now.IsZero() {
		words = append(words, fmt.Sprintf("%c now", present))
	}
	var b strings.Builder
	line := strings.Repeat(" ", gutter-1)
	for i, w := range words {
		if i > 0 {
			w = ";  " + w
		}
		if len([]rune(line+w)) > 98 {
			b.WriteString(line + "\n")
			line, w = strings.Repeat(" ", gutter), strings.TrimPrefix(w, ";  ")
		}
		line += w
	}
	return b.String() + line + "\n"
}

func spell(d time.Duration) string {
	switch {
	case d < time.Hour:
		return fmt.Sprintf("%d min", d/time.Minute)
	case d%(24*time.Hour) == 0:
		return fmt.Sprintf("%d d", d/(24*time.Hour))
	}
	return fmt.Sprintf("%d h", d/time.Hour)
}
