package pages

import (
	"math"
	"time"

	"fairwindow/conditions"
)

// placeTable is what the chart draws, in figures, for who cannot see it or wants a number;
// the script reads it out at the pointer.
type placeTable struct {
	Heads []string
	Rows  []placeRow
}

type placeRow struct {
	X      float64 // on the chart
	At     string
	How    string // measured, forecast, pencilled
	Cells  []string
	Stands string // the verdict
}

// tableRows is how many rows a page holds at most.
const tableRows = 170

// tableStep is how far the rows lie apart.
func tableStep(a axis) time.Duration {
	for _, step := range []time.Duration{15 * time.Minute, time.Hour, 3 * time.Hour, 6 * time.Hour, 12 * time.Hour} {
		if a.to.Sub(a.from) <= tableRows*step {
			return step
		}
	}
	return 24 * time.Hour
}

// tableOf has a row for each step of the span up to the last that is known; where nothing
// was measured it says so.
func tableOf(air placeAir, a axis, ch chart, c clock, u units) placeTable {
	t := placeTable{Heads: []string{
		"Margin, " + u.diffSign(), "Air, " + u.tempSign(), "Hull coldest, " + u.tempSign(), "Hull warmest, " + u.tempSign(),
		"Dew point, " + u.tempSign(), "Humidity, %",
	}}
	outdoors := !air.place.Roofed()
	if outdoors {
		t.Heads = append(t.Heads, "Wind, "+u.speed, "Gusts, "+u.speed, "Rain, %")
	}
	step, moments, verdicts := tableStep(a), air.moments, air.verdicts
	if step < time.Hour && a.to.After(c.now) {
		step = 15 * time.Minute
	}
	for at := a.from.Truncate(step); at.Before(a.to); at = at.Add(step) {
		if at.Before(a.from) {
			continue
		}
		for len(moments) > 0 && moments[0].At.Before(at) {
			moments = moments[1:]
		}
		for len(verdicts) > 0 && !verdicts[0].At.Add(time.Hour).After(at) {
			verdicts = verdicts[1:]
		}
		future := at.After(c.now)
		switch known := len(moments) > 0 && moments[0].At.Before(at.Add(step)); {
		case known && (!future || step >= time.Hour || moments[0].At.Equal(at)):
			row := placeRow{X: round(ch.x(a, at)), At: c.moment(at), How: howSure(moments[0].Sure), Cells: tableCells(moments[0], u, outdoors)}
			switch {
			case !outdoors: // the weather does not come in
				row.Stands = stands(conditions.Judge(moments[0], air.rules))
			case len(verdicts) > 0 && !verdicts[0].At.After(at):
				row.Stands = stands(verdicts[0])
			}
			t.Rows = append(t.Rows, row)
		case !future:
			t.Rows = append(t.Rows, placeRow{X: round(ch.x(a, at)), At: c.moment(at), How: "not measured"})
		}
	}
	return t
}

func tableCells(m conditions.Moment, u units, outdoors bool) []string {
	spread := func(words string, d float64) string {
		if d > 0 && words != "–" {
			words += " ±" + number(d, 1)
		}
		return words
	}
	cells := []string{
		spread(number(u.difference(margin(m)), 1), likely*u.difference(m.MarginError)), number(u.temperature(m.Air), 1),
		spread(number(u.temperature(m.Coldest), 1), hullSpread(m, u)), number(u.temperature(m.Warmest), 1), number(u.temperature(m.DewPoint), 1),
		spread(number(humidity(m), 0), math.Round(humiditySpread(m))),
	}
	if outdoors {
		cells = append(cells, number(u.wind(m.Wind), 1), number(u.wind(m.Gust), 1), number(100*float64(m.RainChance), 0))
	}
	return cells
}

func howSure(s conditions.Sureness) string {
	switch s {
	case conditions.Measured:
		return "measured"
	case conditions.Foretold:
		return "forecast"
	case conditions.Pencilled:
		return "season"
	}
	return "doubtful"
}

// stands words a verdict shortly, with the limit that binds and, of a forecast, the chance.
func stands(v conditions.Verdict) string {
	word := map[conditions.Answer]string{conditions.Yes: "within", conditions.No: "outside"}[v.Answer]
	if word == "" {
		return "unknown"
	}
	if v.Binding >= 0 && v.Answer == conditions.No {
		word += ": " + bound(v.Margins[v.Binding].Bound)
	}
	if v.Sure == conditions.Foretold || v.Sure == conditions.Pencilled {
		word += ", chance " + chance(v.Chance)
	}
	return word
}

// hullSpread is the half width of the coldest spot's likely spread: the air's error with
// what a surface that nobody measured adds.
func hullSpread(m conditions.Moment, u units) float64 {
	return likely * math.Hypot(u.difference(m.AirError), u.difference(m.SurfaceError))
}

// humiditySpread is the half width of the humidity's, by moving the dew point to each side
// as far as the margin may be wrong.
func humiditySpread(m conditions.Moment) float64 {
	up, down := m, m
	up.DewPoint = min(m.DewPoint.Plus(likely*m.MarginError), m.Air)
	down.DewPoint = m.DewPoint.Plus(-likely * m.MarginError)
	return (humidity(up) - humidity(down)) / 2
}
