package pages

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// modeSpan is a stretch in which a booth was in one mode, on the chart.
type modeSpan struct {
	X, W  float64
	Y     int
	Mode  string // idle, spraying, curing
	Label string // where it fits
	Title string
}

const modeHeight = 20

// modes lays what a booth did under the panels and returns the height it takes. Where
// nobody said it for longer than a word counts, it is a gap: nobody knows.
func (ch *chart) modes(readings []sensors.Reading, a axis, top int, c clock, lasts time.Duration) int {
	names := map[float64]string{0: "idle", 1: "spraying", 2: "curing"}
	var mode string
	var from, to time.Time
	add := func() {
		x, w, ok := a.cut(from, to)
		if mode == "" || !ok {
			return
		}
		width := float64(ch.Right-ch.Left) / 100
		m := modeSpan{X: round(float64(ch.Left) + float64(x)*width), W: round(float64(w) * width), Y: top, Mode: mode, Title: mode + ", " + c.span(from, to)}
		if m.W > 7*float64(len(mode)) {
			m.Label = mode
		}
		ch.Modes = append(ch.Modes, m)
	}
	for _, r := range readings {
		x, ok := r.Good(conditions.BoothMode)
		is := names[x]
		if !ok || is == "" || r.At.After(c.now) {
			continue
		}
		if is != mode || r.At.After(to) {
			if is != mode && r.At.Before(to) {
				to = r.At
			}
			add()
			mode, from = is, r.At
		}
		to = r.At.Add(lasts)
		if to.After(c.now) {
			to = c.now
		}
	}
	add()
	if len(ch.Modes) == 0 {
		return 0
	}
	ch.ModesTop = top
	return modeHeight
}
