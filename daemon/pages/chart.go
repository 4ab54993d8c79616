package pages

import (
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Sizes of a chart, in its own units; the page scales it.
const (
	chartWidth  = 960
	chartLeft   = 46
	chartRight  = 12
	panelHeight = 150
	panelGap    = 34
	stripHeight = 26
	limitApart  = 24  // limits nearer than that have their words side by side
	limitWords  = 190 // the width of the longest
)

// chart is the air and the hull over time, one panel per quantity, on one axis.
type chart struct {
	Width, Height int
	Left, Right   int // the ends of the drawn part
	Span          string
	Panels        []panel
	Ticks         []tick
	Now           float64 // 0: not in the span
	Ahead         float64 // how much of the width is to come
	now           time.Time
	gap           time.Duration // how far apart two values may lie and still be joined by a line
	Shut          []chartShut
	Stages        []strip
	Modes         []modeSpan
	ModesTop      int
	StripTop      int
	StripEnd      int
	ShutHeight    int
}

type panel struct {
	Title  string
	Top    int
	Bottom int
	Band   string // path of the likely spread
	Lines  []curve
	Limits []limitLine
	Grid   []gridLine
}

type curve struct{ Class, Name, Path string }

type limitLine struct {
	Y     float64
	Words string
	X     int // where the words stand, from the left end
}

type gridLine struct {
	Y     float64
	Label string
}

type tick struct {
	X     float64
	Label string
	Day   bool
}

type strip struct {
	X, W  float64
	Y     int
	Class string
	Label string
	Link  string
	Title string
}

type chartShut struct {
	X, W    float64
	Pattern string
	Words   string
}

// x sets a time across the drawn part.
func (c chart) x(a axis, t time.Time) float64 {
	return float64(c.Left) + float64(a.at(t))/100*float64(c.Right-c.Left)
}

// series is one value over time.
type series struct {
	class, name string
	at          func(conditions.Moment) float64
}

// plot is what a panel draws: its lines, its limits and, for one of them, a spread of so many
// units to each side.
type plot struct {
	title  string
	lines  []series
	limits []limitAt
	about  int // the line that has a spread
	spread func(conditions.Moment) float64
	least  float64 // the least height of the scale, so that noise is not made a mountain
	// counted says that there is nothing below zero.
	counted bool
}

type limitAt struct {
	value float64
	words string
}

// longestGap is how far apart two values may lie and still be joined by a line, where the
// chart is not so long that each of its points stands for more.
const longestGap = 90 * time.Minute

// draw lays a panel out.
func (c chart) draw(pl plot, moments []conditions.Moment, a axis, top int) panel {
	lo, hi := math.Inf(1), math.Inf(-1)
	reach := func(v float64) {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	for _, m := range moments {
		for i, s := range pl.lines {
			reach(s.at(m))
			if i == pl.about && pl.spread != nil {
				reach(s.at(m) + pl.spread(m))
				reach(s.at(m) - pl.spread(m))
			}
		}
	}
	if lo > hi && len(pl.limits) > 0 {
		lo, hi = pl.limits[0].value, pl.limits[0].value
	}
	if lo > hi {
		lo, hi = 0, pl.least
	}
	// A limit that is far off would flatten the curves: it is named, not drawn.
	far := math.Max(hi-lo, pl.least)
	from, to := lo-far, hi+far
	var near []limitAt
	title := pl.title
	for _, l := range pl.limits {
		if l.value < from || l.value > to {
			title += "; off the scale: " + l.words
			continue
		}
		reach(l.value)
		near = append(near, l)
	}
	if short := pl.least - (hi - lo); short > 0 {
		lo, hi = lo-short/2, hi+short/2
	}
	if pl.counted && lo < 0 {
		lo, hi = 0, hi-lo
	}
	step := niceStep((hi - lo) / 4)
	lo, hi = math.Floor(lo/step)*step, math.Ceil(hi/step)*step

	p := panel{Title: title, Top: top, Bottom: top + panelHeight}
	y := func(v float64) float64 { return float64(p.Bottom) - (v-lo)/(hi-lo)*panelHeight }
	for i := 0; ; i++ {
		v := lo + float64(i)*step
		if v > hi+step/2 {
			break
		}
		p.Grid = append(p.Grid, gridLine{round(y(v)), number(v, decimals(step))})
	}
	for _, l := range near {
		line := limitLine{round(y(l.value)), l.words, 5}
		for _, other := range p.Limits {
			if math.Abs(other.Y-line.Y) < limitApart {
				line.X = other.X + limitWords
			}
		}
		p.Limits = append(p.Limits, line)
	}
	for _, s := range pl.lines {
		measured, ahead := c.parted(moments)
		p.Lines = append(p.Lines, curve{s.class, s.name + ", measured", c.path(measured, a, s.at, y)}, curve{s.class + " ahead", s.name + ", forecast", c.path(ahead, a, s.at, y)})
	}
	if pl.spread != nil {
		p.Band = c.band(moments, a, pl, y)
	}
	return p
}

// worst leaves one moment of each step, the one with the least margin: a long chart has no
// room for more, and what was well in between hides nothing.
func worst(moments []conditions.Moment, step time.Duration) []conditions.Moment {
	var kept []conditions.Moment
	for _, m := range moments {
		n := len(kept)
		if n == 0 || !kept[n-1].At.Truncate(step).Equal(m.At.Truncate(step)) || kept[n-1].Sure != m.Sure {
			kept = append(kept, m)
			continue
		}
		if margin(m) < margin(kept[n-1]) || !unit.Known(margin(kept[n-1])) {
			kept[n-1] = m
		}
	}
	return kept
}

// parted are the moments up to now and those to come.
func (c chart) parted(moments []conditions.Moment) (measured, ahead []conditions.Moment) {
	n := sort.Search(len(moments), func(i int) bool { return moments[i].At.After(c.now) })
	return moments[:n], moments[n:]
}

// path is a line through the known values, broken where there are none.
func (c chart) path(moments []conditions.Moment, a axis, at func(conditions.Moment) float64, y func(float64) float64) string {
	var b strings.Builder
	var last time.Time
	for _, m := range moments {
		v := at(m)
		if math.IsNaN(v) || math.IsInf(v, 0) || m.At.Before(a.from) || m.At.After(a.to) {
			last = time.Time{}
			continue
		}
		move := "L"
		if last.IsZero() || m.At.Sub(last) > max(c.gap, longestGap) {
			move = "M"
		}
		fmt.Fprintf(&b, "%s%.1f %.1f", move, c.x(a, m.At), y(v))
		last = m.At
	}
	return b.String()
}

// band is the area between a line less and plus its spread, one shape
// per unbroken run.
func (c chart) band(moments []conditions.Moment, a axis, pl plot, y func(float64) float64) string {
	var b strings.Builder
	var over, under []string
	var last time.Time
	finish := func() {
		if len(over) > 1 {
			b.WriteString("M" + strings.Join(over, "L"))
			for i := len(under) - 1; i >= 0; i-- {
				b.WriteString("L" + under[i])
			}
			b.WriteString("Z")
		}
		over, under = nil, nil
	}
	for _, m := range moments {
		v, d := pl.lines[pl.about].at(m), pl.spread(m)
		if math.IsNaN(v+d) || d <= 0 || m.At.Before(a.from) || m.At.After(a.to) {
			finish()
			continue
		}
		if len(over) > 0 && m.At.Sub(last) > max(c.gap, longestGap) {
			finish()
		}
		x := c.x(a, m.At)
		over = append(over, fmt.Sprintf("%.1f %.1f", x, y(v+d)))
		under = append(under, fmt.Sprintf("%.1f %.1f", x, y(v-d)))
		last = m.At
	}
	finish()
	return b.String()
}

// niceStep is the least of 1, 2 or 5 times a power of ten that is no less than v.
func niceStep(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= v*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

func decimals(step float64) int {
	if step < 1 {
		return 1
	}
	return 0
}

func round(v float64) float64 { return math.Round(v*10) / 10 }
