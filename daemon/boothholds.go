package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// boothHolds is what `booth --json` prints without readings.
type boothHolds struct {
	Place    string        `json:"place"`
	Humidity unit.Humidity `json:"outdoors_humidity"`
	Outdoors []boothRow    `json:"outdoors"`
	Modes    []boothMode   `json:"modes"`
	Air      boothChange   `json:"air_change"`
	// Measured is false for a booth without leakage and wall loss: both reckoned as none.
	Measured bool `json:"leaks_or_loses_known"`

	plant conditions.Enclosure
}

// boothRow is the booth at one air outdoors, in the order of boothModes.
type boothRow struct {
	Air      unit.Temperature `json:"air"`
	DewPoint unit.Temperature `json:"dew_point"`
	Inside   []boothInside    `json:"inside"`
}

type boothInside struct {
	Mode     conditions.Mode  `json:"mode"`
	Air      unit.Temperature `json:"air"`
	Humidity unit.Humidity    `json:"humidity"`
	DewPoint unit.Temperature `json:"dew_point"`
	Short    bool             `json:"short"` // of heat: the set point is not held
}

// boothMode is from what air outdoors a booth holds its set point.
type boothMode struct {
	Mode conditions.Mode  `json:"mode"`
	Want unit.Temperature `json:"set_point"`
	// From is null where the booth holds it in any cold.
	From *unit.Temperature `json:"holds_from"`
	// Short is what it lacks at 0 °C outdoors, or at the coldest of the table if it
	// holds there; null if it holds there too.
	Short *boothShort `json:"short"`
}

type boothShort struct {
	Outdoors unit.Temperature `json:"outdoors"`
	conditions.Shortfall
}

// boothChange is how fast a booth's air is changed while it sprays. Once is for one
// change, Hundredth until one hundredth is left by dilution; null where nobody knows.
type boothChange struct {
	Once      *unit.Duration `json:"once"`
	Hundredth *unit.Duration `json:"to_a_hundredth"`
	Posted    unit.Duration  `json:"posted_clearance"` // 0: none
}

var boothModes = []conditions.Mode{conditions.Idle, conditions.Spraying, conditions.Curing}

// The table's air outdoors, °C.
const coldestRow, warmestRow, rowStep = -10, 35, 5

// coldestEver is below any air recorded on earth, −89.2 °C (from memory): a booth
// that holds its set point there holds it anywhere.
const coldestEver = -90

func holdsOf(y config.Yard, p config.Place, humidity unit.Humidity) boothHolds {
	plant := y.Enclosure(p)
	h := boothHolds{
		Place: p.Name, Humidity: humidity, plant: plant,
		Measured: plant.Leaks > 0 || plant.Loses > 0,
		Air:      boothChange{Posted: p.Booth.Clearance},
	}
	for air := unit.Temperature(coldestRow); air <= warmestRow; air += rowStep {
		h.Outdoors = append(h.Outdoors, h.at(air))
	}
	for _, m := range boothModes {
		h.Modes = append(h.Modes, modeHolds(plant, m))
	}
	volume := float64(p.Length.SI * p.Width.SI * p.Height.SI)
	h.Air.Once, h.Air.Hundredth = clearing(plant, volume, 1/math.E), clearing(plant, volume, 0.01)
	return h
}

// outdoorsAt is the weather of a line of the table.
func (h *boothHolds) outdoorsAt(air unit.Temperature) conditions.Weather {
	return conditions.Weather{Air: air, DewPoint: conditions.DewPoint(air, h.Humidity)}
}

func (h *boothHolds) at(outdoors unit.Temperature) boothRow {
	w := h.outdoorsAt(outdoors)
	row := boothRow{Air: w.Air, DewPoint: w.DewPoint}
	for _, m := range boothModes {
		air, dew, short := h.plant.Air(w, m)
		row.Inside = append(row.Inside, boothInside{m, air, conditions.RelativeHumidity(air, dew), dew, short})
	}
	return row
}

func modeHolds(plant conditions.Enclosure, m conditions.Mode) boothMode {
	short := func(outdoors unit.Temperature) (conditions.Shortfall, bool) {
		return plant.Shortfall(conditions.Weather{Air: outdoors, DewPoint: outdoors}, m)
	}
	b := boothMode{Mode: m, Want: plant.SetPoint}
	if m == conditions.Idle {
		b.Want = b.Want.Plus(-conditions.SetBack)
	}
	if s, ok := short(coldestEver); ok {
		b.From = &s.Holds
	}
	for _, outdoors := range []unit.Temperature{0, coldestRow} {
		if s, ok := short(outdoors); ok {
			b.Short = &boothShort{outdoors, s}
			break
		}
	}
	return b
}

func clearing(plant conditions.Enclosure, volume, to float64) *unit.Duration {
	d := plant.Clears(volume, to)
	if d == math.MaxInt64 {
		return nil
	}
	shown := unit.Duration(d.Round(time.Second))
	return &shown
}

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
