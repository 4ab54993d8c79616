package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

func printHolds(w io.Writer, h boothHolds, p config.Place, units string) {
	b := p.Booth
	fmt.Fprintf(w, "%s: heater %s, set point %s; fresh air %s while spraying, %s else", h.Place, b.Heater, b.SetPoint, b.Spraying, b.Curing)
	if b.Dehumid.SI > 0 {
		fmt.Fprintf(w, "; dehumidifier %s while curing", b.Dehumid)
	}
	fmt.Fprintln(w)
	switch {
	case h.Measured:
		fmt.Fprintf(w, "leaks %s, loses %s\n", orNone(b.Leaks), orNone(b.Loses))
	default:
		fmt.Fprintln(w, "leakage and wall loss are not in the yard file and reckoned as none, so it holds less than this; --readings finds them")
	}
	fmt.Fprintln(w)
	degree, shown := "°C", func(t unit.Temperature) float64 { return float64(t) }
	if units == "US" {
		degree, shown = "°F", func(t unit.Temperature) float64 { return unit.In(t, "F") }
	}
	fmt.Fprintf(w, "outdoors, %2.0f %%       idle            spraying         curing\n", float64(h.Humidity))
	fmt.Fprintf(w, "%5s  %6s%s\n", "air", "dew pt", strings.Repeat("     air   humid", len(boothModes)))
	anyShort := false
	for _, row := range h.Outdoors {
		fmt.Fprintf(w, "%5.1f  %6.1f", shown(row.Air), shown(row.DewPoint))
		for _, in := range row.Inside {
			mark := " "
			if in.Short {
				mark, anyShort = "*", true
			}
			fmt.Fprintf(w, "  %6.1f%s %4.0f %%", shown(in.Air), mark, float64(in.Humidity))
		}
		fmt.Fprintln(w)
	}
	fmt.Fprint(w, degree)
	if anyShort {
		fmt.Fprint(w, "; * the heater is short of the set point")
	}
	fmt.Fprint(w, "\n\n")
	for _, line := range h.sentences(func(t unit.Temperature) string {
		return strconv.FormatFloat(math.Round(10*shown(t))/10, 'f', -1, 64) + " " + degree
	}) {
		fmt.Fprintln(w, line)
	}
}

// orNone is a quantity as it was written.
func orNone[T ~float64](q unit.Written[T]) string {
	if q.IsZero() {
		return "nothing"
	}
	return q.String()
}

var whileWords = map[conditions.Mode]string{
	conditions.Idle: "While it is idle", conditions.Spraying: "While it sprays", conditions.Curing: "While it cures",
}

// mild is the air outdoors at which the drying is told, °C.
const mild = 20

// sentences say what the booth holds; degrees words a temperature.
func (h *boothHolds) sentences(degrees func(unit.Temperature) string) []string {
	var all []string
	say := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	if h.plant.Heater <= 0 {
		say("It has no heater: its air is outdoors'.")
	} else {
		for _, m := range h.Modes {
			all = append(all, m.sentence(degrees))
		}
		say("Nothing cools it: over the set point outdoors its air is outdoors'.")
	}
	w := h.outdoorsAt(mild)
	if air, dew, _ := h.plant.Air(w, conditions.Curing); h.plant.Dehumidifier > 0 {
		say("While it cures it dries to a dew point of %s, %.0f %% humidity, at %s outdoors with a dew point of %s; in the other modes its dew point is outdoors'.",
			degrees(dew), float64(conditions.RelativeHumidity(air, dew)), degrees(w.Air), degrees(w.DewPoint))
	} else {
		say("It has no dehumidifier: its dew point is outdoors'.")
	}
	all = append(all, h.Air.sentence())
	return all
}

func (m boothMode) sentence(degrees func(unit.Temperature) string) string {
	said := fmt.Sprintf("%s it holds %s", whileWords[m.Mode], degrees(m.Want))
	if m.From == nil {
		return said + " in any cold."
	}
	said += fmt.Sprintf(" from %s outdoors up", degrees(*m.From))
	if m.Short == nil {
		return said + "."
	}
	return said + fmt.Sprintf("; colder it is short: at %s outdoors it lacks %.0f kW and reaches %s.",
		degrees(m.Short.Outdoors), float64(m.Short.Power), degrees(m.Short.Warmest))
}

func (c boothChange) sentence() string {
	posted := "no clearance time is posted"
	if c.Posted > 0 {
		posted = fmt.Sprintf("the posted clearance is %s", c.Posted)
	}
	if c.Once == nil || c.Hundredth == nil {
		return fmt.Sprintf("How fast its air is changed is not known without its length, width and height; %s.", posted)
	}
	return fmt.Sprintf("Its air is changed in %s while it sprays; %s; by dilution alone a hundredth is left after %s.\nThe posted time, measured with smoke, decides; until then nobody goes in unmasked.",
		minutes(*c.Once), posted, minutes(*c.Hundredth))
}

// minutes is a duration to two figures: 2.7 min, 12 min.
func minutes(d unit.Duration) string {
	if m := d.Std().Minutes(); m < 9.95 {
		return fmt.Sprintf("%.1f min", m)
	}
	return fmt.Sprintf("%.0f min", d.Std().Minutes())
}
