package pages

import (
	"fmt"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// placeAir is what a place's chart is drawn from.
type placeAir struct {
	moments  []conditions.Moment
	rules    conditions.Rules
	verdicts []conditions.Verdict
	plan     planner.Plan
	place    config.Place
	signals  []sensors.Reading // of a booth
}

// shutTop is where the shading begins, beneath the times; the template has it too.
const shutTop = 20

// modeLasts is how long a booth's word on its mode is taken to go on where no other comes.
const modeLasts = 30 * time.Minute

// likely is the half width of the spread drawn, in standard deviations: nine times in ten.
const likely = 1.645

// placeChart draws the margin first: it is what shuts most windows.
func placeChart(air placeAir, a axis, c clock, u units) chart {
	ch := chart{now: c.now, Width: chartWidth, Left: chartLeft, Right: chartWidth - chartRight, Span: c.span(a.from, a.to)}
	drawn := air.moments
	if step := chartStep(a); step > 0 {
		drawn, ch.gap = worst(drawn, step), 2*step
	}
	top := panelGap + 10
	for _, pl := range plots(air, u) {
		ch.Panels = append(ch.Panels, ch.draw(pl, drawn, a, top))
		top += panelHeight + panelGap
	}
	ch.StripTop = top - panelGap + 22
	if h := ch.modes(air.signals, a, ch.StripTop, c, modeLasts); h > 0 {
		ch.StripTop += h + 6
	}
	ch.StripEnd = ch.StripTop + ch.stages(air, a, c)
	ch.Height, ch.ShutHeight = ch.StripEnd+8, ch.StripEnd-shutTop
	if !c.now.Before(a.from) && c.now.Before(a.to) {
		ch.Now = round(ch.x(a, c.now))
		ch.Ahead = float64(ch.Right) - ch.Now
	}
	days := a.to.Sub(a.from) > 4*24*time.Hour // no room for the hours
	for t := c.midnight(a.from, 0); t.Before(a.to); t = t.Add(6 * time.Hour) {
		// Six hours on the wall clock, not elapsed, so that ticks stay on round hours.
		local := t.In(c.zone)
		t = time.Date(local.Year(), local.Month(), local.Day(), (local.Hour()+1)/6*6, 0, 0, 0, c.zone)
		if t.Before(a.from) || days && t.Hour() != 0 || !t.Before(a.to) {
			continue
		}
		label, day := c.hour(t), t.Hour() == 0
		if day {
			label = t.Format("Mon 2")
		}
		ch.Ticks = append(ch.Ticks, tick{round(ch.x(a, t)), label, day})
	}
	for _, g := range shutSpans(air.verdicts, a) {
		for _, s := range g.Spans {
			width := float64(ch.Right - ch.Left)
			ch.Shut = append(ch.Shut, chartShut{
				round(float64(ch.Left) + float64(s.X)/100*width), round(float64(s.W) / 100 * width), g.Pattern, g.Words,
			})
		}
	}
	return ch
}

// chartStep is how much time a point of a long chart stands for; 0: each moment is drawn.
func chartStep(a axis) time.Duration {
	switch days := a.to.Sub(a.from) / (24 * time.Hour); {
	case days <= 4:
		return 0
	case days <= 8:
		return time.Hour
	case days <= 15:
		return 2 * time.Hour
	}
	return 4 * time.Hour
}

// plots are the panels that matter in a place: wind and rain only where they come in.
func plots(air placeAir, u units) []plot {
	all := []plot{
		{
			title:  "Margin, hull's coldest spot over dew point, " + u.diffSign(),
			lines:  []series{{"margin", "margin", func(m conditions.Moment) float64 { return u.difference(margin(m)) }}},
			spread: func(m conditions.Moment) float64 { return likely * u.difference(m.MarginError) },
			limits: limitsOf(air.rules, u, conditions.OfMargin), least: 4,
		},
		{
			title: "Temperature, " + u.tempSign(),
			lines: []series{
				{"air", "air", func(m conditions.Moment) float64 { return u.temperature(m.Air) }},
				{"cold", "hull, coldest", func(m conditions.Moment) float64 { return u.temperature(m.Coldest) }},
				{"warm", "hull, warmest", func(m conditions.Moment) float64 { return u.temperature(m.Warmest) }},
				{"dew", "dew point", func(m conditions.Moment) float64 { return u.temperature(m.DewPoint) }},
			},
			about: 1, spread: func(m conditions.Moment) float64 { return hullSpread(m, u) },
			limits: limitsOf(air.rules, u, conditions.OfAir, conditions.OfSurface), least: 8,
		},
		{
			title:  "Relative humidity, %",
			lines:  []series{{"dew", "humidity", humidity}},
			spread: humiditySpread,
			limits: limitsOf(air.rules, u, conditions.OfHumidity), least: 20, counted: true,
		},
	}
	if air.place.Roofed() {
		return all
	}
	return append(all, plot{
		title: "Wind, " + u.speed,
		lines: []series{
			{"air", "mean", func(m conditions.Moment) float64 { return u.wind(m.Wind) }},
			{"warm", "gusts", func(m conditions.Moment) float64 { return u.wind(m.Gust) }},
		},
		limits: limitsOf(air.rules, u, conditions.OfWind, conditions.OfMeanWind, conditions.OfGust), least: 4, counted: true,
	}, plot{
		title:  "Chance of rain, %",
		lines:  []series{{"dew", "chance in the hour", func(m conditions.Moment) float64 { return 100 * float64(m.RainChance) }}},
		limits: limitsOf(air.rules, u, conditions.OfRain), least: 50, counted: true,
	})
}

// limitsOf are the bounds of some quantities, set on the panel's scale and
// named as their owner wrote them.
func limitsOf(rules conditions.Rules, u units, of ...conditions.Quantity) []limitAt {
	var all []limitAt
	for _, b := range rules {
		if !slices.Contains(of, b.Of) {
			continue
		}
		l := limitAt{value: b.At, words: bound(b)}
		switch b.Of {
		case conditions.OfMargin:
			l.value = inUnit(b.Of, b.At, u.temp)
		case conditions.OfAir, conditions.OfSurface:
			l.value = inUnit(b.Of, b.At, u.temp)
		case conditions.OfWind, conditions.OfMeanWind, conditions.OfGust:
			l.value = inUnit(b.Of, b.At, u.speed)
		case conditions.OfRain:
			l.value = 100 * b.At
		}
		all = append(all, l)
	}
	return all
}

// stages lays the place's stages under the panels and returns the height they take.
func (ch *chart) stages(air placeAir, a axis, c clock) int {
	rows := newRows()
	for _, s := range air.plan.Stages {
		if s.Place != air.place.Name || s.Start.IsZero() {
			continue
		}
		x, w, ok := a.cut(s.Start, s.End)
		if !ok {
			continue
		}
		width := float64(ch.Right - ch.Left)
		ch.Stages = append(ch.Stages, strip{
			X: round(float64(ch.Left) + float64(x)/100*width), W: round(float64(w) / 100 * width),
			Y: ch.StripTop + stripHeight*rows.take(s.Start, s.End), Class: stateClass(s.State),
			Label: fmt.Sprintf("%s %s: %s", s.Key.Boat, s.Key.Area, s.Key.Stage), Link: stageLink(s.Key), Title: told(s, c),
		})
	}
	return stripHeight * max(1, len(rows.free))
}
