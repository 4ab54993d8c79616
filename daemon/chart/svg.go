package chart

import (
	"encoding/xml"
	"fmt"
	"math"
	"strings"
	"time"
)

// Size of an SVG chart, in its own units.
const (
	width  = 960
	left   = 56
	right  = 730 // the key stands beyond
	top    = 44
	bottom = 400
	strip  = 16
)

// strokes tell the lines apart: by the dash as well, for a print in grey.
var strokes = []struct{ ink, dash string }{
	{"#14566f", ""}, {"#b5560b", ""}, {"#6a4a93", "9 3"}, {"#0b5d47", "9 3"}, {"#8a2f0b", "3 3"}, {"#1b2f3a", "3 3"},
	{"#285d86", "9 3 2 3"}, {"#7a6a1f", "9 3 2 3"}, {"#14566f", "1 3"}, {"#b5560b", "1 3"},
}

const (
	faint = "#8a979b"
	ink   = "#1b2f3a"
)

// SVG is the chart as a file of its own, with its key beside it.
func (c Chart) SVG() string {
	var b strings.Builder
	low, high, step, ok := c.scale(9)
	end := bottom + 40 + strip*len(c.Strips)
	height := max(end, top+22*len(c.Lines)+40)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-label="%s" font-family="sans-serif" font-size="12" fill="%s">`+"\n",
		width, height, width, height, escaped(c.Title), ink)
	fmt.Fprintf(&b, `<rect width="%d" height="%d" fill="#fffefa"/>`+"\n", width, height)
	put(&b, left, 22, `font-size="15"`, c.Title+", "+c.Unit)
	if !ok {
		put(&b, left, top+20, "", "nothing is known to draw")
		return b.String() + "</svg>\n"
	}
	y := func(v float64) float64 { return bottom - (v-low)/(high-low)*(bottom-top) }
	for i := 0; ; i++ {
		v := low + float64(i)*step
		if v > high+step/2 {
			break
		}
		line(&b, left, y(v), right, y(v), `stroke="#dfe5e2"`)
		put(&b, left-6, y(v)+4, `text-anchor="end"`, figure(v, step))
	}
	for _, t := range c.ticks(9) {
		line(&b, c.x(t.at), top, c.x(t.at), bottom, `stroke="#dfe5e2"`)
		put(&b, c.x(t.at), float64(end-8), `text-anchor="middle"`, c.label(t))
	}
	if !c.Now.IsZero() && !c.Now.Before(c.From) && !c.Now.After(c.To) {
		line(&b, c.x(c.Now), top-6, c.x(c.Now), bottom, fmt.Sprintf(`stroke="%s" stroke-dasharray="1 4" stroke-width="2"`, ink))
		put(&b, c.x(c.Now)+4, top-8, "", "now")
	}
	for i, s := range c.Strips {
		at := float64(bottom + 12 + strip*i)
		put(&b, left-6, at+10, `text-anchor="end"`, s.Name)
		for _, x := range s.Spans {
			if x[0].Before(c.To) && c.From.Before(x[1]) {
				from, to := c.x(x[0]), c.x(x[1])
				fmt.Fprintf(&b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%d" fill="#9db9c9"/>`+"\n", from, at, to-from, strip-4)
			}
		}
	}
	c.curves(&b, y)
	return b.String() + "</svg>\n"
}

// x sets a time across the drawing.
func (c Chart) x(t time.Time) float64 {
	part := float64(t.Sub(c.From)) / float64(c.To.Sub(c.From))
	return left + min(1, max(0, part))*(right-left)
}

// curves draws the lines and their key, those behind first.
func (c Chart) curves(b *strings.Builder, y func(float64) float64) {
	row, n, behind := float64(top+8), 0, 0
	style := ""
	for _, l := range c.Lines {
		switch {
		case l.Twin: // as the one before it
		case l.Behind:
			style = fmt.Sprintf(`stroke="%s" stroke-width="2.5" stroke-dasharray="%s"`, faint, []string{"", "1 3"}[behind%2])
			behind++
		default:
			s := strokes[n%len(strokes)]
			style = fmt.Sprintf(`stroke="%s" stroke-width="1.6" stroke-dasharray="%s"`, s.ink, s.dash)
			n++
		}
		fmt.Fprintf(b, `<path fill="none" %s d="%s"/>`+"\n", style, c.path(l, y))
		if l.Twin {
			continue
		}
		line(b, right+16, row-4, right+50, row-4, style)
		put(b, right+58, row, "", string(l.Letter)+" "+l.Name)
		row += 22
	}
}

// path is a line through the known values, broken where there are none.
func (c Chart) path(l Line, y func(float64) float64) string {
	var b strings.Builder
	var last time.Time
	for _, p := range l.Points {
		if math.IsNaN(p.Value) || math.IsInf(p.Value, 0) || p.At.Before(c.From) || p.At.After(c.To) {
			last = time.Time{}
			continue
		}
		move := "L"
		if last.IsZero() || p.At.Sub(last) > joined {
			move = "M"
		}
		fmt.Fprintf(&b, "%s%.1f %.1f", move, c.x(p.At), y(p.Value))
		last = p.At
	}
	return b.String()
}

func line(b *strings.Builder, x1, y1, x2, y2 float64, style string) {
	fmt.Fprintf(b, `<line x1="%.1f" y1="%.1f" x2="%.1f" y2="%.1f" %s/>`+"\n", x1, y1, x2, y2, style)
}

func put(b *strings.Builder, x, y float64, style, words string) {
	fmt.Fprintf(b, `<text x="%.1f" y="%.1f" %s>%s</text>`+"\n", x, y, style, escaped(words))
}

// escaped is text that XML may hold, whatever people called their boats.
func escaped(words string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(words)); err != nil {
		return "" // a Builder never fails
	}
	return b.String()
}
